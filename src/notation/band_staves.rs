//! The notes of a band's parts and of the sketch, as staves are written from them.

use super::names::concert_name;
use super::piano::{PianoStave, split_staves};
use super::stave_line::StaveInput;
use crate::music::{Sounding, SpelledName, Tick};
use crate::score::DraftNote;
use crate::sketch::Reading;

/// What a part's stave is written from. The index of each is its place among the notes.
#[must_use]
pub fn part_inputs(reading: &Reading, notes: &[DraftNote]) -> Vec<StaveInput> {
    named_inputs(notes, |at, pitch| concert_name(reading, at, pitch))
}

/// The same with names at concert pitch from elsewhere.
pub(super) fn named_inputs(
    notes: &[DraftNote],
    name: impl Fn(Tick, Sounding) -> SpelledName,
) -> Vec<StaveInput> {
    let input = |(index, n): (usize, &DraftNote)| StaveInput {
        onset: n.onset,
        duration: n.duration,
        pitch: n.pitch,
        name: name(n.onset, n.pitch),
        index,
    };
    notes.iter().enumerate().map(input).collect()
}

/// What the sketch's two staves are written from, the upper one first. The index of each is its place in
/// the reading.
#[must_use]
pub fn sketch_inputs(reading: &Reading) -> [Vec<StaveInput>; 2] {
    let split = split_staves(&reading.notes);
    let of = |wanted: PianoStave| {
        let notes = reading.notes.iter().enumerate().zip(&split);
        let notes = notes.filter(|(_, s)| **s == wanted).map(|((index, n), _)| {
            let own = reading.names.get(index).copied();
            StaveInput {
                onset: n.onset,
                duration: n.duration,
                pitch: n.pitch,
                name: own.unwrap_or_else(|| concert_name(reading, n.onset, n.pitch)),
                index,
            }
        });
        notes.collect()
    };
    [of(PianoStave::Upper), of(PianoStave::Lower)]
}
