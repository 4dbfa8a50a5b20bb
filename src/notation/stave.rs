//! The place of a written note on a stave.

use crate::music::Written;

/// A clef, by the line that it names.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Clef {
    /// The G clef on the second line.
    Treble,
    /// The F clef on the fourth line.
    Bass,
    /// The C clef on the fourth line.
    Tenor,
}

impl Clef {
    /// The step of the lowest line.
    #[must_use]
    pub const fn bottom_line(self) -> i16 {
        match self {
            Self::Treble => 30,
            Self::Bass => 18,
            Self::Tenor => 22,
        }
    }

    /// The step of the highest line.
    #[must_use]
    pub const fn top_line(self) -> i16 {
        self.bottom_line() + 8
    }

    /// The step of the line that the clef names: G4, F3 or C4.
    #[must_use]
    pub const fn named_line(self) -> i16 {
        match self {
            Self::Treble => 32,
            Self::Bass => 24,
            Self::Tenor => 28,
        }
    }

    /// The letter of that line.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::Treble => 'G',
            Self::Bass => 'F',
            Self::Tenor => 'C',
        }
    }
}

/// The clefs of an instrument's stave or staves, the upper one first, from the words of the
/// table of instruments: `G2`, `F4 (C4 tenor for high passages)`, `G2+F4 grand staff`. What comes
/// first holds; treble where the words name no known clef.
#[must_use]
pub fn clefs(words: &str) -> Vec<Clef> {
    let first = words
        .split([' ', ','])
        .next()
        .unwrap_or_default()
        .split('+');
    let known = first.filter_map(|code| match code {
        "G2" => Some(Clef::Treble),
        "F4" => Some(Clef::Bass),
        "C4" => Some(Clef::Tenor),
        _ => None,
    });
    let clefs: Vec<Clef> = known.collect();
    if clefs.is_empty() {
        vec![Clef::Treble]
    } else {
        clefs
    }
}

/// Where a note stands.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct StaveNote {
    /// Letter names above C0: C4 is 28, D4 is 29. One more is one place higher on the stave.
    pub step: i16,
    /// 1 sharp, -1 flat, 0 neither.
    pub accidental: i8,
}

impl StaveNote {
    /// The place of a note under the name that tables of instruments use: flats but for C sharp
    /// and F sharp.
    ///
    /// ```
    /// use bandwright::{music::Written, notation::StaveNote};
    /// let b_flat_4 = StaveNote::of(Written(70));
    /// assert_eq!((b_flat_4.step, b_flat_4.accidental), (34, -1));
    /// ```
    #[must_use]
    pub const fn of(note: Written) -> Self {
        const PLACES: [(i16, i8); 12] = [
            (0, 0),
            (0, 1),
            (1, 0),
            (2, -1),
            (2, 0),
            (3, 0),
            (3, 1),
            (4, 0),
            (5, -1),
            (5, 0),
            (6, -1),
            (6, 0),
        ];
        let (letter, accidental) = PLACES[note.0.rem_euclid(12) as usize];
        Self {
            step: 7 * (note.0.div_euclid(12) - 1) + letter,
            accidental,
        }
    }

    /// The steps of the ledger lines that it needs on some staves, from the stave outwards.
    #[must_use]
    pub fn ledger_lines(self, clefs: &[Clef]) -> Vec<i16> {
        let inside = |c: &Clef| c.bottom_line() - 1 <= self.step && self.step <= c.top_line() + 1;
        if clefs.iter().any(inside) {
            return Vec::new();
        }
        let above = clefs.iter().filter(|c| c.top_line() < self.step);
        if let Some(clef) = above.max_by_key(|c| c.top_line()) {
            return (clef.top_line() + 2..=self.step).step_by(2).collect();
        }
        let lowest = clefs.iter().map(|c| c.bottom_line()).min().unwrap_or(30);
        let lines = (self.step..=lowest - 2).rev();
        lines.filter(|s| (lowest - s) % 2 == 0).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_stand_where_musicians_put_them() {
        for (name, step, accidental) in [
            ("C4", 28, 0),
            ("G4", 32, 0),
            ("F3", 24, 0),
            ("C#4", 28, 1),
            ("Eb5", 37, -1),
            ("B3", 27, 0),
            ("A0", 5, 0),
            ("C8", 56, 0),
        ] {
            let note = StaveNote::of(name.parse().unwrap());
            assert_eq!((note.step, note.accidental), (step, accidental), "{name}");
        }
    }

    #[test]
    fn ledger_lines_begin_beside_the_stave() {
        let lines =
            |name: &str, clefs: &[Clef]| StaveNote::of(name.parse().unwrap()).ledger_lines(clefs);
        let treble = &[Clef::Treble];
        assert_eq!(lines("C4", treble), [28]);
        assert!(lines("D4", treble).is_empty());
        assert_eq!(lines("A3", treble), [28, 26]);
        assert_eq!(lines("G3", treble), [28, 26]);
        assert!(lines("G5", treble).is_empty());
        assert_eq!(lines("C6", treble), [40, 42]);
        assert_eq!(lines("D6", treble), [40, 42]);
        assert_eq!(lines("E2", &[Clef::Bass]), [16]);
        assert_eq!(lines("C4", &[Clef::Treble, Clef::Bass]), [28]);
        assert!(lines("B3", &[Clef::Treble, Clef::Bass]).is_empty());
    }

    #[test]
    fn the_first_clef_of_the_words_holds() {
        assert_eq!(clefs("F4 (C4 tenor for high passages)"), [Clef::Bass]);
        assert_eq!(clefs("G2+F4 grand staff"), [Clef::Treble, Clef::Bass]);
        assert_eq!(clefs("G2, or G2+F4 grand staff"), [Clef::Treble]);
        assert_eq!(clefs("what"), [Clef::Treble]);
    }
}
