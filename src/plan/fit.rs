//! How well a part can play a stretch of a line, at its best octave.

use super::apart::Apart;
use super::line::{LineNote, OneLine};
use crate::band::{Part, clean_chance::clean_chance};
use crate::music::{Interval, Sounding};
use std::ops::Range;

/// Octaves that are tried above and below the sketch's line.
pub const OCTAVES: std::ops::RangeInclusive<i16> = -4..=4;

/// What each pitch costs a part: `-ln(clean chance)` in thousandths; `None` outside its hard
/// limits. Indexed by MIDI number.
#[derive(Clone, Debug)]
pub struct ChanceCosts([Option<i32>; 128]);

impl ChanceCosts {
    /// The costs of a part.
    #[must_use]
    pub fn of(part: &Part) -> Self {
        Self(std::array::from_fn(|midi| {
            let pitch = Sounding::nearest(midi as i32);
            let inside = part.limits.range.contains(pitch);
            inside
                .then(|| (-1000.0 * clean_chance(part, pitch).clamp(1e-3, 1.0).ln()).round() as i32)
        }))
    }

    /// The cost of a pitch; `None` outside the hard limits.
    #[must_use]
    pub fn cost(&self, pitch: Sounding) -> Option<i32> {
        self.0[usize::from(pitch.midi())]
    }
}

/// The cost of some notes moved by whole octaves; `None` where one of them is out of limits.
#[must_use]
pub fn moved_cost(costs: &ChanceCosts, notes: &[LineNote], octaves: i16) -> Option<i64> {
    notes.iter().try_fold(0, |sum, note| {
        let pitch = note.pitch.up(Interval::octaves(octaves))?;
        Some(sum + i64::from(costs.cost(pitch)?))
    })
}

/// How many of some notes moved by whole octaves are inside the limits, and what those cost.
fn reached(costs: &ChanceCosts, notes: &[LineNote], octaves: i16) -> (usize, i64) {
    let cost = |n: &LineNote| costs.cost(n.pitch.up(Interval::octaves(octaves))?);
    notes
        .iter()
        .filter_map(cost)
        .fold((0, 0), |(n, sum), c| (n + 1, sum + i64::from(c)))
}

/// How a part takes to a stretch of a line.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Fit {
    /// Share of the notes that it can play, breath by breath, 0 to 1.
    pub share: f64,
    /// Mean `-ln(clean chance)` of those, at each breath's best octave.
    pub mean_cost: f64,
}

/// The fit of a part to the notes of a line in a range: each breath at the octave that has most
/// of its notes in reach. A breath with a leap or a speed that the director ruled out is not for the
/// part at all.
#[must_use]
pub fn fit(apart: &Apart<'_>, costs: &ChanceCosts, line: &OneLine, range: &Range<usize>) -> Fit {
    let (mut played, mut total) = (0, 0);
    for breath in line.breaths_in(range) {
        let notes = &line.notes[breath];
        if !apart.holds_in(notes) {
            continue;
        }
        let octaves = OCTAVES.map(|k| reached(costs, notes, k));
        let (count, cost) = octaves.max_by_key(|(n, c)| (*n, -*c)).unwrap_or((0, 0));
        played += count;
        total += cost;
    }
    Fit {
        share: played as f64 / range.len().max(1) as f64,
        mean_cost: total as f64 / 1000.0 / played.max(1) as f64,
    }
}
