//! The names of a draft's notes, at concert pitch and as the player reads them.

use super::stave::StaveNote;
use crate::music::{
    Chord, ChordTone, KeySignature, Letter, PartNames, PitchClass, Quality, Sounding, SpelledName,
    Tick, Transposition,
};
use crate::sketch::Reading;

/// Letters, C first.
const LETTERS: [Letter; 7] = [
    Letter::C,
    Letter::D,
    Letter::E,
    Letter::F,
    Letter::G,
    Letter::A,
    Letter::B,
];

/// The name of a pitch at a place of a sketch: that of the sketch's note of its class which sounds
/// there (the same pitch before others), else what it is in the chord, else what it is in the key.
#[must_use]
pub fn concert_name(reading: &Reading, at: Tick, pitch: Sounding) -> SpelledName {
    let class = pitch.class();
    if let Some(name) = sounding_name(reading, at, pitch) {
        return name;
    }
    let key = reading.key(at);
    let signature = key.map_or(KeySignature::C_MAJOR, |k| k.signature);
    let chord = reading.chord(at).map(|span| span.chord);
    let in_chord = chord.and_then(|c| chord_name(c, class, signature));
    in_chord.unwrap_or_else(|| SpelledName::in_key(class, signature))
}

fn sounding_name(reading: &Reading, at: Tick, pitch: Sounding) -> Option<SpelledName> {
    let slice = reading.slice(at)?;
    let named = slice.sounding.iter().filter_map(|i| {
        let note = reading.notes.get(*i)?;
        let same = note.pitch.class() == pitch.class();
        same.then_some((note.pitch != pitch, reading.names.get(*i)?))
    });
    named.min_by_key(|(other, _)| *other).map(|(_, name)| *name)
}

/// The name of a chord's tone by the letters that its intervals count from the root (a third is two
/// letters up); the root is named in the key. `None` for other tones and names beyond double
/// sharps and flats.
#[must_use]
pub fn chord_name(chord: Chord, class: PitchClass, key: KeySignature) -> Option<SpelledName> {
    let root = SpelledName::in_key(chord.root, key);
    let up = match chord.tone(class)? {
        ChordTone::Root => 0,
        ChordTone::Ninth => 1,
        ChordTone::Third => 2,
        ChordTone::Eleventh => 3,
        ChordTone::Fifth => 4,
        ChordTone::Sixth | ChordTone::Thirteenth => 5,
        ChordTone::Seventh => 6,
        // The suspended second is two semitones up, the fourth five.
        ChordTone::Suspended if chord.root.up_to(class) <= 2 => 1,
        ChordTone::Suspended => 3,
    };
    if chord.quality == Quality::Single {
        return Some(root);
    }
    let letter = LETTERS[(letter_index(root.letter) + up) % 7];
    let natural = PitchClass::of(i32::from(letter.semitones()));
    let off = natural.up_to(class) as i8;
    let alteration = if off > 6 { off - 12 } else { off };
    (alteration.abs() <= 2).then_some(SpelledName { letter, alteration })
}

fn letter_index(letter: Letter) -> usize {
    LETTERS
        .iter()
        .position(|l| *l == letter)
        .unwrap_or_default()
}

/// How a part's notes are written: for the player, or at concert pitch.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Writing {
    transposition: Transposition,
    names: Option<PartNames>,
}

impl Writing {
    /// For an instrument where the music stands in a concert key; `None`: at concert pitch.
    #[must_use]
    pub fn of(transposition: Option<Transposition>, concert: KeySignature) -> Self {
        Self {
            transposition: transposition.unwrap_or_default(),
            names: transposition.map(|t| PartNames::of(t, concert)),
        }
    }

    /// The written signature.
    #[must_use]
    pub fn signature(self, concert: KeySignature) -> KeySignature {
        self.names.map_or(concert, |n| n.signature(concert))
    }

    /// The written name and place of a note with its concert name. A name that does not fit the
    /// pitch gives way to one that does.
    ///
    /// ```
    /// use bandwright::music::{KeySignature, Sounding, SpelledName, Transposition};
    /// use bandwright::notation::Writing;
    /// // A tenor saxophone reads a ninth higher: concert B flat 3 is written C5.
    /// let tenor = Writing::of(Some(Transposition::semitones(-14)), KeySignature::C_MAJOR);
    /// let b_flat = SpelledName::from_fifths(-2);
    /// let (name, place) = tenor.note(b_flat, Sounding::new(58).unwrap());
    /// assert_eq!((name.to_string().as_str(), place.step), ("C", 35));
    /// ```
    #[must_use]
    pub fn note(self, concert: SpelledName, pitch: Sounding) -> (SpelledName, StaveNote) {
        let fitting = if concert.class() == pitch.class() {
            concert
        } else {
            SpelledName::in_key(pitch.class(), KeySignature::C_MAJOR)
        };
        let name = self.names.map_or(fitting, |n| n.written(fitting));
        let written = self.transposition.written(pitch).0;
        let octave = (written - i16::from(name.alteration)).div_euclid(12) - 1;
        let step = 7 * octave + letter_index(name.letter) as i16;
        let place = StaveNote {
            step,
            accidental: name.alteration,
        };
        (name, place)
    }
}

/// How an instrument's part is transposed in a score: as the player reads it, or at concert pitch,
/// where instruments that sound whole octaves away from their part still do so (common practice,
/// no source: a score in C keeps the piccolo's and the glockenspiel's octaves).
#[must_use]
pub fn shown_transposition(own: Transposition, concert_pitch: bool) -> Option<Transposition> {
    let octaves = own.interval().0 % 12 == 0;
    (!concert_pitch || octaves).then_some(own)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Mode;

    #[test]
    fn names_are_those_of_the_part() {
        let e_flat = KeySignature::new(-3, Mode::Major).unwrap();
        let alto = Writing::of(Some(Transposition::semitones(-9)), e_flat);
        assert_eq!(alto.signature(e_flat).fifths(), 0);
        let pitch: Sounding = Sounding::new(63).unwrap();
        let (name, place) = alto.note(SpelledName::from_fifths(-3), pitch);
        assert_eq!((name.to_string().as_str(), place.step), ("C", 35));
        // A glockenspiel reads two octaves lower.
        let bells = Writing::of(Some(Transposition::semitones(24)), e_flat);
        let high = Sounding::new(87).unwrap();
        assert_eq!(bells.note(SpelledName::from_fifths(-3), high).1.step, 30);
        // B sharp 3 is middle C.
        let plain = Writing::of(None, e_flat);
        let b_sharp = SpelledName::from_fifths(12);
        assert_eq!(plain.note(b_sharp, Sounding::new(60).unwrap()).1.step, 27);
    }

    #[test]
    fn chord_tones_are_named_from_the_root() {
        let c_minor = KeySignature::new(-3, Mode::Minor).unwrap();
        let chord = Chord {
            root: PitchClass::of(7),
            quality: Quality::Dominant7Flat9,
            bass: PitchClass::of(7),
        };
        let name = |pc| chord_name(chord, PitchClass::of(pc), c_minor).map(|n| n.to_string());
        assert_eq!(name(11).as_deref(), Some("B"));
        assert_eq!(name(8).as_deref(), Some("Ab"));
        assert_eq!(name(5).as_deref(), Some("F"));
        assert_eq!(name(6), None);
    }
}
