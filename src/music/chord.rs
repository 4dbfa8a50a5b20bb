//! Chords: root, quality and bass, and which tone of the chord each pitch class is.

use super::key::KeySignature;
use super::pitch::{PitchClass, PitchClassSet};
use super::spelling::SpelledName;

/// What a pitch class is in a chord.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum ChordTone {
    /// The root.
    Root,
    /// Minor or major third.
    Third,
    /// Suspended second or fourth, in the third's place.
    Suspended,
    /// Perfect, diminished or augmented fifth.
    Fifth,
    /// Sixth added to a triad.
    Sixth,
    /// Any seventh.
    Seventh,
    /// Any ninth (or added second).
    Ninth,
    /// Eleventh, perfect or sharp.
    Eleventh,
    /// Thirteenth, major or flat.
    Thirteenth,
}

impl ChordTone {
    /// A stable word for files: `root`, `third` …
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Root => "root",
            Self::Third => "third",
            Self::Suspended => "suspended",
            Self::Fifth => "fifth",
            Self::Sixth => "sixth",
            Self::Seventh => "seventh",
            Self::Ninth => "ninth",
            Self::Eleventh => "eleventh",
            Self::Thirteenth => "thirteenth",
        }
    }
}

/// The kind of a chord.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Quality {
    /// One pitch class only: no chord can be told.
    Single,
    /// Root and fifth, no third.
    Fifth,
    /// Major triad.
    Major,
    /// Minor triad.
    Minor,
    /// Diminished triad.
    Diminished,
    /// Augmented triad.
    Augmented,
    /// Suspended second.
    Sus2,
    /// Suspended fourth.
    Sus4,
    /// Major triad with an added sixth.
    Sixth,
    /// Minor triad with an added major sixth.
    MinorSixth,
    /// Dominant seventh.
    Dominant7,
    /// Major seventh.
    Major7,
    /// Minor seventh.
    Minor7,
    /// Half-diminished seventh.
    HalfDiminished7,
    /// Diminished seventh.
    Diminished7,
    /// Minor triad with a major seventh.
    MinorMajor7,
    /// Augmented triad with a minor seventh.
    Augmented7,
    /// Dominant seventh with a suspended fourth.
    Dominant7Sus4,
    /// Major triad with an added ninth.
    Add9,
    /// Minor triad with an added ninth.
    MinorAdd9,
    /// Dominant ninth.
    Dominant9,
    /// Major ninth.
    Major9,
    /// Minor ninth.
    Minor9,
    /// Dominant seventh with a flat ninth.
    Dominant7Flat9,
    /// Root and minor seventh without a third.
    SeventhNoThird,
    /// Root and diminished fifth without a third.
    DiminishedFifth,
    /// Augmented triad with a major seventh.
    AugmentedMajor7,
    /// Dominant seventh with a flat fifth (the French sixth sounds so).
    Dominant7Flat5,
    /// Dominant seventh with a sharp ninth.
    Dominant7Sharp9,
    /// Dominant seventh with a sharp eleventh.
    Dominant7Sharp11,
    /// Dominant seventh with a sharp fifth and a sharp ninth.
    Altered,
    /// Dominant seventh with a sharp fifth and a flat ninth.
    AlteredFlat9,
    /// Major seventh with a sharp eleventh.
    Major7Sharp11,
    /// Major triad with sixth and ninth.
    SixNinth,
    /// Minor triad with major sixth and ninth.
    MinorSixNinth,
    /// Dominant ninth with a fourth in the third's place.
    Dominant11,
    /// Minor ninth with an eleventh.
    Minor11,
    /// Dominant ninth with a thirteenth.
    Dominant13,
}

use ChordTone as T;

impl Quality {
    /// All kinds, simplest first.
    pub const ALL: [Self; 38] = [
        Self::Single,
        Self::Fifth,
        Self::Major,
        Self::Minor,
        Self::Diminished,
        Self::Augmented,
        Self::Sus2,
        Self::Sus4,
        Self::Sixth,
        Self::MinorSixth,
        Self::Dominant7,
        Self::Major7,
        Self::Minor7,
        Self::HalfDiminished7,
        Self::Diminished7,
        Self::MinorMajor7,
        Self::Augmented7,
        Self::Dominant7Sus4,
        Self::Add9,
        Self::MinorAdd9,
        Self::Dominant9,
        Self::Major9,
        Self::Minor9,
        Self::Dominant7Flat9,
        Self::SeventhNoThird,
        Self::DiminishedFifth,
        Self::AugmentedMajor7,
        Self::Dominant7Flat5,
        Self::Dominant7Sharp9,
        Self::Dominant7Sharp11,
        Self::Altered,
        Self::AlteredFlat9,
        Self::Major7Sharp11,
        Self::SixNinth,
        Self::MinorSixNinth,
        Self::Dominant11,
        Self::Minor11,
        Self::Dominant13,
    ];

    /// The tones: semitones above the root, and what each is.
    #[must_use]
    pub const fn tones(self) -> &'static [(u8, ChordTone)] {
        match self {
            Self::Single => &[(0, T::Root)],
            Self::Fifth => &[(0, T::Root), (7, T::Fifth)],
            Self::Major => &[(0, T::Root), (4, T::Third), (7, T::Fifth)],
            Self::Minor => &[(0, T::Root), (3, T::Third), (7, T::Fifth)],
            Self::Diminished => &[(0, T::Root), (3, T::Third), (6, T::Fifth)],
            Self::Augmented => &[(0, T::Root), (4, T::Third), (8, T::Fifth)],
            Self::Sus2 => &[(0, T::Root), (2, T::Suspended), (7, T::Fifth)],
            Self::Sus4 => &[(0, T::Root), (5, T::Suspended), (7, T::Fifth)],
            Self::Sixth => &[(0, T::Root), (4, T::Third), (7, T::Fifth), (9, T::Sixth)],
            Self::MinorSixth => &[(0, T::Root), (3, T::Third), (7, T::Fifth), (9, T::Sixth)],
            Self::Dominant7 => &[(0, T::Root), (4, T::Third), (7, T::Fifth), (10, T::Seventh)],
            Self::Major7 => &[(0, T::Root), (4, T::Third), (7, T::Fifth), (11, T::Seventh)],
            Self::Minor7 => &[(0, T::Root), (3, T::Third), (7, T::Fifth), (10, T::Seventh)],
            Self::HalfDiminished7 => {
                &[(0, T::Root), (3, T::Third), (6, T::Fifth), (10, T::Seventh)]
            }
            Self::Diminished7 => &[(0, T::Root), (3, T::Third), (6, T::Fifth), (9, T::Seventh)],
            Self::MinorMajor7 => &[(0, T::Root), (3, T::Third), (7, T::Fifth), (11, T::Seventh)],
            Self::Augmented7 => &[(0, T::Root), (4, T::Third), (8, T::Fifth), (10, T::Seventh)],
            Self::Dominant7Sus4 => &[
                (0, T::Root),
                (5, T::Suspended),
                (7, T::Fifth),
                (10, T::Seventh),
            ],
            Self::Add9 => &[(0, T::Root), (4, T::Third), (7, T::Fifth), (2, T::Ninth)],
            Self::MinorAdd9 => &[(0, T::Root), (3, T::Third), (7, T::Fifth), (2, T::Ninth)],
            Self::Dominant9 => &[
                (0, T::Root),
                (4, T::Third),
                (7, T::Fifth),
                (10, T::Seventh),
                (2, T::Ninth),
            ],
            Self::Major9 => &[
                (0, T::Root),
                (4, T::Third),
                (7, T::Fifth),
                (11, T::Seventh),
                (2, T::Ninth),
            ],
            Self::Minor9 => &[
                (0, T::Root),
                (3, T::Third),
                (7, T::Fifth),
                (10, T::Seventh),
                (2, T::Ninth),
            ],
            Self::Dominant7Flat9 => &[
                (0, T::Root),
                (4, T::Third),
                (7, T::Fifth),
                (10, T::Seventh),
                (1, T::Ninth),
            ],
            Self::SeventhNoThird => &[(0, T::Root), (7, T::Fifth), (10, T::Seventh)],
            Self::DiminishedFifth => &[(0, T::Root), (6, T::Fifth)],
            Self::AugmentedMajor7 => {
                &[(0, T::Root), (4, T::Third), (8, T::Fifth), (11, T::Seventh)]
            }
            Self::Dominant7Flat5 => &[(0, T::Root), (4, T::Third), (6, T::Fifth), (10, T::Seventh)],
            Self::Dominant7Sharp9 => &[
                (0, T::Root),
                (4, T::Third),
                (7, T::Fifth),
                (10, T::Seventh),
                (3, T::Ninth),
            ],
            Self::Dominant7Sharp11 => &[
                (0, T::Root),
                (4, T::Third),
                (7, T::Fifth),
                (10, T::Seventh),
                (6, T::Eleventh),
            ],
            Self::Altered => &[
                (0, T::Root),
                (4, T::Third),
                (8, T::Fifth),
                (10, T::Seventh),
                (3, T::Ninth),
            ],
            Self::AlteredFlat9 => &[
                (0, T::Root),
                (4, T::Third),
                (8, T::Fifth),
                (10, T::Seventh),
                (1, T::Ninth),
            ],
            Self::Major7Sharp11 => &[
                (0, T::Root),
                (4, T::Third),
                (7, T::Fifth),
                (11, T::Seventh),
                (6, T::Eleventh),
            ],
            Self::SixNinth => &[
                (0, T::Root),
                (4, T::Third),
                (7, T::Fifth),
                (9, T::Sixth),
                (2, T::Ninth),
            ],
            Self::MinorSixNinth => &[
                (0, T::Root),
                (3, T::Third),
                (7, T::Fifth),
                (9, T::Sixth),
                (2, T::Ninth),
            ],
            Self::Dominant11 => &[
                (0, T::Root),
                (5, T::Suspended),
                (7, T::Fifth),
                (10, T::Seventh),
                (2, T::Ninth),
            ],
            Self::Minor11 => &[
                (0, T::Root),
                (3, T::Third),
                (7, T::Fifth),
                (10, T::Seventh),
                (2, T::Ninth),
                (5, T::Eleventh),
            ],
            Self::Dominant13 => &[
                (0, T::Root),
                (4, T::Third),
                (7, T::Fifth),
                (10, T::Seventh),
                (2, T::Ninth),
                (9, T::Thirteenth),
            ],
        }
    }

    /// A stable word for files: `major`, `minor`, `dominant7` …
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Single => "single",
            Self::Fifth => "fifth",
            Self::Major => "major",
            Self::Minor => "minor",
            Self::Diminished => "diminished",
            Self::Augmented => "augmented",
            Self::Sus2 => "sus2",
            Self::Sus4 => "sus4",
            Self::Sixth => "sixth",
            Self::MinorSixth => "minor6",
            Self::Dominant7 => "dominant7",
            Self::Major7 => "major7",
            Self::Minor7 => "minor7",
            Self::HalfDiminished7 => "half_diminished7",
            Self::Diminished7 => "diminished7",
            Self::MinorMajor7 => "minor_major7",
            Self::Augmented7 => "augmented7",
            Self::Dominant7Sus4 => "dominant7sus4",
            Self::Add9 => "add9",
            Self::MinorAdd9 => "minor_add9",
            Self::Dominant9 => "dominant9",
            Self::Major9 => "major9",
            Self::Minor9 => "minor9",
            Self::Dominant7Flat9 => "dominant7flat9",
            Self::SeventhNoThird => "seventh_no_third",
            Self::DiminishedFifth => "diminished_fifth",
            Self::AugmentedMajor7 => "augmented_major7",
            Self::Dominant7Flat5 => "dominant7flat5",
            Self::Dominant7Sharp9 => "dominant7sharp9",
            Self::Dominant7Sharp11 => "dominant7sharp11",
            Self::Altered => "altered",
            Self::AlteredFlat9 => "altered_flat9",
            Self::Major7Sharp11 => "major7sharp11",
            Self::SixNinth => "six_ninth",
            Self::MinorSixNinth => "minor_six_ninth",
            Self::Dominant11 => "dominant11",
            Self::Minor11 => "minor11",
            Self::Dominant13 => "dominant13",
        }
    }

    /// The suffix of the chord symbol: "" for major, "m7" for minor seventh.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Single => "",
            Self::Fifth => "5",
            Self::Major => "",
            Self::Minor => "m",
            Self::Diminished => "dim",
            Self::Augmented => "aug",
            Self::Sus2 => "sus2",
            Self::Sus4 => "sus4",
            Self::Sixth => "6",
            Self::MinorSixth => "m6",
            Self::Dominant7 => "7",
            Self::Major7 => "maj7",
            Self::Minor7 => "m7",
            Self::HalfDiminished7 => "m7b5",
            Self::Diminished7 => "dim7",
            Self::MinorMajor7 => "m(maj7)",
            Self::Augmented7 => "7#5",
            Self::Dominant7Sus4 => "7sus4",
            Self::Add9 => "(add9)",
            Self::MinorAdd9 => "m(add9)",
            Self::Dominant9 => "9",
            Self::Major9 => "maj9",
            Self::Minor9 => "m9",
            Self::Dominant7Flat9 => "7b9",
            Self::SeventhNoThird => "7(no3)",
            Self::DiminishedFifth => "(b5)",
            Self::AugmentedMajor7 => "maj7#5",
            Self::Dominant7Flat5 => "7b5",
            Self::Dominant7Sharp9 => "7#9",
            Self::Dominant7Sharp11 => "7#11",
            Self::Altered => "7#5#9",
            Self::AlteredFlat9 => "7#5b9",
            Self::Major7Sharp11 => "maj7#11",
            Self::SixNinth => "6/9",
            Self::MinorSixNinth => "m6/9",
            Self::Dominant11 => "11",
            Self::Minor11 => "m11",
            Self::Dominant13 => "13",
        }
    }
}

/// A chord.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Chord {
    /// The root.
    pub root: PitchClass,
    /// The kind.
    pub quality: Quality,
    /// The lowest tone.
    pub bass: PitchClass,
}

impl Chord {
    /// A chord over its own root.
    #[must_use]
    pub const fn new(root: PitchClass, quality: Quality) -> Self {
        Self {
            root,
            quality,
            bass: root,
        }
    }

    /// What a pitch class is in this chord; `None` if it is foreign.
    ///
    /// ```
    /// use bandwright::music::{Chord, ChordTone, PitchClass, Quality};
    /// let g7 = Chord::new(PitchClass::of(7), Quality::Dominant7);
    /// assert_eq!(g7.tone(PitchClass::of(5)), Some(ChordTone::Seventh));
    /// assert_eq!(g7.tone(PitchClass::of(0)), None);
    /// ```
    #[must_use]
    pub fn tone(self, class: PitchClass) -> Option<ChordTone> {
        let above = self.root.up_to(class);
        self.quality
            .tones()
            .iter()
            .find(|(s, _)| *s == above)
            .map(|(_, tone)| *tone)
    }

    /// The classes of the chord, without a foreign bass.
    #[must_use]
    pub fn classes(self) -> PitchClassSet {
        self.quality
            .tones()
            .iter()
            .map(|(s, _)| self.root.up(i32::from(*s)))
            .collect()
    }

    /// The chord symbol, spelled in a key: `Bb/D`, `F#m7b5`; a lone tone in brackets: `(A)`.
    #[must_use]
    pub fn label(self, key: KeySignature) -> String {
        let name = |class| SpelledName::in_key(class, key);
        self.label_named(name(self.root), name(self.bass))
    }

    /// The chord symbol with the names that root and bass have.
    ///
    /// ```
    /// use bandwright::music::{Chord, PitchClass, Quality, SpelledName};
    /// let chord = Chord::new(PitchClass::of(8), Quality::Dominant7);
    /// let a_flat = SpelledName::from_fifths(-4);
    /// assert_eq!(chord.label_named(a_flat, a_flat), "Ab7");
    /// ```
    #[must_use]
    pub fn label_named(self, root: SpelledName, bass: SpelledName) -> String {
        if self.quality == Quality::Single {
            return format!("({root})");
        }
        let symbol = self.quality.symbol();
        if self.bass == self.root {
            return format!("{root}{symbol}");
        }
        format!("{root}{symbol}/{bass}")
    }
}
