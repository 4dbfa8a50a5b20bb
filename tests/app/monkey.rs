//! Ten thousand random actions: nothing panics, locks hold after each, and undo leads back to the start.

use super::PATIENCE;
use bandwright::app::actions::{ACTIONS, Action};
use bandwright::app::session::{Session, demo};
use bandwright::app::wants::Want;
use bandwright::band::PartId;
use bandwright::band::SeatId;
use bandwright::music::{BarNumber, Sounding, Tick};
use bandwright::plan::timeline::{MarkKind, Way, bar_line};
use bandwright::project::work::{NoteId, RosterEdit, Selection, TimelineEdit, edit_roster};
use bandwright::project::{Document, OpenProject};
use std::sync::Arc;

/// A plain generator of numbers (xorshift, Marsaglia 2003), so that a failure can be run again.
struct Random(u64);

impl Random {
    fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % most.max(1) as u64) as usize
    }
}

fn select(session: &mut Session, random: &mut Random) {
    let document = session.document().clone();
    let part = PartId(random.below(document.band.parts.len()));
    let line = document
        .draft
        .lines
        .get(part.0)
        .map_or(&[][..], |l| &l.notes);
    if random.below(3) > 0 && !line.is_empty() {
        let note = line[random.below(line.len())];
        let bar = session.look().unwrap().song.meters.bar(note.onset);
        let id = NoteId {
            part,
            onset: note.onset,
            pitch: note.pitch,
        };
        let selection = Selection {
            note: Some(id),
            ..Selection::of(bar, bar, [part])
        };
        session.select(Some(selection));
        return;
    }
    let first = 1 + random.below(64) as u32;
    let last = first + random.below(4) as u32;
    let parts = (0..1 + random.below(4)).map(|_| PartId(random.below(document.band.parts.len())));
    let parts: Vec<PartId> = parts.collect();
    let selection = Selection::of(BarNumber(first), BarNumber(last.min(64)), parts);
    session.select(Some(selection));
}

/// In locked bars the draft has what the locks hold, winds play one note at a time, and nothing lies outside what
/// is played on an instrument at all.
fn holds(document: &Document, session: &Session) -> Result<(), String> {
    let meters = &session.look().unwrap().song.meters;
    for line in &document.draft.lines {
        let part = document.band.part(line.part);
        let sorted = line.notes.is_sorted_by_key(|n| (n.onset, n.pitch));
        if !sorted {
            return Err(format!("{}: out of order", part.name));
        }
        let apart = line.notes.windows(2).all(|w| w[0].end() <= w[1].onset);
        let free = document.locks.of(line.part).is_none();
        if part.instrument.wind && free && !apart {
            return Err(format!("{}: two notes at once", part.name));
        }
        let instrument = &part.instrument;
        let reach = instrument.professional;
        let outside = line.notes.iter().find(|n| {
            let written = instrument.transposition.written(n.pitch);
            written < reach.low || reach.high < written
        });
        if let Some(note) = outside {
            return Err(format!("{}: nobody plays {}", part.name, note.pitch));
        }
        if let Some(lock) = document.locks.of(line.part) {
            let held = |at: Tick| lock.bars.contains(at, meters);
            let drafted: Vec<_> = line
                .notes
                .iter()
                .filter(|n| held(n.onset))
                .map(|n| (n.onset, n.pitch, n.duration))
                .collect();
            let fixed: Vec<_> = lock
                .notes
                .iter()
                .filter(|n| held(n.onset))
                .map(|n| (n.onset, n.pitch, n.duration))
                .collect();
            if drafted != fixed {
                return Err(format!("{}: the draft is not as locked", part.name));
            }
        }
    }
    Ok(())
}

/// Drags a note through some pitches, and lets it go or not.
fn drag(session: &mut Session, random: &mut Random) {
    let note = session.selection.as_ref().and_then(|s| s.note);
    let Some(mut note) = note else {
        return;
    };
    for _ in 0..1 + random.below(5) {
        let to = i32::from(note.pitch.midi()) + random.below(9) as i32 - 4;
        let pitch = Sounding::nearest(to);
        session.want(Want::Drag(note, pitch));
        note = session
            .selection
            .as_ref()
            .and_then(|s| s.note)
            .unwrap_or(note);
    }
    if random.below(2) == 0 {
        session.want(Want::LetGo);
    }
}

/// Edits the shape of the show, or drags something of it; whatever came of it is a timeline.
fn shape(session: &mut Session, random: &mut Random) {
    let at = bar_line(random.below(70) as u32);
    let intensity = random.below(140) as f64 / 10.0 - 2.0;
    let point = random.below(8);
    let kind = MarkKind::ALL[random.below(3)];
    let name = ["home", "", " the bell "][random.below(3)].to_owned();
    let way = Way::ALL[random.below(3)];
    let edit = match random.below(8) {
        0 => TimelineEdit::AddPoint { at, intensity },
        1 => TimelineEdit::RemovePoint(point),
        2 => TimelineEdit::Way(point, way),
        3 => TimelineEdit::AddMark { kind, at, name },
        4 => TimelineEdit::RenameMark(point / 3, name),
        5 => TimelineEdit::RemoveMark(point / 3),
        6 => TimelineEdit::MoveMark(point / 3, at),
        _ => TimelineEdit::MovePoint {
            point,
            at,
            intensity,
        },
    };
    if random.below(2) == 0 {
        session.want(Want::DragShape(edit));
        if random.below(2) == 0 {
            session.want(Want::LetGo);
        }
    } else {
        session.want(Want::Shape(edit));
    }
    let timeline = session.document().timeline.clone();
    assert!(timeline.as_ref().as_ref().is_none_or(|t| t.check().is_ok()));
}

/// What changes more than notes: somebody is away or back, another way is taken, a sketch or a band comes in.
fn greater(session: &mut Session, random: &mut Random, folder: &std::path::Path) {
    session.settle(PATIENCE);
    let document = session.document().clone();
    match random.below(5) {
        0 => {
            let sections = document.band.roster.sections.len();
            let seat = SeatId {
                section: random.below(sections),
                seat: 0,
            };
            let edit = RosterEdit::Absent(seat, random.below(2) == 0);
            if let Ok(done) = edit_roster(&document.band.roster, &edit) {
                session.want(Want::Roster(Box::new(done)));
            }
        }
        1 => {
            session.act(Action::NextWay);
            session.act(Action::TakeWay);
        }
        2 => {
            let path = folder.join("again.mid");
            std::fs::write(&path, bandwright::cli::files::DEMO_SKETCH).unwrap();
            session.bring_in_sketch(&path);
            session.solve_all();
        }
        3 => session.bring_in_band("demo"),
        _ => session.take_shape(["arch", "waves", "stairs"][random.below(3)]),
    }
}

#[test]
fn ten_thousand_random_actions_hold() {
    let folder = tempfile::tempdir().unwrap();
    let start = demo().unwrap();
    let open = OpenProject::untitled(start.clone(), folder.path()).unwrap();
    let mut session = Session::on(open, Arc::new(|| {})).unwrap();
    assert!(session.settle(PATIENCE));
    session.solve_all();
    assert!(session.settle(PATIENCE));
    let mut random = Random(0x9e37_79b9_7f4a_7c15);
    let left_out = [
        // Another show: the start of this one would be gone. Files are tested by themselves.
        Action::New,
        Action::Open,
        Action::Save,
        Action::SaveAs,
        Action::Quit,
        // Solves are made below, a few of them.
        Action::SolveAll,
        Action::SolveSelection,
        Action::TakeWay,
    ];
    let all: Vec<Action> = ACTIONS
        .iter()
        .map(|a| a.action)
        .filter(|a| !left_out.contains(a))
        .collect();
    let most = std::env::var("ACTIONS").ok().and_then(|n| n.parse().ok());
    for done in 0..most.unwrap_or(10_000) {
        if done % 2 == 0 {
            select(&mut session, &mut random);
        }
        let action = all[random.below(all.len())];
        match random.below(40) {
            0 => drag(&mut session, &mut random),
            2 => shape(&mut session, &mut random),
            1 => {
                let count = session.look().unwrap().ready.reading.notes.len();
                let notes = (0..1 + random.below(3)).map(|_| random.below(count.max(1)));
                session.select_sketch(notes.filter(|n| *n < count).collect());
            }
            _ => drop(session.act(action)),
        }
        if done % 500 == 250 {
            greater(&mut session, &mut random, folder.path());
            assert!(session.settle(PATIENCE));
        }
        let document = session.document();
        if let Err(fault) = holds(document, &session) {
            panic!("after {done} actions, {action:?}: {fault}");
        }
        if done % 1000 == 999 {
            session.solve_selection();
            assert!(session.settle(PATIENCE));
            let fault = holds(session.document(), &session);
            assert_eq!(fault, Ok(()), "after {done} actions and a solve");
        }
    }
    while session.open.project.can_undo() {
        session.act(Action::Undo);
    }
    assert_eq!(*session.document(), start);
}
