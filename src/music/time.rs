//! Positions and lengths in ticks, and lengths in beats.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Sub};

/// A position: ticks from the start of the piece.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Tick(pub u64);

/// A length in ticks.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Ticks(pub u64);

/// A length in quarter-note beats.
#[derive(Clone, Copy, PartialEq, PartialOrd, Debug, Default)]
pub struct Beats(pub f64);

/// Ticks in a quarter note, at least 1.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct TicksPerQuarter(u16);

impl Tick {
    /// The start of the piece.
    pub const ZERO: Self = Self(0);

    /// The length from an earlier position to this one; zero if the other is later.
    #[must_use]
    pub const fn since(self, earlier: Self) -> Ticks {
        Ticks(self.0.saturating_sub(earlier.0))
    }
}

impl Ticks {
    /// No length.
    pub const ZERO: Self = Self(0);

    /// Whether the length is zero.
    #[must_use]
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }
}

impl TicksPerQuarter {
    /// `None` for zero, which would give time no unit.
    #[must_use]
    pub const fn new(ticks: u16) -> Option<Self> {
        if ticks == 0 { None } else { Some(Self(ticks)) }
    }

    /// The nearest number that a MIDI file can hold: 1 to 32767.
    #[must_use]
    pub fn nearest(ticks: f64) -> Self {
        Self(ticks.round().clamp(1.0, 32767.0) as u16)
    }

    /// The number of ticks.
    #[must_use]
    pub const fn get(self) -> u16 {
        self.0
    }

    /// A length in quarter-note beats.
    #[must_use]
    pub fn beats(self, length: Ticks) -> Beats {
        Beats(length.0 as f64 / f64::from(self.0))
    }

    /// The whole number of ticks nearest to a length in beats; zero for negative lengths.
    #[must_use]
    pub fn ticks(self, beats: Beats) -> Ticks {
        Ticks((beats.0 * f64::from(self.0)).round().max(0.0) as u64)
    }
}

impl Add<Ticks> for Tick {
    type Output = Self;
    fn add(self, length: Ticks) -> Self {
        Self(self.0.saturating_add(length.0))
    }
}

impl AddAssign<Ticks> for Tick {
    fn add_assign(&mut self, length: Ticks) {
        *self = *self + length;
    }
}

impl Add for Ticks {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Ticks {
    type Output = Self;
    /// The difference, zero where the other is longer.
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Sum for Ticks {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        lengths.fold(Self::ZERO, Add::add)
    }
}
