//! Names as a transposing instrument's player reads them.

use super::interval::Transposition;
use super::key::KeySignature;
use super::spelling::SpelledName;

/// How names move from concert pitch into a part: by so many places on the line of fifths.
///
/// A B flat clarinet's part stands two places sharper: concert B flat is written C.
///
/// ```
/// use bandwright::music::{KeySignature, Mode, PartNames, SpelledName, Transposition};
/// let clarinet = Transposition::semitones(-2);
/// let e_flat = KeySignature::new(-3, Mode::Major).unwrap();
/// let names = PartNames::of(clarinet, e_flat);
/// assert_eq!(names.signature(e_flat).fifths(), -1);
/// assert_eq!(names.written(SpelledName::from_fifths(-3)).to_string(), "F");
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct PartNames {
    places: i32,
}

/// As far as names go: from F double flat to B double sharp.
const PLAINEST: std::ops::RangeInclusive<i32> = -15..=19;

impl PartNames {
    /// The names of a part for an instrument, where the music stands in a concert key.
    ///
    /// Names move by the instrument's own interval (a major second for B flat instruments). Where
    /// that gives the part more than six sharps or flats, they move to the enharmonic key with
    /// fewer: concert B major, five sharps, is D flat on a clarinet, not C sharp (common practice,
    /// no source). Octaves do not matter.
    #[must_use]
    pub fn of(transposition: Transposition, concert: KeySignature) -> Self {
        let up = -i32::from(transposition.interval().0);
        // The twelve intervals' usual names: from the minor second up (-5) to the augmented
        // fourth (6), among them the major second (2), fifth (1) and major sixth (3).
        let own = (7 * up + 5).rem_euclid(12) - 5;
        let signs = |places: i32| (i32::from(concert.fifths()) + places).abs();
        let places = if signs(own) <= 6 {
            own
        } else {
            [own - 12, own + 12]
                .into_iter()
                .fold(own, |best, p| if signs(p) < signs(best) { p } else { best })
        };
        Self { places }
    }

    /// By how many places on the line of fifths names move, sharper if positive.
    #[must_use]
    pub const fn places(self) -> i32 {
        self.places
    }

    /// The written name of a concert name. Names that would need a triple sharp or flat become
    /// the next plainer ones of the same key on the keyboard.
    #[must_use]
    pub fn written(self, concert: SpelledName) -> SpelledName {
        let mut place = concert.fifths() + self.places;
        while place > *PLAINEST.end() {
            place -= 12;
        }
        while place < *PLAINEST.start() {
            place += 12;
        }
        SpelledName::from_fifths(place)
    }

    /// The written key signature of a concert one; the nearest one there is, if the key at hand
    /// is not the one that the part's names were chosen for.
    #[must_use]
    pub fn signature(self, concert: KeySignature) -> KeySignature {
        let fifths = i32::from(concert.fifths()) + self.places;
        let fifths = match fifths {
            ..=-8 => fifths + 12,
            8.. => fifths - 12,
            _ => fifths,
        };
        i8::try_from(fifths)
            .ok()
            .and_then(|f| KeySignature::new(f, concert.mode()))
            .unwrap_or(concert)
    }

    /// Letters from the written name down to the sounding one, within the octave, as notation
    /// files tell a transposition beside its semitones: B flat clarinet -1, horn in F -4.
    #[must_use]
    pub const fn letters(self) -> i32 {
        // Each place on the line of fifths is four letters up.
        -(4 * self.places).rem_euclid(7)
    }
}
