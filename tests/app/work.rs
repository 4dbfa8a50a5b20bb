//! Work on the demo: select, lock, solve, compare, ask why, take another note, files.

use super::Window;
use bandwright::app::actions::Action;
use bandwright::app::app::Begin;
use bandwright::app::session::{Follow, Kind};
use bandwright::app::view::Panel;
use bandwright::export::Existing;
use bandwright::music::BarNumber;
use bandwright::project::Document;
use bandwright::score::DraftNote;
use bandwright::sketch::Line;
use egui_kittest::kittest::Queryable;

fn notes(window: &Window, part: &str, bars: (u32, u32)) -> Vec<DraftNote> {
    let session = &window.harness.state().session;
    let document = session.document();
    let id = document.band.ids().find(|(_, p)| p.name == part).unwrap().0;
    let meters = &session.look().unwrap().song.meters;
    let (start, end) = (
        meters.bar_start(BarNumber(bars.0)),
        meters.bar_end(BarNumber(bars.1)),
    );
    let line = document.draft.lines[id.0].notes.iter();
    line.filter(|n| start <= n.onset && n.onset < end)
        .copied()
        .collect()
}

/// Whether any part of the draft has notes.
fn plays(window: &Window) -> bool {
    let document = window.harness.state().session.document();
    document.draft.lines.iter().any(|l| !l.notes.is_empty())
}

/// Scrolls to what is further down in a panel.
fn into_view(window: &mut Window, name: &str) {
    window.harness.get_by_label(name).scroll_to_me();
    window.harness.run_steps(20);
}

#[test]
fn the_first_start_shows_the_demo_voiced_and_three_sentences() {
    let mut window = Window::demo();
    let session = &window.harness.state().session;
    assert_eq!(session.document().title, "Harvest Lights");
    assert!(plays(&window));
    assert!(session.proof.is_some_and(|(p, _)| p.gap() < 0.03));
    window.harness.get_by_label_contains("This is a demo");
    window.click("I see");
    assert!(
        window
            .harness
            .query_by_label_contains("This is a demo")
            .is_none()
    );
}

#[test]
fn what_is_locked_stays_while_the_rest_is_solved() {
    let mut window = Window::demo();
    window.select((18, 19), &["Trumpet 1"]);
    window.press(Action::Lock);
    let locked = notes(&window, "Trumpet 1", (18, 19));
    assert!(!locked.is_empty() && locked.iter().all(|n| n.locked));
    window.settle();
    window.press(Action::SelectNothing);
    window.press(Action::SolveAll);
    window.settle();
    assert_eq!(notes(&window, "Trumpet 1", (18, 19)), locked);
    assert!(window.told().starts_with("solved in"), "{}", window.told());
}

#[test]
fn a_note_moves_by_key_is_undone_and_done_again() {
    let mut window = Window::demo();
    window.select((18, 18), &["Clarinet 1"]);
    let before = notes(&window, "Clarinet 1", (18, 18));
    window.press(Action::ChordToneUp);
    let after = notes(&window, "Clarinet 1", (18, 18));
    assert!(before.iter().zip(&after).all(|(a, b)| a.pitch < b.pitch));
    window.press(Action::Undo);
    assert_eq!(notes(&window, "Clarinet 1", (18, 18)), before);
    window.press(Action::Redo);
    assert_eq!(notes(&window, "Clarinet 1", (18, 18)), after);
    assert!(window.told().starts_with("done again: move"));
}

#[test]
fn solving_a_selection_moves_nothing_else_and_can_be_compared() {
    let mut window = Window::demo();
    window.select((17, 17), &["Clarinet 1", "Clarinet 2"]);
    for _ in 0..2 {
        window.press(Action::ChordToneUp);
    }
    window.settle();
    let draft = window.harness.state().session.document().draft.clone();
    window.app().session.stay = bandwright::voicing::Stay::new(0);
    window.press(Action::SolveSelection);
    window.settle();
    let session = &window.harness.state().session;
    let now = session.document().draft.clone();
    let meters = &session.look().unwrap().song.meters;
    let bar = BarNumber(17);
    for (a, b) in draft.lines.iter().zip(&now.lines) {
        let name = &session.document().band.part(a.part).name;
        let outside = |n: &&DraftNote| {
            meters.bar(n.onset) != bar || !["Clarinet 1", "Clarinet 2"].contains(&name.as_str())
        };
        let before: Vec<&DraftNote> = a.notes.iter().filter(outside).collect();
        let after: Vec<&DraftNote> = b.notes.iter().filter(outside).collect();
        assert_eq!(before, after, "{name}");
    }
    if draft != now {
        window.press(Action::Flip);
        assert_eq!(*window.harness.state().session.shown_draft(), *draft);
        window.press(Action::Flip);
        assert_eq!(*window.harness.state().session.shown_draft(), *now);
    }
}

#[test]
fn a_selected_note_says_why_and_gives_way_to_another() {
    let mut window = Window::demo();
    window.select((42, 42), &["Clarinet 2"]);
    window.press(Action::NoteAfter);
    window.settle();
    let session = &window.harness.state().session;
    let why = session.why.clone().expect("a reason");
    assert!(!why.reasons.is_empty() || !why.costs.is_empty());
    let other = why.others.iter().find(|o| o.sounds.is_some());
    let other = other.expect("something else that it could be");
    let title = format!("{}   {:+.1} points", other.name, other.more);
    let name = format!("{title}: {}", other.why);
    window.harness.get_by_label(&name).scroll_to_me();
    window.harness.run_steps(20);
    window.click(&name);
    let session = &window.harness.state().session;
    let line = &session.document().draft.lines[why.part.0].notes;
    let note = line.iter().find(|n| n.onset == why.start).unwrap();
    assert_eq!(Some(note.pitch), other.sounds);
}

#[test]
fn another_way_is_taken_and_solved() {
    let mut window = Window::demo();
    window.select((1, 1), &["Flute 1"]);
    window.press(Action::ShowWays);
    window.press(Action::NextWay);
    window.press(Action::TakeWay);
    window.settle();
    let session = &window.harness.state().session;
    assert_eq!(session.document().taken.len(), 1);
    let draft = session.document().draft.clone();
    let at = session.way_place();
    assert!(session.look().unwrap().plan.passage(at).unwrap().taken);
    // The way and its notes are one step.
    window.press(Action::Undo);
    let document = window.harness.state().session.document();
    assert!(document.taken.is_empty() && document.draft != draft);
}

#[test]
fn a_finding_is_put_aside_with_a_reason_and_brought_back() {
    let mut window = Window::demo();
    window.press(Action::ShowFindings);
    assert_eq!(window.harness.state().session.view.panel, Panel::Findings);
    let finding = window
        .harness
        .state()
        .session
        .look()
        .unwrap()
        .judged
        .findings[0]
        .clone();
    let title = window
        .harness
        .get_all_by_label_contains(&finding.message)
        .next()
        .unwrap();
    title.click();
    window.harness.run_steps(3);
    window.settle();
    into_view(&mut window, "Put aside…");
    window.click("Put aside…");
    window.harness.get_by_label("Reason").focus();
    window.harness.run_steps(2);
    window.harness.get_by_label("Reason").type_text("they can");
    window.harness.run_steps(2);
    window.click("Put aside");
    let aside = window.harness.state().session.document().aside.clone();
    assert_eq!((aside.len(), aside[0].reason.as_str()), (1, "they can"));
    window.settle();
    into_view(&mut window, "What was put aside: 1");
    window.click("What was put aside: 1");
    window.harness.run_steps(20);
    into_view(&mut window, "Bring back");
    window.click("Bring back");
    assert!(window.harness.state().session.document().aside.is_empty());
}

#[test]
fn a_sketch_comes_in_with_what_was_found_and_is_tagged_by_key() {
    let mut window = Window::demo();
    let path = window.path("mine.mid");
    std::fs::write(&path, bandwright::cli::files::DEMO_SKETCH).unwrap();
    window.press(Action::BringInSketch);
    window.harness.get_by_label("Path of the file").focus();
    window.harness.run_steps(2);
    let typed = path.display().to_string();
    window
        .harness
        .get_by_label("Path of the file")
        .type_text(&typed);
    window.harness.run_steps(2);
    window.click("Bring it in");
    window.settle();
    let session = &window.harness.state().session;
    assert_eq!(session.document().title, "mine");
    assert!(!plays(&window));
    window.harness.get_by_label_contains("64 bars, 4/4");
    let reading = &session.look().unwrap().ready.reading;
    let note = reading
        .notes
        .iter()
        .position(|n| n.line == Line::Harmony)
        .unwrap();
    window.app().session.select_sketch(vec![note]);
    window.press(Action::TagCounterline);
    window.settle();
    let reading = &window.harness.state().session.look().unwrap().ready.reading;
    assert_eq!(reading.notes[note].line, Line::Counterline);
}

#[test]
fn a_show_is_saved_opened_again_and_sent_out() {
    let mut window = Window::demo();
    window.select((18, 19), &["Trumpet 1"]);
    window.press(Action::Lock);
    window.settle();
    let (show, midi) = (window.path("mine.bandwright"), window.path("mine.mid"));
    let session = &mut window.app().session;
    assert!(session.save_as(&show, Existing::Keep));
    assert!(session.open.project.is_saved());
    assert!(session.send_out_midi(&midi, Existing::Keep));
    let document = session.document().clone();
    let song = bandwright::sketch::read_song(&std::fs::read(&midi).unwrap()).unwrap();
    assert!(
        song.tracks
            .iter()
            .any(|t| t.name == "Trumpet 1" && !t.notes.is_empty())
    );
    drop(window.harness);
    let mut again = Window::with(|_| Begin {
        show: Some(show.clone()),
        ..Begin::default()
    });
    assert_eq!(*again.app().session.document(), document);
    again.press(Action::Undo);
    let locked = notes(&again, "Trumpet 1", (18, 19));
    assert!(locked.iter().all(|n| !n.locked), "history survives saving");
}

#[test]
fn unsaved_work_asks_before_another_show_is_opened() {
    let mut window = Window::demo();
    assert!(
        window.app().session.open.project.is_saved(),
        "the demo as it comes"
    );
    window.select((18, 18), &["Clarinet 1"]);
    window.press(Action::Lock);
    window.press(Action::New);
    window.harness.get_by_label("Let it go");
    window.click("Stay here");
    assert_eq!(
        window.harness.state().session.document().title,
        "Harvest Lights"
    );
    window.press(Action::New);
    window.click("Let it go");
    window.settle();
    assert_eq!(window.harness.state().session.document().title, "New show");
    window
        .harness
        .get_by_label_contains("There are no notes yet");
}

#[test]
fn a_change_of_the_roster_is_solved_where_it_touches() {
    let mut window = Window::demo();
    let before = window.harness.state().session.document().clone();
    let band = &before.band;
    let section = band
        .roster
        .sections
        .iter()
        .position(|s| s.name.starts_with("Trumpet"))
        .unwrap();
    let seat = bandwright::band::SeatId { section, seat: 0 };
    let edit = bandwright::project::work::RosterEdit::Absent(seat, true);
    let done = bandwright::project::work::edit_roster(&band.roster, &edit).unwrap();
    let want = bandwright::app::wants::Want::Roster(Box::new(done));
    window.app().session.want(want);
    window.settle();
    let after = window.harness.state().session.document();
    assert_ne!(after.band, before.band);
    assert_eq!(window.harness.state().session.engraved.bars(), 64);
}

#[test]
fn a_screen_reader_hears_bar_part_note_role_and_chance() {
    let window = Window::demo();
    let notes: Vec<_> = window
        .harness
        .query_all_by_label_contains(", clean ")
        .collect();
    assert!(notes.len() > 20, "{}", notes.len());
    window
        .harness
        .get_by_label_contains("Score. nothing selected");
}

#[test]
fn a_draft_that_comes_back_is_compared_and_locked_on_request() {
    use bandwright::export::midi_bytes;
    use bandwright::music::Sounding;
    use bandwright::sketch::read_any;
    let mut window = Window::demo();
    let sent = window.path("sent.musicxml");
    window
        .app()
        .session
        .send_out_score(Kind::Score, &sent, Existing::Keep);
    assert!(
        window.told().starts_with("score written to "),
        "{}",
        window.told()
    );
    assert!(window.app().session.draft_back(&sent).is_none());
    assert_eq!(
        window.told(),
        "nothing was changed: it is the draft of this show"
    );
    // Somebody moves a note elsewhere.
    let mut back = read_any(&std::fs::read(&sent).unwrap()).unwrap();
    let meters = back.meters.clone();
    let track = back
        .tracks
        .iter_mut()
        .find(|t| t.name == "Clarinet 2")
        .unwrap();
    let at = track
        .notes
        .iter()
        .position(|n| meters.bar(n.onset).0 == 21)
        .unwrap();
    let (onset, pitch) = (track.notes[at].onset, track.notes[at].pitch.midi() + 1);
    track.notes[at].pitch = Sounding::new(pitch).unwrap();
    let mut band = (*window.harness.state().session.document().band).clone();
    band.parts.clear();
    let path = window.path("back.mid");
    let bytes = midi_bytes(&back, &[], &band, &Default::default(), &[]).unwrap();
    std::fs::write(&path, bytes).unwrap();
    window.press(Action::BringBack);
    let field = "Path of the file";
    window.harness.get_by_label(field).focus();
    window.harness.run_steps(2);
    window
        .harness
        .get_by_label(field)
        .type_text(&path.to_string_lossy());
    window.harness.run_steps(2);
    window.harness.key_press(eframe::egui::Key::Enter);
    window.harness.run_steps(4);
    window
        .harness
        .get_by_label("Clarinet 2, bar 21: 1 note with another pitch");
    window.click("Take it so");
    window.settle();
    let document = window.harness.state().session.document().clone();
    let part = document
        .band
        .ids()
        .find(|(_, p)| p.name == "Clarinet 2")
        .unwrap()
        .0;
    let line = &document.draft.lines[part.0].notes;
    let song = document.song().unwrap();
    let same = |n: &&DraftNote| {
        n.onset.0 * u64::from(back.quarter.get()) == onset.0 * u64::from(song.quarter.get())
    };
    let note = line.iter().find(same).unwrap();
    assert_eq!((note.pitch.midi(), note.locked), (pitch, true));
    let lock = document.locks.of(part).unwrap();
    assert!(lock.bars.0.contains(&BarNumber(21)));
    window.press(Action::SolveAll);
    window.settle();
    let document = window.harness.state().session.document().clone();
    let note = document.draft.lines[part.0]
        .notes
        .iter()
        .find(same)
        .unwrap();
    assert_eq!(note.pitch.midi(), pitch, "no solve takes it back");
}

#[test]
fn score_parts_and_pages_leave_the_window() {
    let mut window = Window::demo();
    window.select((18, 18), &["Clarinet 1"]);
    let parts = window.path("parts");
    window
        .app()
        .session
        .send_out_score(Kind::Parts, &parts, Existing::Keep);
    let count = std::fs::read_dir(&parts).unwrap().count();
    let band = window.harness.state().session.document().band.clone();
    assert_eq!(count, 2 * band.parts.len(), "{}", window.told());
    let sheet = window.path("sheet.html");
    window.app().session.send_out_sheet(&sheet, Existing::Keep);
    let text = std::fs::read_to_string(&sheet).unwrap();
    assert!(band.parts.iter().all(|p| text.contains(&p.name)));
    let page = window.path("page.html");
    window
        .app()
        .session
        .send_out_practice(&page, Existing::Keep);
    assert!(
        std::fs::read_to_string(&page)
            .unwrap()
            .contains("Clarinet 1")
    );
    window.select((18, 18), &[]);
    window.press(Action::SelectNothing);
    let other = window.path("other.html");
    window
        .app()
        .session
        .send_out_practice(&other, Existing::Keep);
    assert!(window.told().starts_with("select a part first"));
    assert!(!other.exists());
}

#[test]
fn bars_that_were_put_in_elsewhere_move_locks_and_draft_along() {
    use bandwright::export::midi_bytes;
    use bandwright::music::{Tick, Ticks};
    use bandwright::sketch::read_any;
    let mut window = Window::demo();
    window.select((20, 21), &["Clarinet 1"]);
    window.press(Action::Lock);
    window.settle();
    let before = window.harness.state().session.document().clone();
    let sent = window.path("sent.mid");
    assert!(window.app().session.send_out_midi(&sent, Existing::Keep));
    let mut back = read_any(&std::fs::read(&sent).unwrap()).unwrap();
    let (at, bar) = (
        back.meters.bar_start(BarNumber(10)),
        4 * u64::from(back.quarter.get()),
    );
    for note in back.tracks.iter_mut().flat_map(|t| &mut t.notes) {
        if note.onset >= at {
            note.onset += Ticks(bar);
        } else if note.end() > at {
            note.duration = at.since(note.onset);
        }
    }
    let mut nobody = (*before.band).clone();
    nobody.parts.clear();
    let path = window.path("back.mid");
    let bytes = midi_bytes(&back, &[], &nobody, &Default::default(), &[]).unwrap();
    std::fs::write(&path, bytes).unwrap();
    let Some(Follow::CameBack(found)) = window.app().session.draft_back(&path) else {
        panic!("{}", window.told());
    };
    assert_eq!(found.told[0], "put in: bar 10", "{:?}", found.told);
    window.app().session.take_back(*found);
    window.settle();
    let after = window.harness.state().session.document().clone();
    let lock = |d: &Document| {
        let part = d
            .band
            .ids()
            .find(|(_, p)| p.name == "Clarinet 1")
            .unwrap()
            .0;
        d.locks.of(part).unwrap().clone()
    };
    let (was, is) = (lock(&before), lock(&after));
    assert!(was.bars.0.contains(&BarNumber(20)));
    let moved = |b: &BarNumber| BarNumber(b.0 + u32::from(b.0 >= 10));
    let bars: Vec<BarNumber> = was.bars.0.iter().map(moved).collect();
    assert_eq!(is.bars.0.iter().copied().collect::<Vec<_>>(), bars);
    // What was drafted from bar 11 on is where it was, a bar later.
    let song = before.song().unwrap();
    let line = |d: &Document, from: Tick| -> Vec<(u64, u8)> {
        let notes = d.draft.lines[0].notes.iter().filter(|n| n.onset >= from);
        notes.map(|n| (n.onset.0, n.pitch.midi())).collect()
    };
    let from = song.meters.bar_start(BarNumber(11));
    let later = line(&before, from);
    let later: Vec<(u64, u8)> = later.into_iter().map(|(t, p)| (t + bar, p)).collect();
    assert_eq!(line(&after, from + Ticks(bar)), later);
    assert_eq!(after.song().unwrap().end().0, song.end().0 + bar);
    window.press(Action::SolveAll);
    window.settle();
    window.press(Action::Undo);
    window.press(Action::Undo);
    window.settle();
    assert_eq!(*window.harness.state().session.document(), before);
}
