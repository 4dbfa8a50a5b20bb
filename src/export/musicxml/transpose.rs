//! What a player's instrument does to what is read, as a notation file tells it.

use crate::music::{KeySignature, PartNames, Transposition};

/// From the written note to the sounding one: letters and semitones within an octave, and octaves
/// beyond; all down where negative.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) struct Transpose {
    pub(super) diatonic: i32,
    pub(super) chromatic: i32,
    pub(super) octaves: i32,
}

impl Transpose {
    /// For an instrument where the music stands in a concert key: the part may stand in the enharmonic
    /// key with fewer signs, and then its letters move otherwise.
    pub(super) fn of(transposition: Transposition, concert: KeySignature) -> Self {
        let semitones = i32::from(transposition.interval().0);
        let letters = PartNames::of(transposition, concert).letters();
        // Of the letters that are right but for the octave, those nearest to the semitones: seven letters
        // are twelve semitones.
        let octaves_off = (7 * semitones - 12 * letters).div_euclid(12);
        let near = [octaves_off.div_euclid(7), octaves_off.div_euclid(7) + 1];
        let off = |octave: &i32| (12 * (letters + 7 * octave) - 7 * semitones).abs();
        let octave = near.into_iter().min_by_key(off).unwrap_or_default();
        let all = letters + 7 * octave;
        let octaves = semitones / 12;
        Self {
            diatonic: all - 7 * octaves,
            chromatic: semitones - 12 * octaves,
            octaves,
        }
    }

    /// Whether nothing is moved.
    pub(super) fn is_none(self) -> bool {
        self == Self::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::instruments;
    use crate::music::Mode;

    fn told(semitones: i16, fifths: i8) -> (i32, i32, i32) {
        let key = KeySignature::new(fifths, Mode::Major).unwrap();
        let t = Transpose::of(Transposition::semitones(semitones), key);
        (t.diatonic, t.chromatic, t.octaves)
    }

    #[test]
    fn usual_instruments_move_as_tables_say() {
        for (semitones, expected) in [
            (0, (0, 0, 0)),
            (12, (0, 0, 1)),
            (-2, (-1, -2, 0)),
            (3, (2, 3, 0)),
            (-7, (-4, -7, 0)),
            (-9, (-5, -9, 0)),
            (-14, (-1, -2, -1)),
            (-21, (-5, -9, -1)),
            (24, (0, 0, 2)),
            (-12, (0, 0, -1)),
        ] {
            assert_eq!(told(semitones, 0), expected, "{semitones}");
        }
    }

    #[test]
    fn the_enharmonic_key_moves_other_letters() {
        // Concert B is D flat on a clarinet: a diminished third down.
        assert_eq!(told(-2, 5), (-2, -2, 0));
        assert_eq!(told(-2, 4), (-1, -2, 0));
    }

    #[test]
    fn the_table_of_instruments_says_the_same() {
        let text = include_str!("../../../presets/instruments.toml");
        let table: toml::Table = text.parse().unwrap();
        let rows = table["instrument"].as_array().unwrap();
        assert_eq!(rows.len(), instruments().unwrap().len());
        for row in rows {
            let number = |key: &str| row[key].as_integer().unwrap();
            let found = told(i16::try_from(number("transpose")).unwrap(), 0);
            let wanted = (
                number("diatonic"),
                number("chromatic"),
                number("octave_change"),
            );
            let found = (found.0.into(), found.1.into(), found.2.into());
            assert_eq!(found, wanted, "{}", row["id"]);
        }
    }
}
