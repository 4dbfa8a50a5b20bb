//! Onsets: what is struck at each moment, and what else is held then.

use super::reading::ReadNote;
use crate::music::Tick;
use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::ops::Range;

/// The notes that begin at one tick.
#[derive(Clone, Debug)]
pub(super) struct Onset {
    /// When.
    pub(super) at: Tick,
    /// Indices of its notes, lowest pitch first.
    pub(super) notes: Range<usize>,
    /// Highest pitch whose key is down, new notes included.
    pub(super) top: u8,
    /// Lowest pitch whose key is down, new notes included.
    pub(super) bottom: u8,
    /// How many different pitches are down, new notes included.
    pub(super) held: usize,
}

/// All onsets of notes that are in order of onset, then pitch.
pub(super) fn onsets(notes: &[ReadNote]) -> Vec<Onset> {
    let mut found = Vec::new();
    let mut down = [0_u32; 128];
    let mut ends: BinaryHeap<Reverse<(Tick, u8)>> = BinaryHeap::new();
    let mut start = 0;
    while let Some(first) = notes.get(start) {
        let at = first.onset;
        let count = notes[start..].partition_point(|n| n.onset <= at);
        while let Some(Reverse((end, pitch))) = ends.peek().copied()
            && end <= at
        {
            down[usize::from(pitch)] -= 1;
            ends.pop();
        }
        for note in &notes[start..start + count] {
            down[usize::from(note.pitch.midi())] += 1;
            ends.push(Reverse((note.end(), note.pitch.midi())));
        }
        found.push(Onset {
            at,
            notes: start..start + count,
            top: down.iter().rposition(|d| *d > 0).unwrap_or(0) as u8,
            bottom: down.iter().position(|d| *d > 0).unwrap_or(0) as u8,
            held: down.iter().filter(|d| **d > 0).count(),
        });
        start += count;
    }
    found
}
