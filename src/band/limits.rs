//! The limits of a part: what its players can reach, narrowed by what the director said.

use crate::music::{Interval, Sounding};

/// A range of sounding pitches, both ends included.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct SoundingRange {
    /// Lowest.
    pub low: Sounding,
    /// Highest.
    pub high: Sounding,
}

impl SoundingRange {
    /// Whether a pitch is inside.
    #[must_use]
    pub fn contains(self, pitch: Sounding) -> bool {
        self.low <= pitch && pitch <= self.high
    }
}

/// What a part may be asked for.
///
/// `range` and `max_leap` are hard: no note the program writes breaks them. `comfortable` is
/// what may be relied on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Limits {
    /// Hard limits: what every player of the part can reach (the stretch range of the weakest),
    /// narrowed by the remarks.
    pub range: SoundingRange,
    /// What every player may be relied on for, inside `range`.
    pub comfortable: SoundingRange,
    /// Greatest interval between two notes that follow one another, if the director gave one.
    pub max_leap: Option<Interval>,
}
