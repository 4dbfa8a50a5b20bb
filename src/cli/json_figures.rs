//! Figures as JSON, for the answer of `read`.

use crate::sketch::{Figure, Held, Reading, Song};
use serde::Serialize;

/// A piano pattern.
#[derive(Serialize, Debug)]
pub struct FigureJson {
    kind: &'static str,
    onset: u64,
    duration: u64,
    first_bar: u32,
    last_bar: u32,
    notes: Vec<FigureNoteJson>,
    harmony: Vec<HeldJson>,
    ways: Vec<&'static str>,
}

#[derive(Serialize, Debug)]
struct FigureNoteJson {
    onset: u64,
    pitch: u8,
}

#[derive(Serialize, Debug)]
struct HeldJson {
    onset: u64,
    duration: u64,
    pitches: Vec<u8>,
}

/// The figures of a reading.
#[must_use]
pub fn figures(song: &Song, reading: &Reading) -> Vec<FigureJson> {
    reading
        .figures
        .iter()
        .map(|f| figure(song, reading, f))
        .collect()
}

fn figure(song: &Song, reading: &Reading, figure: &Figure) -> FigureJson {
    let last = figure.notes.last().and_then(|i| reading.notes.get(*i));
    let bar = |at| song.meters.bar(at).0;
    let notes = figure.notes.iter().filter_map(|i| reading.notes.get(*i));
    FigureJson {
        kind: figure.kind.word(),
        onset: figure.start.0,
        duration: figure.end.since(figure.start).0,
        first_bar: bar(figure.start),
        last_bar: bar(last.map_or(figure.start, |n| n.onset)),
        notes: notes
            .map(|n| FigureNoteJson {
                onset: n.onset.0,
                pitch: n.pitch.midi(),
            })
            .collect(),
        harmony: figure.harmony.iter().map(held).collect(),
        ways: figure.kind.ways().iter().map(|w| w.word()).collect(),
    }
}

fn held(held: &Held) -> HeldJson {
    HeldJson {
        onset: held.start.0,
        duration: held.end.since(held.start).0,
        pitches: held.pitches.iter().map(|p| p.midi()).collect(),
    }
}
