//! Dynamics, from pianissimo to fortissimo and one step beyond.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// A dynamic as written in a part, softest first.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, Default,
)]
#[serde(rename_all = "snake_case")]
pub enum Dynamic {
    /// Pianissimo.
    Pp,
    /// Piano.
    P,
    /// Mezzo piano.
    Mp,
    /// Mezzo forte.
    #[default]
    Mf,
    /// Forte.
    F,
    /// Fortissimo.
    Ff,
    /// Louder than fortissimo.
    Fff,
}

/// A word that is no dynamic.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("`{0}` is no dynamic; write pp, p, mp, mf, f, ff or fff")]
pub struct DynamicError(pub String);

impl Dynamic {
    /// All dynamics, softest first.
    pub const ALL: [Self; 7] = [
        Self::Pp,
        Self::P,
        Self::Mp,
        Self::Mf,
        Self::F,
        Self::Ff,
        Self::Fff,
    ];

    /// Steps from pianissimo: 0 to 6.
    #[must_use]
    pub const fn steps(self) -> usize {
        self as usize
    }

    /// As a part shows it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pp => "pp",
            Self::P => "p",
            Self::Mp => "mp",
            Self::Mf => "mf",
            Self::F => "f",
            Self::Ff => "ff",
            Self::Fff => "fff",
        }
    }

    /// Its usual velocity: 33 for `pp`, and 16 more for each step; 127, the most, for `fff`.
    ///
    /// ```
    /// use bandwright::music::Dynamic;
    /// assert!(Dynamic::ALL.iter().all(|d| Dynamic::of_velocity(d.velocity()) == *d));
    /// ```
    #[must_use]
    pub const fn velocity(self) -> u8 {
        match self {
            Self::Pp => 33,
            Self::P => 49,
            Self::Mp => 65,
            Self::Mf => 81,
            Self::F => 97,
            Self::Ff => 113,
            Self::Fff => 127,
        }
    }

    /// The dynamic whose usual velocity is nearest: 33 for `pp`, and 16 more for each step
    /// (common practice, no source); above 120 it is `fff`.
    ///
    /// ```
    /// use bandwright::music::Dynamic;
    /// assert_eq!(Dynamic::of_velocity(80), Dynamic::Mf);
    /// assert_eq!(Dynamic::of_velocity(1), Dynamic::Pp);
    /// assert_eq!(Dynamic::of_velocity(127), Dynamic::Fff);
    /// ```
    #[must_use]
    pub const fn of_velocity(velocity: u8) -> Self {
        match velocity {
            0..=40 => Self::Pp,
            41..=56 => Self::P,
            57..=72 => Self::Mp,
            73..=88 => Self::Mf,
            89..=104 => Self::F,
            105..=120 => Self::Ff,
            _ => Self::Fff,
        }
    }
}

impl fmt::Display for Dynamic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl FromStr for Dynamic {
    type Err = DynamicError;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        let found = Self::ALL.into_iter().find(|d| d.word() == word.trim());
        found.ok_or_else(|| DynamicError(word.to_owned()))
    }
}
