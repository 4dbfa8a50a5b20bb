//! What is known of playing each instrument besides its ranges, read from `presets/playing`.
//!
//! Everything here is a default that a user may override for a band; the sources of each row stand
//! in the tables. Pitches are as the player reads them.

mod action;
mod breath;
mod by_level;
mod clarinet_break;
mod dynamics;
mod horn;
mod intonation;
mod keys;
mod leaps;
mod loudness_zones;
mod lower_parts;
mod rows;
mod slide;
mod speeds;
mod timpani;
mod trouble;
mod usual_sizes;
mod valves;

pub use action::Action;
pub use breath::{Breath, Posture};
pub use by_level::ByLevel;
pub use clarinet_break::{Crossing, Register, crossing, crossings, registers};
pub use dynamics::{LevelDynamics, level_dynamics};
pub use horn::{HornFingering, HornSide, horn_fingerings};
pub use intonation::{ValveLengths, Valves, added_length, partial_cents, partial_semitones};
pub use keys::{LevelKeys, level_keys};
pub use leaps::Leaps;
pub use loudness_zones::{HighAndSoft, LoudnessRule, LoudnessZone, high_and_soft};
pub use lower_parts::{OverTheBreak, ceiling, over_the_break};
pub use slide::{Reach, SlideNote, SlidePlace, SlideTravel, slide_notes, slide_travel};
pub use speeds::{Speeds, burst_factor};
pub use timpani::{Drum, drums, set_of, tuning};
pub use trouble::TroubleSpot;
pub use usual_sizes::{BandSize, UsualSize, band_size, usual_sizes};
pub use valves::{Combination, Fingering, Partial, ValveReading, ValveTable, valve_table};

use crate::band::instruments::TableError;

/// All that is known of playing one instrument besides its ranges.
#[derive(Clone, PartialEq, Debug)]
pub struct Playing {
    /// Notes a second.
    pub speeds: Speeds,
    /// Largest safe leaps.
    pub leaps: Option<Leaps>,
    /// How long a breath lasts; `None` where nobody breathes.
    pub breath: Option<Breath>,
    /// Notes that are harder or worse than their neighbours, lowest first.
    pub trouble: Vec<TroubleSpot>,
    /// Notes that cannot be played at every dynamic.
    pub loudness_zones: Vec<LoudnessZone>,
    /// How its notes are made.
    pub action: Action,
}

impl Playing {
    /// What the tables say of an instrument.
    ///
    /// # Errors
    /// If a built-in table were unreadable or lacked the instrument (a test shows that they do not).
    pub fn of(id: &str) -> Result<Self, TableError> {
        Ok(Self {
            speeds: speeds::of(id)?,
            leaps: leaps::of(id)?,
            breath: breath::of(id)?,
            trouble: trouble::of(id)?,
            loudness_zones: loudness_zones::of(id)?,
            action: action::of(id)?,
        })
    }
}
