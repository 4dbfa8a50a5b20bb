//! Harmony: chords with what each is in its key, and what each note is in its chord.

mod cells;
mod context;
mod labels;
mod neighbours;
mod path;
mod segment;
mod weights;

pub use path::RIVALS;
pub use segment::ChordScore;
pub use weights::{WeightRow, Weights};

use crate::music::{Key, MeterMap};
use crate::sketch::reading::{ChordSpan, KeySpan, ReadNote, Slice};
use cells::cells;
use neighbours::{neighbours, shares};
use path::{Search, join};

/// Labels the chords, and writes each slice's chord into it. Time is linear in the slices.
#[must_use]
pub fn find_chords(
    notes: &[ReadNote],
    slices: &mut [Slice],
    keys: &[KeySpan],
    meters: &MeterMap,
    w: &Weights,
) -> Vec<ChordSpan> {
    let around = neighbours(notes, meters);
    let shares = shares(notes, &around, meters, w);
    let cells = cells(notes, slices, &shares, meters, w);
    let all: Vec<Key> = Key::all().collect();
    let mut span = 0;
    let mut key_of = Vec::with_capacity(cells.len());
    for cell in &cells {
        while keys.get(span + 1).is_some_and(|k| k.start <= cell.start) {
            span += 1;
        }
        let key = keys
            .get(span)
            .and_then(|k| all.iter().position(|a| *a == k.key));
        key_of.push(key.unwrap_or(0));
    }
    let found = join(Search::new(&cells, &key_of, w).chords());
    let chords: Vec<ChordSpan> = found
        .iter()
        .map(|f| ChordSpan {
            start: f.start,
            end: f.end,
            chord: f.chord,
        })
        .collect();
    mark_slices(slices, &chords);
    chords
}

fn mark_slices(slices: &mut [Slice], chords: &[ChordSpan]) {
    let mut next = 0;
    for slice in slices {
        while chords.get(next).is_some_and(|c| c.end <= slice.start) {
            next += 1;
        }
        let over = chords.get(next).filter(|c| c.start <= slice.start);
        slice.chord = over.filter(|_| !slice.sounding.is_empty()).map(|_| next);
    }
}
