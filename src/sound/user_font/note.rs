//! What is to be known about a SoundFont that is used.

use std::fmt::{Display, Formatter, Result};

/// Something that a SoundFont lacks, and what is done about it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum FontNote {
    /// Another program of the same family plays.
    Instead {
        /// For which tone.
        tone: &'static str,
        /// What plays, as the font calls it.
        plays: String,
    },
    /// The font has nothing of the family: the built-in tone plays.
    BuiltIn {
        /// Which.
        tone: &'static str,
    },
    /// The font has more samples than go into one: the built-in tone plays.
    TooMany {
        /// Which.
        tone: &'static str,
    },
    /// The font has no wood block to count in with: the built-in tick does it.
    BuiltInTick,
    /// Some samples are damaged, or would be beyond what the synthesizer can do.
    LeftOut {
        /// Of which tone.
        tone: &'static str,
        /// How many.
        samples: usize,
    },
    /// Some notes of the range of a tone do not sound.
    Silent {
        /// Of which tone.
        tone: &'static str,
        /// How many of those that were listened to.
        notes: usize,
    },
    /// Its level is so far off that it cannot be put right altogether.
    OffLevel {
        /// Of which tone.
        tone: &'static str,
    },
}

impl Display for FontNote {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        match self {
            Self::Instead { tone, plays } => {
                write!(f, "it has no {tone} of its own; its {plays:?} plays for it")
            }
            Self::BuiltIn { tone } => {
                write!(f, "it has nothing like a {tone}; the built-in one plays")
            }
            Self::TooMany { tone } => write!(
                f,
                "it has more samples than can be held at once; the built-in {tone} plays"
            ),
            Self::BuiltInTick => write!(f, "it has no wood block; the built-in tick counts in"),
            Self::LeftOut { tone, samples } => write!(
                f,
                "{samples} of its samples for the {tone} cannot be played and are left out"
            ),
            Self::Silent { tone, notes } => {
                write!(f, "{notes} of the notes of its {tone} are silent")
            }
            Self::OffLevel { tone } => write!(
                f,
                "its {tone} is too loud or too soft to be brought to its level altogether"
            ),
        }
    }
}
