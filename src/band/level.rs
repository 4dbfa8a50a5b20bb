//! How good a player is.

use serde::{Deserialize, Serialize};
use std::fmt;

/// The level of a player, weakest first (our own names).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// In the first year of playing.
    FirstYear,
    /// In the second year.
    SecondYear,
    /// About years three and four.
    Intermediate,
    /// A solid high-school player.
    Advanced,
    /// One who would win a place in an all-state band.
    AllState,
}

impl Level {
    /// All levels, weakest first.
    pub const ALL: [Self; 5] = [
        Self::FirstYear,
        Self::SecondYear,
        Self::Intermediate,
        Self::Advanced,
        Self::AllState,
    ];

    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::FirstYear => "first_year",
            Self::SecondYear => "second_year",
            Self::Intermediate => "intermediate",
            Self::Advanced => "advanced",
            Self::AllState => "all_state",
        }
    }

    /// 0 for first year to 4 for all-state.
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.word().replace('_', "-"))
    }
}
