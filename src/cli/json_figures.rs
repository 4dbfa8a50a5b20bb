//! Figures as JSON, for the answer of `read`.

use crate::sketch::{Figure, Held, Quantised, Reading, file_onset};
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

/// The figures of a reading, in the file's ticks.
#[must_use]
pub fn figures(quantised: &Quantised, reading: &Reading) -> Vec<FigureJson> {
    reading
        .figures
        .iter()
        .map(|f| figure(quantised, reading, f))
        .collect()
}

fn figure(quantised: &Quantised, reading: &Reading, figure: &Figure) -> FigureJson {
    let last = figure.notes.last().and_then(|i| reading.notes.get(*i));
    let song = &quantised.song;
    let (start, end) = (
        quantised.file_tick(figure.start),
        quantised.file_tick(figure.end),
    );
    let bar = |at| song.meters.bar(at).0;
    let notes = figure.notes.iter().filter_map(|i| reading.notes.get(*i));
    FigureJson {
        kind: figure.kind.word(),
        onset: start.0,
        duration: end.since(start).0.max(1),
        first_bar: bar(figure.start),
        last_bar: bar(last.map_or(figure.start, |n| n.onset)),
        notes: notes
            .map(|n| FigureNoteJson {
                onset: file_onset(song, n).0,
                pitch: n.pitch.midi(),
            })
            .collect(),
        harmony: figure.harmony.iter().map(|h| held(quantised, h)).collect(),
        ways: figure.kind.ways().iter().map(|w| w.word()).collect(),
    }
}

fn held(quantised: &Quantised, held: &Held) -> HeldJson {
    let (start, end) = (
        quantised.file_tick(held.start),
        quantised.file_tick(held.end),
    );
    HeldJson {
        onset: start.0,
        duration: end.since(start).0.max(1),
        pitches: held.pitches.iter().map(|p| p.midi()).collect(),
    }
}
