//! Intervals in semitones, and transposition between written and sounding pitch.

use super::pitch::{Sounding, Written};

/// A signed interval in semitones, up if positive.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Interval(pub i16);

impl Interval {
    /// An octave up.
    pub const OCTAVE: Self = Self(12);

    /// Whole octaves, up if positive.
    #[must_use]
    pub const fn octaves(count: i16) -> Self {
        Self(12 * count)
    }

    /// The size without direction, in semitones.
    #[must_use]
    pub const fn size(self) -> u16 {
        self.0.unsigned_abs()
    }

    /// The opposite interval.
    #[must_use]
    pub const fn inverse(self) -> Self {
        Self(-self.0)
    }
}

/// What an instrument does to what is read: sounding minus written, in semitones.
///
/// ```
/// use bandwright::music::{Sounding, Transposition, Written};
/// let b_flat = Transposition::semitones(-2);
/// assert_eq!(b_flat.sounding(Written(60)), Sounding::new(58));
/// assert_eq!(b_flat.written(Sounding::new(58).unwrap()), Written(60));
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Transposition(Interval);

impl Transposition {
    /// Sounding minus written, in semitones (B-flat trumpet: -2).
    #[must_use]
    pub const fn semitones(sounding_minus_written: i16) -> Self {
        Self(Interval(sounding_minus_written))
    }

    /// Sounding minus written.
    #[must_use]
    pub const fn interval(self) -> Interval {
        self.0
    }

    /// What a written pitch sounds as; `None` outside MIDI.
    #[must_use]
    pub fn sounding(self, written: Written) -> Option<Sounding> {
        u8::try_from(written.up(self.0).0)
            .ok()
            .and_then(Sounding::new)
    }

    /// What must be written for a sounding pitch.
    #[must_use]
    pub fn written(self, sounding: Sounding) -> Written {
        Written(i16::from(sounding.midi())).up(self.0.inverse())
    }
}
