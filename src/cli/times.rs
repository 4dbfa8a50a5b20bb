//! Which times of a sketch are gone by, as words of the command line.

use crate::sketch::Times;
use clap::ValueEnum;

/// The words of `--times`.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, ValueEnum)]
pub enum TimesWord {
    /// Written times where the sketch was played in; step-entered sketches stay as they are
    #[default]
    Auto,
    /// Written times, also where the sketch looks step-entered
    Written,
    /// The times of the file, as they were played
    Played,
}

impl From<TimesWord> for Times {
    fn from(word: TimesWord) -> Self {
        match word {
            TimesWord::Auto => Self::Auto,
            TimesWord::Written => Self::Written,
            TimesWord::Played => Self::Played,
        }
    }
}
