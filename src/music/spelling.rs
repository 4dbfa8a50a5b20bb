//! Names of pitches: letter and accidental, on the line of fifths.

use super::key::{KeySignature, Mode};
use super::pitch::{PitchClass, Sounding};
use std::fmt;

/// A letter name.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[allow(missing_docs, reason = "the letters are their own description")]
pub enum Letter {
    C,
    D,
    E,
    F,
    G,
    A,
    B,
}

impl Letter {
    const FIFTHS_ORDER: [Self; 7] = [
        Self::F,
        Self::C,
        Self::G,
        Self::D,
        Self::A,
        Self::E,
        Self::B,
    ];

    /// Semitones above C of the natural note.
    #[must_use]
    pub const fn semitones(self) -> u8 {
        match self {
            Self::C => 0,
            Self::D => 2,
            Self::E => 4,
            Self::F => 5,
            Self::G => 7,
            Self::A => 9,
            Self::B => 11,
        }
    }
}

/// A spelled pitch class: letter and alteration (sharps if positive).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct SpelledName {
    /// The letter.
    pub letter: Letter,
    /// Semitones above the natural note: 1 sharp, -1 flat, 2 double sharp.
    pub alteration: i8,
}

impl SpelledName {
    /// The name at a place on the line of fifths: C = 0, G = 1, F = -1, B flat = -2.
    #[must_use]
    pub fn from_fifths(place: i32) -> Self {
        let from_f = place + 1;
        Self {
            letter: Letter::FIFTHS_ORDER[from_f.rem_euclid(7) as usize],
            alteration: from_f.div_euclid(7) as i8,
        }
    }

    /// The name at a place on the line of fifths; beyond double flats and sharps the next name of the same
    /// key on the keyboard that needs no more.
    ///
    /// ```
    /// use bandwright::music::SpelledName;
    /// assert_eq!(SpelledName::writable(20).to_string(), "G#"); // F with three sharps
    /// assert_eq!(SpelledName::writable(-16).to_string(), "Ab"); // B with three flats
    /// ```
    #[must_use]
    pub fn writable(place: i32) -> Self {
        const F_DOUBLE_FLAT: i32 = -15;
        const B_DOUBLE_SHARP: i32 = 19;
        let place = match place {
            ..F_DOUBLE_FLAT => place + (F_DOUBLE_FLAT - place + 11) / 12 * 12,
            _ if place > B_DOUBLE_SHARP => place - (place - B_DOUBLE_SHARP + 11) / 12 * 12,
            _ => place,
        };
        Self::from_fifths(place)
    }

    /// The place of the name on the line of fifths: C = 0, G = 1, F = -1, B flat = -2.
    ///
    /// ```
    /// use bandwright::music::SpelledName;
    /// let c_sharp = SpelledName::from_fifths(7);
    /// assert_eq!((c_sharp.to_string().as_str(), c_sharp.fifths()), ("C#", 7));
    /// ```
    #[must_use]
    pub fn fifths(self) -> i32 {
        let letter = match self.letter {
            Letter::F => -1,
            Letter::C => 0,
            Letter::G => 1,
            Letter::D => 2,
            Letter::A => 3,
            Letter::E => 4,
            Letter::B => 5,
        };
        letter + 7 * i32::from(self.alteration)
    }

    /// The pitch class that the name stands for.
    #[must_use]
    pub const fn class(self) -> PitchClass {
        PitchClass::of(self.letter.semitones() as i32 + self.alteration as i32)
    }

    /// The octave number that goes with this name for a sounding pitch (B sharp 3 is middle C).
    #[must_use]
    pub fn octave(self, pitch: Sounding) -> i32 {
        (i32::from(pitch.midi()) - i32::from(self.alteration)).div_euclid(12) - 1
    }

    /// The name with its octave number, as `F#4`.
    #[must_use]
    pub fn with_octave(self, pitch: Sounding) -> String {
        format!("{self}{}", self.octave(pitch))
    }

    /// The name of a pitch class in a key: the one nearest on the line of fifths to the middle
    /// of the key's scale, so that scale tones take the signature's accidentals and chromatic
    /// tones lean to the usual side (after Temperley, The Cognition of Basic Musical Structures,
    /// 2001, from memory: spellings stay close together on the line of fifths).
    ///
    /// ```
    /// use bandwright::music::{KeySignature, Mode, PitchClass, SpelledName};
    /// let d_minor = KeySignature::new(-1, Mode::Minor).unwrap();
    /// assert_eq!(SpelledName::in_key(PitchClass::of(1), d_minor).to_string(), "C#");
    /// assert_eq!(SpelledName::in_key(PitchClass::of(10), d_minor).to_string(), "Bb");
    /// ```
    #[must_use]
    pub fn in_key(class: PitchClass, key: KeySignature) -> Self {
        // Major: the window runs from the flat seventh's fifth below to the sharp fourth; minor
        // keys want their leading tone, two places further up.
        let centre = i32::from(key.fifths()) + if key.mode() == Mode::Minor { 4 } else { 2 };
        let natural = i32::from(class.number()) * 7; // one of its places on the line
        let steps = (f64::from(centre - natural) / 12.0).round() as i32;
        Self::from_fifths(natural + 12 * steps)
    }
}

impl fmt::Display for SpelledName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.letter)?;
        let sign = if self.alteration > 0 { "#" } else { "b" };
        (0..self.alteration.unsigned_abs()).try_for_each(|_| f.write_str(sign))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_take_their_signature() {
        let e_flat = KeySignature::new(-3, Mode::Major).unwrap();
        let names: Vec<String> = [3, 5, 7, 8, 10, 0, 2]
            .map(|pc| SpelledName::in_key(PitchClass::of(pc), e_flat).to_string())
            .to_vec();
        assert_eq!(names.join(" "), "Eb F G Ab Bb C D");
    }

    #[test]
    fn octave_follows_the_letter() {
        let b_sharp = SpelledName {
            letter: Letter::B,
            alteration: 1,
        };
        assert_eq!(b_sharp.octave(Sounding::new(60).unwrap()), 3);
        let c_flat = SpelledName {
            letter: Letter::C,
            alteration: -1,
        };
        assert_eq!(c_flat.octave(Sounding::new(59).unwrap()), 4);
    }
}
