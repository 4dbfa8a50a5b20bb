//! Why a SoundFont cannot be used.

use thiserror::Error;

/// Why a SoundFont cannot be used, in one sentence.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum FontError {
    /// It is something else.
    #[error("this is no SoundFont; choose a file that ends in .sf2")]
    NoSoundFont,
    /// Its samples are compressed.
    #[error(
        "this SoundFont is compressed (.sf3), which cannot be played; choose one that ends in .sf2"
    )]
    Compressed,
    /// It is not as the specification wants it.
    #[error("the SoundFont is damaged: {0}; fetch it once more, or choose another")]
    Damaged(String),
    /// It is too large to be held in memory.
    #[error("the SoundFont is larger than {most} MB; choose a smaller one", most = super::MOST_BYTES / 1_000_000)]
    TooLarge,
    /// It could be opened, and then no longer read.
    #[error("the SoundFont cannot be read ({0}); is the disk that it is on still there?")]
    Unreadable(String),
    /// It has nothing that can be played.
    #[error("none of the instruments of the SoundFont can be played; choose another")]
    Empty,
    /// The synthesizer wants none of it.
    #[error("the SoundFont cannot be played ({0}); choose another, or use the built-in sounds")]
    Refused(String),
}

impl FontError {
    pub(super) fn damaged(what: impl Into<String>) -> Self {
        Self::Damaged(what.into())
    }
}

impl From<std::io::Error> for FontError {
    fn from(error: std::io::Error) -> Self {
        if error.kind() == std::io::ErrorKind::UnexpectedEof {
            return Self::damaged("it ends early");
        }
        Self::Unreadable(error.to_string())
    }
}
