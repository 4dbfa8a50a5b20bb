//! The voicing: notes for every part, from the sketch's lines and chords and the scoring plan.
//!
//! Whole lines first: every carrier of the tune, the bass, a second tune or a figure takes the
//! sketch's line, moved by whole octaves only between breaths ([`set_line`]); what nobody carries
//! yet is handed to someone who can ([`cover`]). Then the chords: the sketch is cut into steps
//! ([`steps`]) and every choir is a chain of joint states ([`choir`], [`chain`]). Choirs meet only in
//! how much of the band's sound each chord tone has ([`coverage`]); prices tie them together and
//! prove a lower bound ([`prices`]), answers are made from the prices and improved choir by choir
//! ([`solve_stretch`]). Every term of the cost has its name, unit, weight and source in [`terms`].
//!
//! Nothing here alters a lock: a locked part has no candidates but its own notes.

pub mod account;
mod again;
mod alike;
pub mod amounts;
pub mod before;
pub mod candidates;
pub mod chain;
pub mod choir;
pub mod chords;
pub mod company;
pub mod conflicts;
pub mod cover;
pub mod coverage;
mod drums;
pub mod effort;
pub mod excerpt;
pub mod explain;
pub mod hand_over;
mod hand_step;
mod held;
mod least_change;
pub mod line_terms;
mod loud_words;
pub mod melody_change;
pub mod moves;
pub mod network;
pub mod note_cost;
mod octave_path;
pub mod octave_rule;
pub mod part_notes;
pub mod price_book;
pub mod prices;
pub mod resolve;
mod resolve_lines;
mod resolve_runs;
pub mod scope;
pub mod set_line;
mod side_by_side;
pub mod solve;
pub mod solve_stretch;
pub mod steps;
pub mod stretch;
pub mod styles;
pub mod terms;
mod together;
mod written_loud;

use crate::band::Band;
use crate::music::{MeterMap, TempoMap, TicksPerQuarter};
use crate::plan::{Lines, ScoringPlan};
use crate::score::{Draft, Locks, TuneRules};
use crate::sketch::Reading;

pub use conflicts::Conflict;
pub use effort::{Effort, Progress, Status};
pub use excerpt::{Excerpt, ExcerptError};
pub use loud_words::how_loud;
pub use resolve::{Again, Kept, Resolved, resolve};
pub use scope::{Scope, Stay};
pub use solve::{voice, voice_kept, voice_with};
pub use terms::{Term, Weights};
pub use written_loud::write_loud;

/// All that a voicing follows from.
#[derive(Clone, Copy, Debug)]
pub struct Problem<'a> {
    /// The band.
    pub band: &'a Band,
    /// What was read in the sketch.
    pub reading: &'a Reading,
    /// The sketch's lines as one player could play them.
    pub lines: &'a Lines,
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// Ticks of a quarter note.
    pub quarter: TicksPerQuarter,
    /// Tempos.
    pub tempo: &'a TempoMap,
    /// What the arranger fixed.
    pub locks: &'a Locks,
    /// Where the tune stays as written, and where a note of it may change.
    pub tune: &'a TuneRules,
    /// Who carries what.
    pub plan: &'a ScoringPlan,
    /// What every term of the cost weighs.
    pub weights: &'a Weights,
}

/// A voicing with what it costs.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Voiced {
    /// The notes.
    pub draft: Draft,
    /// Cost of the chords in points: the sum of all [`Term`]s.
    pub cost: f64,
    /// What the chords cannot cost less than, around the same lines and locks.
    pub lower_bound: f64,
    /// How good the chords are known to be; impossible where locks and remarks contradict each other.
    pub status: Status,
    /// Where locks, remarks and the sketch contradict each other, and what would have to give way.
    pub conflicts: Vec<Conflict>,
    /// The lines as they are played, changed notes of the tune among them. For explanations.
    pub lines: Lines,
    /// What the parts had before the chords: locks and lines. For explanations.
    pub around: Vec<part_notes::PartNotes>,
    /// What every part does at every step of the chords. For explanations.
    pub chosen: Vec<Vec<candidates::Choice>>,
}

impl Voiced {
    /// How far the cost may be above the best, as a share of the cost; nothing where it costs nothing.
    #[must_use]
    pub fn gap(&self) -> f64 {
        gap(self.cost, self.lower_bound)
    }
}

/// How far a cost may be above the best if no cost is under a bound, as a share of the cost.
#[must_use]
pub fn gap(cost: f64, lower_bound: f64) -> f64 {
    if cost <= 0.0 {
        return 0.0;
    }
    ((cost - lower_bound) / cost).max(0.0)
}
