//! The voicing: notes for every part, from the sketch's lines and chords and the scoring plan.
//!
//! Whole lines first: every carrier of the tune, the bass, a second tune or a figure takes the
//! sketch's line, moved by whole octaves only between breaths ([`set_line`]); what nobody carries
//! yet is handed to someone who can ([`cover`]). Then the chords: the sketch is cut into steps
//! ([`steps`]), every choir is a chain of joint states solved exactly ([`choir`], [`chain`]), and
//! choirs are improved one at a time with the others held until nothing improves ([`chords`]).
//! They meet only in how many players each chord tone has ([`coverage`]).
//!
//! Nothing here alters a lock: a locked part has no candidates but its own notes.

pub mod candidates;
pub mod chain;
pub mod choir;
pub mod chords;
pub mod company;
pub mod costs;
pub mod cover;
pub mod coverage;
pub mod hand_over;
mod hand_step;
mod held;
mod least_change;
pub mod line_terms;
pub mod melody_change;
mod octave_path;
pub mod octave_rule;
pub mod part_notes;
pub mod set_line;
pub mod solve;
pub mod steps;

use crate::band::Band;
use crate::music::{MeterMap, TempoMap, TicksPerQuarter};
use crate::plan::{Lines, ScoringPlan};
use crate::score::{Draft, Locks, TuneRules};
use crate::sketch::Reading;

pub use solve::voice;

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
}

/// A voicing with what it costs.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Voiced {
    /// The notes.
    pub draft: Draft,
    /// Cost of the chords in points: the sum of all terms of [`costs::TERMS`].
    pub cost: f64,
}
