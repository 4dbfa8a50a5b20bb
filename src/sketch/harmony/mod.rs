//! Harmony: chords with what each is in its key, and what each note is in its chord.

mod bound;
mod cells;
mod change;
mod context;
mod fits;
mod labels;
mod neighbours;
mod path;
mod segment;
mod spans;
mod tones;
mod ways;
mod weights;

pub use path::RIVALS;
pub use segment::ChordScore;
pub use tones::{Foreign, NoteInChord, Pull, Tendency};
pub use weights::{WeightRow, Weights};

use crate::music::{Key, MeterMap};
use crate::sketch::reading::{ChordSpan, KeySpan, ReadNote, Slice};
use cells::cells;
use neighbours::{neighbours, shares};
use path::{Search, join};
use spans::{key_at, spans};
use tones::View;

/// Labels the chords, and writes each slice's chord into it. Notes are in order of onset, slices
/// those of the notes. Time is linear in the slices.
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
    let key_of: Vec<usize> = cells
        .iter()
        .map(|cell| {
            let key = key_at(keys, cell.start);
            all.iter().position(|k| *k == key).unwrap_or(0)
        })
        .collect();
    let found = join(Search::new(&cells, &key_of, w).chords());
    let chords = spans(&found, keys);
    mark_slices(slices, &chords);
    chords
}

/// What each note is in its chord.
#[must_use]
pub fn notes_in_chords(
    notes: &[ReadNote],
    chords: &[ChordSpan],
    keys: &[KeySpan],
    meters: &MeterMap,
) -> Vec<NoteInChord> {
    let around = neighbours(notes, meters);
    let view = View {
        notes,
        around: &around,
        chords,
        keys,
        meters,
    };
    view.all()
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
