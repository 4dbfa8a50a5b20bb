//! Moves of a line: what going from one note to the next costs or gains, and what resting does.

use super::attacks::{Attacks, Struck};
use super::feature::WAYS;
use serde::Deserialize;

/// A line that is silent for so many quarters rests.
const REST: f64 = 2.0;
/// A line rests too once it has passed over so many attacks.
const MOST_PASSED: usize = 32;
/// How soon after a note's end an attack may come and count as passed while it was held.
const SLACK: f64 = 0.13;
/// How many attacks passed over count one by one.
const MOST_COUNTED: usize = 8;
/// A note followed after less than this is joined to the next, in quarters.
const JOINED: f64 = 0.5;

/// Points of moves. Intervals are classed as unison, step, third, fourth or fifth, sixth or
/// seventh, octave, wider.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct MoveWeights {
    /// By interval, where the next note follows within half a quarter.
    pub(super) joined: [f64; 7],
    /// By interval, after a longer break.
    pub(super) apart: [f64; 7],
    /// By break: none, less than half a quarter, less than a quarter, longer.
    pub(super) gap: [f64; 4],
    /// Both notes sound at once.
    pub(super) overlap: f64,
    /// For each quarter of that, at most two.
    pub(super) overlap_quarter: f64,
    /// For each attack passed over while the note is held, at most eight.
    pub(super) passed_held: f64,
    /// For each attack passed over in a break, at most eight.
    pub(super) passed_silent: f64,
    /// To begin a rest.
    pub(super) rest: f64,
    /// For each attack passed over in a rest.
    pub(super) rest_attack: f64,
    /// For each quarter of a rest.
    pub(super) rest_quarter: f64,
    /// To end a rest, by way.
    pub(super) entry: [f64; WAYS],
    /// To go on in another way.
    pub(super) switch: f64,
}

/// A candidate with its place among the attacks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    /// Index of its attack.
    pub(super) attack: usize,
    /// The first attack at which it is no longer held.
    pub(super) let_go: usize,
    /// The first attack at which the line rests if it has not moved.
    pub(super) rest: usize,
    pub(super) at: f64,
    pub(super) end: f64,
    pub(super) pitch: u8,
}

impl Place {
    pub(super) fn new(attacks: &Attacks, attack: usize, note: &Struck) -> Self {
        let list = &attacks.list;
        let let_go = list.partition_point(|a| a.at + SLACK < note.end);
        let rest = list.partition_point(|a| a.at < note.end + REST);
        Self {
            attack,
            let_go: let_go.max(attack + 1),
            rest: rest.min(attack + MOST_PASSED).max(attack + 1),
            at: note.at,
            end: note.end,
            pitch: note.pitch,
        }
    }
}

impl MoveWeights {
    /// The points of moving from one note to a later one.
    pub(super) fn between(&self, a: &Place, b: &Place) -> f64 {
        let gap = b.at - a.end;
        let class = interval(a.pitch.abs_diff(b.pitch));
        let step = if gap < JOINED {
            self.joined[class]
        } else {
            self.apart[class]
        };
        let overlap = if gap < -SLACK {
            self.overlap + self.overlap_quarter * (-gap).min(2.0)
        } else {
            0.0
        };
        step + self.gap[gap_class(gap)] + overlap + self.passed(a, b.attack)
    }

    /// The points of passing over the attacks from a note to a later attack.
    pub(super) fn passed(&self, a: &Place, until: usize) -> f64 {
        let all = until.saturating_sub(a.attack + 1);
        let held = (a.let_go - a.attack - 1).min(all);
        self.passed_held * held.min(MOST_COUNTED) as f64
            + self.passed_silent * (all - held).min(MOST_COUNTED) as f64
    }

    /// The points of resting from one attack to the next.
    pub(super) fn stay(&self, quarters: f64) -> f64 {
        self.rest_attack + self.rest_quarter * quarters.min(4.0)
    }
}

fn interval(semitones: u8) -> usize {
    match semitones {
        0 => 0,
        1 | 2 => 1,
        3 | 4 => 2,
        5..=7 => 3,
        8..=11 => 4,
        12 => 5,
        _ => 6,
    }
}

fn gap_class(gap: f64) -> usize {
    match gap {
        g if g < SLACK => 0,
        g if g < 0.5 => 1,
        g if g < 1.0 => 2,
        _ => 3,
    }
}
