//! Documents of any kind, and small ones made by hand.

use crate::band::any_roster::any_band;
use crate::midi_file::{File, tone};
use bandwright::band::load::{Conditions, Start};
use bandwright::band::playing::Posture;
use bandwright::band::{Band, PartId, read_band};
use bandwright::music::{BarNumber, Sounding, Tick, Ticks};
use bandwright::project::{Document, Project, PutAside, SketchFile};
use bandwright::score::{
    BarSet, Draft, DraftNote, Lock, Locks, MelodyChange, PartLine, Role, TuneRules,
};
use bandwright::sketch::{Among, Line, Note, Tag, Tags, Times, TrackChoice};
use proptest::option::of;
use proptest::prelude::*;
use std::sync::Arc;

/// Rosters of which the first two have the same parts.
const ROSTERS: [&str; 3] = [
    "name = \"Alder Creek\"\n[[part]]\nname = \"Flute 1\"\ninstrument = \"flute\"\nplayers = { advanced = 2 }\n[[part]]\nname = \"Clarinet\"\ninstrument = \"clarinet_bb\"\nplayers = { first_year = 3 }\n[[part]]\nname = \"Tuba\"\ninstrument = \"tuba\"\nplayers = { intermediate = 1 }\n",
    "name = \"Alder Creek\"\n[[part]]\nname = \"Flute 1\"\ninstrument = \"flute\"\nplayers = { second_year = 1 }\n[[part]]\nname = \"Clarinet\"\ninstrument = \"clarinet_bb\"\nplayers = { first_year = 4 }\nremarks = { below_the_break = true }\n[[part]]\nname = \"Tuba\"\ninstrument = \"tuba\"\nplayers = { intermediate = 2 }\n",
    "name = \"Alder Creek\"\n[[part]]\nname = \"flute-1\"\ninstrument = \"flute\"\nplayers = { advanced = 2 }\n[[part]]\nname = \"Trumpet\"\ninstrument = \"trumpet\"\nplayers = { second_year = 2 }\n[[part]]\nname = \"Tuba\"\ninstrument = \"tuba\"\nplayers = { intermediate = 1 }\n",
];

pub fn roster(index: usize) -> Band {
    read_band(ROSTERS[index]).unwrap()
}

/// A sketch of two bars.
pub fn sketch() -> SketchFile {
    let tune = [72, 74, 76, 77, 79, 77, 76, 74];
    let tones = tune.iter().enumerate();
    let tones = tones.map(|(i, p)| tone(480 * i as u32, *p, 480)).collect();
    SketchFile {
        name: "two bars.mid".to_owned(),
        bytes: File::piano(tones).bytes(),
        ..SketchFile::default()
    }
}

/// A document with a line of one note for each part.
pub fn small() -> Document {
    let mut document = Document::new("Two bars", sketch(), roster(0));
    let line = |(part, _)| PartLine {
        part,
        notes: vec![note(0, 60, 480)],
    };
    document.draft = Arc::new(Draft {
        lines: document.band.ids().map(line).collect(),
        melody_changes: Vec::new(),
    });
    document
}

pub fn note(onset: u64, pitch: u8, duration: u64) -> DraftNote {
    DraftNote {
        onset: Tick(onset),
        pitch: Sounding::new(pitch).unwrap(),
        duration: Ticks(duration),
        velocity: 80,
        role: Role::Harmony,
        locked: false,
    }
}

/// The document with another note in the line of a part.
pub fn with_note(document: &Document, line: usize, note: DraftNote) -> Document {
    let mut after = document.clone();
    let draft = Arc::make_mut(&mut after.draft);
    let notes = &mut draft.lines[line].notes;
    notes.push(note);
    notes.sort();
    after
}

/// The small document with something in every field.
pub fn full() -> Document {
    let small = small();
    let bars = |from, to| BarSet((from..=to).map(BarNumber).collect());
    let pitch = |midi| Sounding::new(midi).unwrap();
    let mut draft = (*small.draft).clone();
    draft.lines[0].notes.push(DraftNote {
        role: Role::Melody,
        locked: true,
        ..note(960, 84, 240)
    });
    draft.melody_changes = vec![
        MelodyChange {
            onset: Tick(480),
            sketch: pitch(74),
            new: Some(pitch(72)),
            parts: vec![(PartId(0), pitch(84)), (PartId(1), pitch(72))],
            reason: "nobody reaches D5".to_owned(),
        },
        MelodyChange::not_carried(Tick(960), pitch(76), "\u{266d} too high".to_owned()),
    ];
    let lock = |part, bars| Lock {
        part: PartId(part),
        bars,
        notes: vec![Note {
            onset: Tick(0),
            pitch: pitch(50),
            duration: Ticks(960),
            velocity: 99,
            channel: 3,
        }],
    };
    let tag = Tag {
        track: Some(TrackChoice::Name("Left \"hand\"".to_owned())),
        bars: vec![(BarNumber(1), BarNumber(2))],
        beat: Some(2.5),
        among: Among::Lowest,
        ..Tag::all(Line::Bass)
    };
    Document {
        title: "Two bars, \"all\" of it".to_owned(),
        sketch: Arc::new(SketchFile {
            times: Times::Written,
            transpose: -2,
            ..sketch()
        }),
        tags: Arc::new(Tags(vec![tag, Tag::all(Line::Melody)])),
        conditions: Conditions {
            posture: Posture::Seated,
            start: Start::MidProgramme,
        },
        styles: vec!["hymn".to_owned(), "own.toml".to_owned()],
        taken: Arc::new([((1, 1), 2), ((2, 2), 5)].into()),
        tune: Arc::new(TuneRules {
            as_written: bars(1, 1),
            may_change: bars(2, 4),
            restored: [Tick(480)].into(),
        }),
        locks: Arc::new(Locks(vec![lock(1, bars(1, 2)), lock(2, bars(2, 2))])),
        draft: Arc::new(draft),
        aside: Arc::new(vec![PutAside {
            kind: "weak_alone".to_owned(),
            part: None,
            at: Tick(960),
            reason: String::new(),
        }]),
        ..small
    }
}

/// Does step number `k` of a fixed way of working: notes, titles, other bands, steps back and forth.
pub fn step(project: &mut Project, k: u64) {
    let now = project.document().clone();
    match k % 11 {
        3 => {
            let title = format!("Title {k}");
            assert!(project.change("Title", Document { title, ..now }));
        }
        5 | 8 => assert!(project.undo().is_some()),
        6 => assert!(project.redo().is_some()),
        9 => {
            let band = roster(usize::from(*now.band == roster(0)) * 2);
            assert!(project.change("Band", now.with_band(band)));
        }
        10 => {
            let mut after = now;
            let aside = PutAside {
                kind: "leap".to_owned(),
                part: Some("Tuba".to_owned()),
                at: Tick(k),
                reason: "\"so\"\nwanted".to_owned(),
            };
            Arc::make_mut(&mut after.aside).push(aside);
            assert!(project.change("Put aside", after));
        }
        _ => {
            let line = (k % 3) as usize;
            let added = note(k * 40, 40 + (k % 40) as u8, 30);
            assert!(project.join("Note", with_note(&now, line, added)));
        }
    }
}

fn any_text() -> impl Strategy<Value = String> {
    "\\PC{0,12}|[\\x00-\\x1f\\x7f\"\\\\'`,{}\t\n\r]{0,6}"
}

fn any_pitch() -> impl Strategy<Value = Sounding> {
    (0..128_u8).prop_map(|p| Sounding::new(p).unwrap())
}

fn any_role() -> impl Strategy<Value = Role> {
    prop::sample::select(vec![
        Role::Melody,
        Role::Counterline,
        Role::Harmony,
        Role::Bass,
        Role::Figure,
        Role::Rest,
    ])
}

/// Few values, so that two lists share notes.
fn any_note() -> impl Strategy<Value = DraftNote> {
    let large = prop_oneof![9 => 0..6_u64, 1 => any::<u64>()];
    (
        large,
        58..62_u8,
        1..3_u64,
        1..=127_u8,
        any_role(),
        any::<bool>(),
    )
        .prop_map(
            |(onset, pitch, duration, velocity, role, locked)| DraftNote {
                velocity: if velocity % 2 == 0 { 80 } else { velocity },
                role,
                locked,
                ..note(onset, pitch, duration)
            },
        )
}

fn any_line() -> impl Strategy<Value = Vec<DraftNote>> {
    let notes = prop::collection::vec(any_note(), 0..12);
    (notes, prop::bool::weighted(0.95)).prop_map(|(mut notes, sorted)| {
        if sorted {
            notes.sort();
        }
        notes
    })
}

fn any_bars() -> impl Strategy<Value = BarSet> {
    prop::collection::btree_set(0..30_u32, 0..6)
        .prop_map(|bars| BarSet(bars.into_iter().map(BarNumber).collect()))
}

fn any_changes(parts: usize) -> impl Strategy<Value = Vec<MelodyChange>> {
    let players = prop::collection::vec((0..parts, any_pitch()), 0..3);
    let one = (0..9_u64, any_pitch(), of(any_pitch()), players, any_text()).prop_map(
        |(onset, sketch, new, players, reason)| MelodyChange {
            onset: Tick(onset),
            sketch,
            new,
            parts: players
                .into_iter()
                .map(|(p, pitch)| (PartId(p), pitch))
                .collect(),
            reason,
        },
    );
    prop::collection::vec(one, 0..4)
}

fn any_draft(band: &Band) -> impl Strategy<Value = Draft> + use<> {
    let parts: Vec<_> = band.ids().map(|(id, _)| id).collect();
    let lines = prop::collection::vec(any_line(), parts.len());
    let there = prop_oneof![1 => Just(0), 6 => Just(parts.len()), 1 => 0..=parts.len()];
    (lines, there, any_changes(parts.len())).prop_map(move |(lines, there, changes)| Draft {
        lines: parts
            .iter()
            .zip(lines)
            .take(there)
            .map(|(part, notes)| PartLine { part: *part, notes })
            .collect(),
        melody_changes: changes,
    })
}

fn any_locks(band: &Band) -> impl Strategy<Value = Locks> + use<> {
    let parts: Vec<_> = band.ids().map(|(id, _)| id).collect();
    let one = (any_bars(), any_line(), 0..16_u8).prop_map(|(bars, notes, channel)| {
        let notes = notes.into_iter().map(|n| Note {
            onset: n.onset,
            pitch: n.pitch,
            duration: n.duration,
            velocity: n.velocity,
            channel,
        });
        (bars, notes.collect::<Vec<Note>>())
    });
    prop::collection::vec(of(one), parts.len()).prop_map(move |locks| {
        let locks = parts.iter().zip(locks);
        let lock = |(part, lock): (&_, Option<(BarSet, Vec<Note>)>)| {
            let (bars, notes) = lock?;
            let part = *part;
            Some(Lock { part, bars, notes })
        };
        Locks(locks.filter_map(lock).collect())
    })
}

fn any_tags() -> impl Strategy<Value = Tags> {
    let track = prop_oneof![
        Just(None),
        (1..4_usize).prop_map(|n| Some(TrackChoice::Number(n))),
        any_text().prop_map(|n| Some(TrackChoice::Name(n))),
    ];
    let pitches = of((any_pitch(), any_pitch()));
    let beat = of(prop_oneof![Just(1.0), Just(2.5), 1.0..9.0_f64]);
    let one = (0..5_usize, track, beat, pitches).prop_map(|(line, track, beat, pitches)| Tag {
        track,
        beat,
        pitches: pitches.map(|(a, b)| (a.min(b), a.max(b))),
        among: Among::Highest,
        ..Tag::all(Line::ALL[line])
    });
    prop::collection::vec(one, 0..5).prop_map(Tags)
}

fn any_aside() -> impl Strategy<Value = Vec<PutAside>> {
    let one =
        (any_text(), of(any_text()), 0..5_u64, any_text()).prop_map(|(kind, part, at, reason)| {
            PutAside {
                kind,
                part,
                at: Tick(at),
                reason,
            }
        });
    prop::collection::vec(one, 0..4)
}

fn any_sketch() -> impl Strategy<Value = SketchFile> {
    let times = prop::sample::select(vec![Times::Auto, Times::Written, Times::Played]);
    let bytes = prop::collection::vec(0..3_u8, 0..4);
    (any_text(), bytes, times, -12..13_i16).prop_map(|(name, bytes, times, transpose)| SketchFile {
        name,
        bytes,
        times,
        transpose,
    })
}

fn any_conditions() -> impl Strategy<Value = Conditions> {
    (any::<bool>(), any::<bool>()).prop_map(|(seated, fresh)| Conditions {
        posture: if seated {
            Posture::Seated
        } else {
            Posture::Marching
        },
        start: if fresh {
            Start::Fresh
        } else {
            Start::MidProgramme
        },
    })
}

pub fn some_band() -> impl Strategy<Value = Band> {
    prop_oneof![6 => (0..3_usize).prop_map(roster), 1 => any_band()]
}

/// A document whose band is given.
pub fn any_document_for(band: Band) -> impl Strategy<Value = Document> {
    let notes = (any_draft(&band), any_locks(&band));
    let taken = prop::collection::btree_map((0..5_u32, 0..9_u32), 0..4_usize, 0..3);
    let restored = prop::collection::btree_set(0..9_u64, 0..3);
    let tune = (any_bars(), any_bars(), restored).prop_map(|(as_written, may_change, restored)| {
        TuneRules {
            as_written,
            may_change,
            restored: restored.into_iter().map(Tick).collect(),
        }
    });
    let styles = prop::collection::vec(any_text(), 0..3);
    let head = (any_text(), any_sketch(), any_tags(), any_conditions());
    let timeline = of(crate::timeline::build::any_timeline());
    let rest = (styles, taken, tune, any_aside(), timeline);
    (head, rest, notes).prop_map(move |(head, rest, (draft, locks))| {
        let (title, sketch, tags, conditions) = head;
        let (styles, taken, tune, aside, timeline) = rest;
        Document {
            title,
            sketch: Arc::new(sketch),
            band: Arc::new(band.clone()),
            tags: Arc::new(tags),
            conditions,
            styles,
            taken: Arc::new(taken),
            tune: Arc::new(tune),
            locks: Arc::new(locks),
            draft: Arc::new(draft),
            aside: Arc::new(aside),
            timeline: Arc::new(timeline),
        }
    })
}

pub fn any_document() -> impl Strategy<Value = Document> {
    some_band().prop_flat_map(any_document_for)
}

/// Documents as they follow one another: in each some of what is in another one, so that they share
/// what they do not change.
pub fn any_documents(most: usize) -> impl Strategy<Value = Vec<Document>> {
    let one = (any_document(), 0..13_usize);
    prop::collection::vec(one, 2..most).prop_map(|all| {
        let mut documents: Vec<Document> = Vec::new();
        for (other, what) in all {
            let next = match documents.last() {
                None => other,
                Some(last) => mixed(last, other, what),
            };
            documents.push(next);
        }
        documents
    })
}

fn mixed(last: &Document, other: Document, what: usize) -> Document {
    let mut next = last.clone();
    let fits = next.band == other.band;
    match what {
        0 => next.title = other.title,
        1 => next.sketch = other.sketch,
        2 => next.tags = other.tags,
        3 => next.conditions = other.conditions,
        4 => next.styles = other.styles,
        5 => next.taken = other.taken,
        6 => next.tune = other.tune,
        7 if fits => next.locks = other.locks,
        8 if fits => next.draft = other.draft,
        9 => next.aside = other.aside,
        10 => next.timeline = other.timeline,
        11 => next = next.with_band((*other.band).clone()),
        _ => return other,
    }
    next
}
