//! Which accidentals are shown. All of it is common practice, no source: an accidental holds for
//! its line or space until the barline; a note tied over the barline needs none.

use super::stave::StaveNote;
use crate::music::KeySignature;
use std::collections::BTreeMap;

/// A sign before a note.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[allow(missing_docs, reason = "the signs are their own description")]
pub enum Accidental {
    DoubleFlat,
    Flat,
    Natural,
    Sharp,
    DoubleSharp,
}

impl Accidental {
    /// The sign of an alteration in semitones.
    #[must_use]
    pub const fn of(alteration: i8) -> Self {
        match alteration {
            ..=-2 => Self::DoubleFlat,
            -1 => Self::Flat,
            0 => Self::Natural,
            1 => Self::Sharp,
            2.. => Self::DoubleSharp,
        }
    }

    /// Its word in the MusicXML standard (`accidental-value`).
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::DoubleFlat => "flat-flat",
            Self::Flat => "flat",
            Self::Natural => "natural",
            Self::Sharp => "sharp",
            Self::DoubleSharp => "double-sharp",
        }
    }
}

/// The letters that a key signature alters, in the order in which they are written, C = 0: F C G D A E B
/// for sharps, the other way round for flats.
const SHARPS: [i16; 7] = [3, 0, 4, 1, 5, 2, 6];

/// The letters of a signature in their order, C = 0, and what it does to them.
pub(super) fn signature_letters(key: KeySignature) -> (Vec<i16>, i8) {
    let count = usize::from(key.fifths().unsigned_abs());
    if key.fifths() >= 0 {
        (SHARPS.into_iter().take(count).collect(), 1)
    } else {
        (SHARPS.into_iter().rev().take(count).collect(), -1)
    }
}

/// How a note comes from what was before it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Comes {
    /// It is struck.
    Struck,
    /// It is tied to a note of the same bar.
    TiedInside,
    /// It is tied to a note of the bar before.
    TiedOver,
}

/// What holds in a bar, step by step.
#[derive(Clone, Debug)]
pub(super) struct Signs {
    signature: BTreeMap<i16, i8>,
    /// By step.
    shown: BTreeMap<i16, i8>,
    /// What was tied over the barline: does not hold for notes after it, but asks for a reminder.
    tied_over: BTreeMap<i16, i8>,
}

impl Signs {
    /// At the start of a bar under a signature; none for parts without one.
    pub(super) fn new(key: Option<KeySignature>) -> Self {
        let letters = key.map(signature_letters).unwrap_or_default();
        Self {
            signature: letters.0.into_iter().map(|l| (l, letters.1)).collect(),
            shown: BTreeMap::new(),
            tied_over: BTreeMap::new(),
        }
    }

    /// The sign that the next note needs.
    pub(super) fn next(&mut self, place: StaveNote, comes: Comes) -> Option<Accidental> {
        let letter = place.step.rem_euclid(7);
        let signed = self.signature.get(&letter).copied().unwrap_or_default();
        match comes {
            Comes::TiedInside => return None,
            Comes::TiedOver => {
                if place.accidental != signed {
                    self.tied_over.insert(place.step, place.accidental);
                }
                return None;
            }
            Comes::Struck => {}
        }
        let holds = self.shown.get(&place.step).copied().unwrap_or(signed);
        let reminder = self.tied_over.remove(&place.step);
        let doubtful = reminder.is_some_and(|tied| tied != place.accidental);
        if holds == place.accidental && !doubtful {
            return None;
        }
        self.shown.insert(place.step, place.accidental);
        Some(Accidental::of(place.accidental))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Mode;

    const fn note(step: i16, accidental: i8) -> StaveNote {
        StaveNote { step, accidental }
    }

    #[test]
    fn signs_hold_until_the_barline_in_their_octave() {
        let g_major = KeySignature::new(1, Mode::Major);
        let mut signs = Signs::new(g_major);
        let mut next = |step, alteration| signs.next(note(step, alteration), Comes::Struck);
        assert_eq!(next(31, 1), None); // F sharp 4, in the signature
        assert_eq!(next(31, 0), Some(Accidental::Natural));
        assert_eq!(next(31, 0), None);
        assert_eq!(next(38, 1), None); // F sharp 5: the natural was for the octave below
        assert_eq!(next(31, 1), Some(Accidental::Sharp));
        assert_eq!(next(28, -1), Some(Accidental::Flat));
    }

    #[test]
    fn ties_need_no_sign() {
        let mut signs = Signs::new(Some(KeySignature::C_MAJOR));
        assert_eq!(signs.next(note(31, 1), Comes::TiedOver), None);
        assert_eq!(signs.next(note(31, 1), Comes::TiedInside), None);
        let mut natural = signs.clone();
        assert_eq!(
            natural.next(note(31, 0), Comes::Struck),
            Some(Accidental::Natural)
        );
        assert_eq!(
            signs.next(note(31, 1), Comes::Struck),
            Some(Accidental::Sharp)
        );
    }

    #[test]
    fn signatures_keep_their_order() {
        let letters = |fifths| signature_letters(KeySignature::new(fifths, Mode::Major).unwrap());
        assert_eq!(letters(3), (vec![3, 0, 4], 1));
        assert_eq!(letters(-3), (vec![6, 2, 5], -1));
    }
}
