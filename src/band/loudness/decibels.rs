//! Levels and their sums.

use std::fmt;
use std::ops::{Add, Sub};

/// A level of sound power, or a difference of two, in decibels. Silence is minus infinity.
#[derive(Clone, Copy, PartialEq, PartialOrd, Debug)]
pub struct Decibels(pub f64);

impl Decibels {
    /// No sound.
    pub const SILENCE: Self = Self(f64::NEG_INFINITY);

    /// The power, 1 at 0 dB.
    #[must_use]
    pub fn power(self) -> f64 {
        10.0_f64.powf(self.0 / 10.0)
    }

    /// The level of a power.
    #[must_use]
    pub fn of_power(power: f64) -> Self {
        Self(10.0 * power.log10())
    }

    /// What so many equal players make together: 10 log n more.
    #[must_use]
    pub fn times(self, players: u16) -> Self {
        Self(self.0 + 10.0 * f64::from(players).log10())
    }

    /// What several make together: their powers add.
    #[must_use]
    pub fn together(levels: impl IntoIterator<Item = Self>) -> Self {
        Self::of_power(levels.into_iter().map(Self::power).sum())
    }

    /// By how much this stands above another: 0 where both are silent.
    #[must_use]
    pub fn above(self, other: Self) -> Self {
        if self.0 == other.0 {
            return Self(0.0);
        }
        self - other
    }
}

impl Add for Decibels {
    type Output = Self;
    fn add(self, more: Self) -> Self {
        Self(self.0 + more.0)
    }
}

impl Sub for Decibels {
    type Output = Self;
    fn sub(self, less: Self) -> Self {
        Self(self.0 - less.0)
    }
}

impl fmt::Display for Decibels {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:+.1} dB", self.0)
    }
}
