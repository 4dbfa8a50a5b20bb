//! Pitch as it sounds and pitch as a player reads it, kept apart by type.

use super::interval::Interval;
use std::fmt;

/// A pitch as it sounds (concert pitch): a MIDI note number, 0 to 127, middle C = 60.
///
/// ```
/// use bandwright::music::{Interval, Sounding};
/// let middle_c = Sounding::new(60).unwrap();
/// assert_eq!(middle_c.up(Interval(12)), Sounding::new(72));
/// assert_eq!(middle_c.to_string(), "C4");
/// assert_eq!(Sounding::new(128), None);
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Sounding(u8);

impl Sounding {
    /// The lowest MIDI note.
    pub const LOWEST: Self = Self(0);
    /// The highest MIDI note.
    pub const HIGHEST: Self = Self(127);

    /// The pitch of a MIDI note number; `None` over 127.
    #[must_use]
    pub const fn new(midi: u8) -> Option<Self> {
        if midi <= 127 { Some(Self(midi)) } else { None }
    }

    /// The nearest pitch to any whole number.
    #[must_use]
    pub fn nearest(midi: i32) -> Self {
        Self(midi.clamp(0, 127) as u8)
    }

    /// The MIDI note number, 0 to 127.
    #[must_use]
    pub const fn midi(self) -> u8 {
        self.0
    }

    /// The pitch class.
    #[must_use]
    pub const fn class(self) -> PitchClass {
        PitchClass(self.0 % 12)
    }

    /// This pitch moved by an interval (down if negative); `None` outside MIDI.
    #[must_use]
    pub fn up(self, by: Interval) -> Option<Self> {
        u8::try_from(i32::from(self.0) + i32::from(by.0))
            .ok()
            .and_then(Self::new)
    }

    /// The signed interval from this pitch to another.
    #[must_use]
    pub fn to(self, other: Self) -> Interval {
        Interval(i16::from(other.0) - i16::from(self.0))
    }

    /// The size of the interval to another pitch, in semitones.
    #[must_use]
    pub fn distance(self, other: Self) -> u8 {
        self.0.abs_diff(other.0)
    }

    /// Frequency in hertz, equal temperament, A4 = 440 Hz (ISO 16).
    #[must_use]
    pub fn hertz(self) -> f64 {
        440.0 * ((f64::from(self.0) - 69.0) / 12.0).exp2()
    }
}

impl fmt::Display for Sounding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_plain_name(i32::from(self.0), f)
    }
}

/// A pitch as the player reads it, on the MIDI scale (written C4 = 60).
///
/// It turns into a [`Sounding`] pitch only through a [`super::Transposition`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Written(pub i16);

impl Written {
    /// This pitch moved by an interval.
    #[must_use]
    pub const fn up(self, by: Interval) -> Self {
        Self(self.0.saturating_add(by.0))
    }
}

impl fmt::Display for Written {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_plain_name(i32::from(self.0), f)
    }
}

/// Scientific pitch name in the spelling instrument tables use: flats but for F sharp.
fn write_plain_name(midi: i32, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    const NAMES: [&str; 12] = [
        "C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B",
    ];
    let name = NAMES[midi.rem_euclid(12) as usize];
    write!(f, "{name}{}", midi.div_euclid(12) - 1)
}

/// A pitch class, 0 = C to 11 = B.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct PitchClass(u8);

impl PitchClass {
    /// C.
    pub const C: Self = Self(0);

    /// The class of any whole number of semitones above C.
    #[must_use]
    pub const fn of(semitones: i32) -> Self {
        Self(semitones.rem_euclid(12) as u8)
    }

    /// 0 to 11.
    #[must_use]
    pub const fn number(self) -> u8 {
        self.0
    }

    /// This class moved up by semitones (down if negative).
    #[must_use]
    pub const fn up(self, semitones: i32) -> Self {
        Self::of(self.0 as i32 + semitones)
    }

    /// Semitones from this class up to another, 0 to 11.
    #[must_use]
    pub const fn up_to(self, other: Self) -> u8 {
        (other.0 + 12 - self.0) % 12
    }

    /// All twelve classes, C first.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..12).map(Self)
    }
}

/// A set of pitch classes.
///
/// ```
/// use bandwright::music::{PitchClass, PitchClassSet};
/// let triad: PitchClassSet = [0, 4, 7].into_iter().map(PitchClass::of).collect();
/// assert_eq!(triad.len(), 3);
/// assert!(triad.contains(PitchClass::of(16)));
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct PitchClassSet(u16);

impl PitchClassSet {
    /// The empty set.
    pub const EMPTY: Self = Self(0);

    /// Whether a class is in the set.
    #[must_use]
    pub const fn contains(self, class: PitchClass) -> bool {
        self.0 & (1 << class.0) != 0
    }

    /// The set with one class more.
    #[must_use]
    pub const fn with(self, class: PitchClass) -> Self {
        Self(self.0 | (1 << class.0))
    }

    /// Classes in either set.
    #[must_use]
    pub const fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Classes in both sets.
    #[must_use]
    pub const fn intersection(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// How many classes the set has.
    #[must_use]
    pub const fn len(self) -> usize {
        self.0.count_ones() as usize
    }

    /// Whether the set has no class.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The classes in order from C.
    pub fn iter(self) -> impl Iterator<Item = PitchClass> {
        PitchClass::all().filter(move |c| self.contains(*c))
    }
}

impl FromIterator<PitchClass> for PitchClassSet {
    fn from_iter<I: IntoIterator<Item = PitchClass>>(classes: I) -> Self {
        classes.into_iter().fold(Self::EMPTY, Self::with)
    }
}
