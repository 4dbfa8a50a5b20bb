//! Keys, key signatures, and finding a key from how long each pitch class sounds.

use super::interval::Interval;
use super::pitch::PitchClass;
use super::spelling::SpelledName;
use std::fmt;

/// Major or minor.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Mode {
    /// Major.
    Major,
    /// Minor.
    Minor,
}

/// A key: tonic and mode.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Key {
    /// The tonic.
    pub tonic: PitchClass,
    /// The mode.
    pub mode: Mode,
}

/// A key signature: sharps if positive, flats if negative, -7 to 7, with its mode.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct KeySignature {
    fifths: i8,
    mode: Mode,
}

impl KeySignature {
    /// No sharps or flats, major.
    pub const C_MAJOR: Self = Self {
        fifths: 0,
        mode: Mode::Major,
    };

    /// `None` beyond seven sharps or flats.
    #[must_use]
    pub const fn new(fifths: i8, mode: Mode) -> Option<Self> {
        if fifths < -7 || fifths > 7 {
            None
        } else {
            Some(Self { fifths, mode })
        }
    }

    /// Sharps if positive, flats if negative.
    #[must_use]
    pub const fn fifths(self) -> i8 {
        self.fifths
    }

    /// The mode.
    #[must_use]
    pub const fn mode(self) -> Mode {
        self.mode
    }

    /// The key that the signature stands for.
    #[must_use]
    pub const fn key(self) -> Key {
        let major = PitchClass::of(7 * self.fifths as i32);
        match self.mode {
            Mode::Major => Key {
                tonic: major,
                mode: Mode::Major,
            },
            Mode::Minor => Key {
                tonic: major.up(-3),
                mode: Mode::Minor,
            },
        }
    }

    /// The name of the tonic as this signature spells it.
    #[must_use]
    pub fn tonic_name(self) -> SpelledName {
        let shift = if self.mode == Mode::Minor { 3 } else { 0 };
        SpelledName::from_fifths(i32::from(self.fifths) + shift)
    }
}

impl fmt::Display for KeySignature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mode = if self.mode == Mode::Major {
            "major"
        } else {
            "minor"
        };
        write!(f, "{} {mode}", self.tonic_name())
    }
}

impl Key {
    /// The signature with the fewest sharps or flats; six flats rather than six sharps, as wind
    /// bands write it (common practice, no source).
    #[must_use]
    pub fn signature(self) -> KeySignature {
        let major = match self.mode {
            Mode::Major => self.tonic,
            Mode::Minor => self.tonic.up(3),
        };
        let sharps = (i32::from(major.number()) * 7).rem_euclid(12);
        let fifths = if sharps >= 6 { sharps - 12 } else { sharps };
        KeySignature {
            fifths: fifths as i8,
            mode: self.mode,
        }
    }

    /// The key moved by an interval.
    #[must_use]
    pub fn up(self, by: Interval) -> Self {
        Self {
            tonic: self.tonic.up(i32::from(by.0)),
            ..self
        }
    }

    /// All 24 keys, C major first, majors before minors.
    pub fn all() -> impl Iterator<Item = Self> {
        [Mode::Major, Mode::Minor]
            .into_iter()
            .flat_map(|mode| PitchClass::all().map(move |tonic| Self { tonic, mode }))
    }

    /// Whether the natural scale of the key (for minor also the raised sixth and seventh) has a
    /// pitch class.
    #[must_use]
    pub fn has(self, class: PitchClass) -> bool {
        let degree = self.tonic.up_to(class);
        match self.mode {
            Mode::Major => matches!(degree, 0 | 2 | 4 | 5 | 7 | 9 | 11),
            Mode::Minor => matches!(degree, 0 | 2 | 3 | 5 | 7 | 8 | 9 | 10 | 11),
        }
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.signature().fmt(f)
    }
}

/// Tone profiles of a major and a minor key: index = semitones above the tonic.
#[derive(Clone, Copy, Debug)]
pub struct KeyProfile {
    /// Major.
    pub major: [f64; 12],
    /// Minor.
    pub minor: [f64; 12],
}

/// Krumhansl & Kessler 1982: probe-tone ratings (values as in several public code bases; sums
/// 41.79 and 44.51).
pub const KRUMHANSL_KESSLER: KeyProfile = KeyProfile {
    major: [
        6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88,
    ],
    minor: [
        6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17,
    ],
};

/// Temperley 1999 (sums 38.5 and 38.5).
pub const TEMPERLEY: KeyProfile = KeyProfile {
    major: [5.0, 2.0, 3.5, 2.0, 4.5, 4.0, 2.0, 4.5, 2.0, 3.5, 1.5, 4.0],
    minor: [5.0, 2.0, 3.5, 4.5, 2.0, 4.0, 2.0, 4.5, 3.5, 2.0, 1.5, 4.0],
};

/// Aarden 2003, Essen folk songs (sums 100 and 100).
pub const AARDEN_ESSEN: KeyProfile = KeyProfile {
    major: [
        17.7661, 0.145624, 14.9265, 0.160186, 19.8049, 11.3587, 0.291248, 22.062, 0.145624,
        8.15494, 0.232998, 4.95122,
    ],
    minor: [
        18.2648, 0.737619, 14.0499, 16.8599, 0.702494, 14.4362, 0.702494, 18.6161, 4.56621,
        1.93186, 7.37619, 1.75623,
    ],
};

/// Albrecht & Shanahan 2013, "The Use of Large Corpora to Train a New Type of Key-Finding
/// Algorithm", Music Perception 31(1) (values as in several public code bases; sums 1 and
/// 0.998).
pub const ALBRECHT_SHANAHAN: KeyProfile = KeyProfile {
    major: [
        0.238, 0.006, 0.111, 0.006, 0.137, 0.094, 0.016, 0.214, 0.009, 0.080, 0.008, 0.081,
    ],
    minor: [
        0.220, 0.006, 0.104, 0.123, 0.019, 0.103, 0.012, 0.214, 0.062, 0.022, 0.061, 0.052,
    ],
};

/// How well a key fits: Pearson correlation of the durations of the twelve pitch classes (C
/// first) with the key's profile (Krumhansl & Schmuckler, in Krumhansl 1990). Zero where all
/// durations are equal.
///
/// ```
/// use bandwright::music::key::{key_fit, KRUMHANSL_KESSLER};
/// use bandwright::music::{Key, Mode, PitchClass};
/// // "Twinkle", phrases 1-2, in quarters: C4 D2 E2 F2 G4 A2.
/// let twinkle = [4.0, 0.0, 2.0, 0.0, 2.0, 2.0, 0.0, 4.0, 0.0, 2.0, 0.0, 0.0];
/// let c_major = Key { tonic: PitchClass::C, mode: Mode::Major };
/// assert!((key_fit(&twinkle, c_major, &KRUMHANSL_KESSLER) - 0.9586).abs() < 5e-5);
/// ```
#[must_use]
pub fn key_fit(durations: &[f64; 12], key: Key, profile: &KeyProfile) -> f64 {
    let values = if key.mode == Mode::Major {
        &profile.major
    } else {
        &profile.minor
    };
    let tonic = usize::from(key.tonic.number());
    let rotated: [f64; 12] = std::array::from_fn(|pc| values[(pc + 12 - tonic) % 12]);
    correlation(durations, &rotated)
}

fn correlation(a: &[f64; 12], b: &[f64; 12]) -> f64 {
    let mean = |v: &[f64; 12]| v.iter().sum::<f64>() / 12.0;
    let (ma, mb) = (mean(a), mean(b));
    let product = |x: &[f64; 12], mx: f64, y: &[f64; 12], my: f64| {
        x.iter()
            .zip(y)
            .map(|(p, q)| (p - mx) * (q - my))
            .sum::<f64>()
    };
    let spread = (product(a, ma, a, ma) * product(b, mb, b, mb)).sqrt();
    if spread > 0.0 {
        product(a, ma, b, mb) / spread
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signatures_name_their_keys() {
        let name = |fifths, mode| KeySignature::new(fifths, mode).unwrap().to_string();
        assert_eq!(name(-3, Mode::Major), "Eb major");
        assert_eq!(name(-3, Mode::Minor), "C minor");
        assert_eq!(name(6, Mode::Minor), "D# minor");
        assert_eq!(name(-7, Mode::Major), "Cb major");
        assert!(KeySignature::new(8, Mode::Major).is_none());
    }

    #[test]
    fn every_key_comes_back_from_its_signature() {
        for key in Key::all() {
            assert_eq!(key.signature().key(), key);
        }
    }
}
