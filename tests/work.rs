//! What the arranger does by hand: selections, edits, locks, roster and remedies, without a window.

mod edits;
mod locks;
mod properties;
mod remedies;
mod roster;
mod selections;

use crate::midi_file::{File, Lane, Tone, tone};
use bandwright::band::{Band, PartId, preset, read_band};
use bandwright::cli::files::demo_song;
use bandwright::music::{BarNumber, Sounding, Tick, Ticks};
use bandwright::project::given::Given;
use bandwright::project::made_ready::MadeReady;
use bandwright::project::whole_way::whole_way;
use bandwright::project::work::{Desk, Done, NoteId};
use bandwright::score::{Draft, DraftNote, Lock, Locks, PartLine, Passage, Role};
use bandwright::sketch::{ReadOptions, Reading, Song};
use std::sync::OnceLock;

/// Everything that a desk borrows.
#[derive(Clone)]
pub struct Table {
    pub song: Song,
    pub band: Band,
    pub reading: Reading,
    pub passages: Vec<Passage>,
    pub draft: Draft,
    pub locks: Locks,
}

impl std::fmt::Debug for Table {
    /// The notes and locks alone; the sketch would bury them.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let notes = self
            .draft
            .lines
            .iter()
            .map(|l| l.notes.len())
            .sum::<usize>();
        if notes < 100 {
            write!(f, "{:?} {:?}", self.draft, self.locks)
        } else {
            write!(f, "the demo with {:?}", self.locks)
        }
    }
}

impl Table {
    /// A sketch and a band with nothing drafted.
    pub fn bare(song: Song, band: Band) -> Self {
        let ready = MadeReady::of(&song, &band, &ReadOptions::default());
        let lines = band.ids().map(|(part, _)| PartLine {
            part,
            notes: Vec::new(),
        });
        Self {
            draft: Draft {
                lines: lines.collect(),
                melody_changes: Vec::new(),
            },
            locks: Locks::default(),
            reading: ready.reading,
            passages: ready.passages,
            song,
            band,
        }
    }

    pub fn desk(&self) -> Desk<'_> {
        Desk {
            band: &self.band,
            reading: &self.reading,
            meters: &self.song.meters,
            quarter: self.song.quarter,
            passages: &self.passages,
            draft: &self.draft,
            locks: &self.locks,
        }
    }

    /// The table after an edit.
    pub fn after(&self, done: &Done) -> Self {
        Self {
            draft: done.draft.clone(),
            locks: done.locks.clone(),
            ..self.clone()
        }
    }

    /// Writes notes into a part: onset and length in ticks, pitch.
    pub fn write(&mut self, part: usize, notes: &[(u64, u8, u64)]) {
        let line = &mut self.draft.lines[part].notes;
        line.extend(notes.iter().map(|n| drafted(*n)));
        line.sort();
    }

    /// What a part plays: onset, pitch, length.
    pub fn plays(&self, part: usize) -> Vec<(u64, u8, u64)> {
        plays(&self.draft, part)
    }
}

pub fn plays(draft: &Draft, part: usize) -> Vec<(u64, u8, u64)> {
    let line = draft.lines.iter().find(|l| l.part == PartId(part)).unwrap();
    let plain = |n: &DraftNote| (n.onset.0, n.pitch.midi(), n.duration.0);
    line.notes.iter().map(plain).collect()
}

pub fn drafted((onset, pitch, length): (u64, u8, u64)) -> DraftNote {
    DraftNote {
        onset: Tick(onset),
        pitch: Sounding::new(pitch).unwrap(),
        duration: Ticks(length),
        velocity: 80,
        role: Role::Harmony,
        locked: false,
    }
}

pub fn id(part: usize, onset: u64, pitch: u8) -> NoteId {
    NoteId {
        part: PartId(part),
        onset: Tick(onset),
        pitch: Sounding::new(pitch).unwrap(),
    }
}

pub fn bars(first: u32, last: u32) -> (BarNumber, BarNumber) {
    (BarNumber(first), BarNumber(last))
}

/// A flute, a clarinet, a trumpet, a trombone, a tuba and a marimba.
pub fn six() -> Band {
    let part = |(name, id): (&str, &str)| {
        format!(
            "[[part]]\nname = \"{name}\"\ninstrument = \"{id}\"\nplayers = {{ intermediate = 2 }}\n"
        )
    };
    let parts: String = [
        ("Flute", "flute"),
        ("Clarinet", "clarinet_bb"),
        ("Trumpet", "trumpet"),
        ("Trombone", "trombone"),
        ("Tuba", "tuba"),
        ("Marimba", "marimba"),
    ]
    .map(part)
    .concat();
    read_band(&format!("name = \"Six\"\n{parts}")).unwrap()
}

/// Where a part of [`six`] stands in the score.
pub fn part(band: &Band, name: &str) -> usize {
    band.parts.iter().position(|p| p.name == name).unwrap()
}

/// Eight bars of C major: a tune over held triads and a bass; bars 5-6 bring the tune of bars 1-2
/// again, bars 7-8 that of bars 3-4.
pub fn small_song() -> Song {
    let tune = [
        72, 74, 76, 77, 79, 77, 76, 74, 72, 76, 79, 84, 83, 81, 79, 77,
    ];
    let again = |from: u32| {
        let notes = tune.iter().enumerate();
        notes.map(move |(i, p)| tone(from + 480 * i as u32, *p, 480))
    };
    let melody: Vec<Tone> = again(0).chain(again(4 * 1920)).collect();
    let chord = |bar: u32| [60, 64, 67].map(|p| tone(1920 * bar, p, 1920));
    let chords: Vec<Tone> = (0..8).flat_map(chord).collect();
    let bass: Vec<Tone> = (0..8).map(|bar| tone(1920 * bar, 36, 1920)).collect();
    let mut file = File::plain(vec![
        Lane::new("Melody", melody),
        Lane::new("Chords", chords),
        Lane::new("Bass", bass),
    ]);
    file.keys = vec![(0, 0, false)];
    file.song()
}

/// A piece in changing meters that ends in the middle of a bar.
pub fn changing_song() -> Song {
    let tune = (0..40).map(|i| tone(240 * i, [67, 69, 70, 72, 74][i as usize % 5], 240));
    let bass = (0..10).map(|i| tone(960 * i, [43, 46, 48][i as usize % 3], 900));
    let mut file = File::plain(vec![
        Lane::new("Tune", tune.collect()),
        Lane::new("Bass", bass.collect()),
    ]);
    file.meters = vec![(0, 1, 2), (480, 3, 2), (480 + 4 * 1440, 6, 3)];
    file.song()
}

pub fn small() -> Table {
    Table::bare(small_song(), six())
}

/// The demo, voiced once.
pub fn demo() -> &'static Table {
    static VOICED: OnceLock<Table> = OnceLock::new();
    VOICED.get_or_init(|| {
        let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
        let way = whole_way(&song, &band, &Given::default(), &mut |_| {});
        Table {
            passages: way.plan.passages.iter().map(|p| p.passage).collect(),
            draft: way.voiced.draft,
            locks: way.locks,
            reading: way.reading,
            song,
            band,
        }
    })
}

/// Where locks and draft do not agree: in locked bars the draft must have the lock's notes, marked so,
/// and no others, and nothing else may be marked.
pub fn disagreements(table: &Table) -> Vec<String> {
    let mut wrong = Vec::new();
    let meters = &table.song.meters;
    for line in &table.draft.lines {
        let lock = table.locks.of(line.part).cloned().unwrap_or(Lock {
            part: line.part,
            bars: Default::default(),
            notes: Vec::new(),
        });
        let meets = |n: &DraftNote| {
            let last = meters.bar(Tick(n.end().0 - 1)).0;
            (meters.bar(n.onset).0..=last).any(|b| lock.bars.0.contains(&BarNumber(b)))
        };
        let whole = |n: &DraftNote| {
            let last = meters.bar(Tick(n.end().0 - 1)).0;
            (meters.bar(n.onset).0..=last).all(|b| lock.bars.0.contains(&BarNumber(b)))
        };
        let mut inside = Vec::new();
        for note in &line.notes {
            if note.locked != meets(note) {
                wrong.push(format!("{:?}: {note:?} is marked wrongly", line.part));
            }
            if meets(note) {
                inside.push((note.onset, note.pitch, note.duration, note.velocity));
                if !whole(note) {
                    wrong.push(format!("{:?}: {note:?} sounds out of its lock", line.part));
                }
            }
        }
        let held: Vec<_> = lock
            .notes
            .iter()
            .map(|n| (n.onset, n.pitch, n.duration, n.velocity))
            .collect();
        if inside != held {
            wrong.push(format!("{:?}: {inside:?} and not {held:?}", line.part));
        }
    }
    wrong
}
