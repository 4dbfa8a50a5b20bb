//! What a part does in a passage.

use std::fmt;

/// The role of a part in a passage, or of a note in a draft.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Role {
    /// Carries the tune.
    Melody,
    /// Carries the second tune.
    Counterline,
    /// Fills the chord.
    Harmony,
    /// Carries the bass.
    Bass,
    /// Plays the sketch's pattern.
    Figure,
    /// Rests.
    Rest,
}

impl Role {
    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Melody => "melody",
            Self::Counterline => "counterline",
            Self::Harmony => "harmony",
            Self::Bass => "bass",
            Self::Figure => "figure",
            Self::Rest => "rest",
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}
