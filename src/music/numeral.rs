//! Roman numerals: what a chord is in its key.

use super::chord::{Chord, ChordTone, Quality};
use super::key::{Key, Mode};
use super::pitch::PitchClass;
use std::fmt;

/// What a chord does in its key.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum HarmonicFunction {
    /// At rest: I, vi, iii.
    Tonic,
    /// Leads to the dominant: ii, IV, the Neapolitan, augmented sixths, dominants of the dominant.
    Predominant,
    /// Leads to the tonic, or to the chord that it is applied to: V, vii, the cadential six-four.
    Dominant,
    /// None of these can be told.
    #[default]
    Other,
}

impl HarmonicFunction {
    /// A stable word for files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Tonic => "tonic",
            Self::Predominant => "predominant",
            Self::Dominant => "dominant",
            Self::Other => "other",
        }
    }
}

/// A scale degree: 1 to 7, flat or sharp against the major scale, or in minor against the natural
/// minor scale.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Degree {
    /// 1 to 7.
    pub step: u8,
    /// Semitones above the scale's own: -1 flat, 1 sharp.
    pub alteration: i8,
}

impl Degree {
    /// The degree of a pitch class, chromatic ones as they are usually named: b2, b3 (major),
    /// #4, b6 (major), b7 (major); in minor #3, #6, #7.
    ///
    /// ```
    /// use bandwright::music::numeral::Degree;
    /// use bandwright::music::{Key, Mode, PitchClass};
    /// let a_minor = Key { tonic: PitchClass::of(9), mode: Mode::Minor };
    /// let g_sharp = Degree::of(PitchClass::of(8), a_minor);
    /// assert_eq!((g_sharp.step, g_sharp.alteration), (7, 1));
    /// ```
    #[must_use]
    pub const fn of(class: PitchClass, key: Key) -> Self {
        let above = key.tonic.up_to(class);
        let (step, alteration) = match (key.mode, above) {
            (_, 0) => (1, 0),
            (_, 1) => (2, -1),
            (_, 2) => (2, 0),
            (Mode::Major, 3) => (3, -1),
            (Mode::Major, 4) | (Mode::Minor, 3) => (3, 0),
            (Mode::Minor, 4) => (3, 1),
            (_, 5) => (4, 0),
            (_, 6) => (4, 1),
            (_, 7) => (5, 0),
            (Mode::Major, 8) => (6, -1),
            (Mode::Major, 9) | (Mode::Minor, 8) => (6, 0),
            (Mode::Minor, 9) => (6, 1),
            (Mode::Major, 10) => (7, -1),
            (Mode::Minor, 11) => (7, 1),
            _ => (7, 0),
        };
        Self { step, alteration }
    }
}

/// The augmented sixths, by what stands above the flat sixth.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
enum SixthKind {
    Italian,
    French,
    German,
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
enum Form {
    Plain,
    Neapolitan,
    AugmentedSixth(SixthKind),
    /// Dominant or leading-tone chord of this degree; lower case if its triad is minor.
    Applied(Degree, bool),
}

/// A Roman numeral. It prints by the custom of the trade:
///
/// - upper case for chords with a major third, lower case for a minor one, `o` diminished, `ø`
///   half-diminished, `+` augmented: `I`, `ii`, `viio`;
/// - figures for the inversion: `6`, `64`; sevenths `7`, `65`, `43`, `42`; `M7` is a major seventh
///   above the root;
/// - `b` or `#` before it: the root lies below or above its place in the scale (natural minor in
///   minor keys, but the leading-tone chords are plain `viio`);
/// - `V7/V`: dominant of another degree; `N6`: the Neapolitan; `It6`, `Fr43`, `Ger65`: augmented
///   sixths; `[no3]`: no third sounds.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Numeral {
    degree: Degree,
    quality: Quality,
    inversion: ChordTone,
    form: Form,
    minor_key: bool,
}

/// How a chord looks from a root, without its extensions.
fn has(quality: Quality, semitones: u8) -> bool {
    quality.tones().iter().any(|(s, _)| *s == semitones)
}

fn has_tone(quality: Quality, tone: ChordTone) -> bool {
    quality.tones().iter().any(|(_, t)| *t == tone)
}

/// Whether a chord has a major third, and no seventh or a minor one.
fn is_dominant(quality: Quality) -> bool {
    has(quality, 4) && !has(quality, 11) && !has_tone(quality, ChordTone::Sixth)
}

const fn is_leading(quality: Quality) -> bool {
    matches!(
        quality,
        Quality::Diminished | Quality::Diminished7 | Quality::HalfDiminished7
    )
}

impl Numeral {
    /// The numeral of a chord in a key. `next` is the root that follows: it tells augmented
    /// sixths and applied dominants from chords that only sound like them.
    ///
    /// ```
    /// use bandwright::music::{Chord, Key, Mode, Numeral, PitchClass, Quality};
    /// let c_major = Key { tonic: PitchClass::C, mode: Mode::Major };
    /// let in_c = |chord| Numeral::of(chord, c_major, None).to_string();
    /// let d7 = Chord { root: PitchClass::of(2), quality: Quality::Dominant7, bass: PitchClass::of(6) };
    /// assert_eq!(in_c(d7), "V65/V");
    /// assert_eq!(in_c(Chord::new(PitchClass::of(11), Quality::Diminished)), "viio");
    /// assert_eq!(in_c(Chord::new(PitchClass::of(8), Quality::Major)), "bVI");
    /// ```
    #[must_use]
    pub fn of(chord: Chord, key: Key, next: Option<PitchClass>) -> Self {
        let degree = Degree::of(chord.root, key);
        Self {
            degree,
            quality: chord.quality,
            inversion: chord.tone(chord.bass).unwrap_or(ChordTone::Root),
            form: form(chord, key, next),
            minor_key: key.mode == Mode::Minor,
        }
    }

    /// The same chord without a fifth: of a German sixth that makes an Italian one.
    #[must_use]
    pub const fn without_fifth(mut self) -> Self {
        if matches!(self.form, Form::AugmentedSixth(SixthKind::German)) {
            self.form = Form::AugmentedSixth(SixthKind::Italian);
        }
        self
    }

    /// Whether it is an augmented sixth.
    #[must_use]
    pub const fn is_augmented_sixth(self) -> bool {
        matches!(self.form, Form::AugmentedSixth(_))
    }

    /// The scale degree of the root.
    #[must_use]
    pub const fn degree(self) -> Degree {
        self.degree
    }

    /// The degree that the chord is a dominant or leading-tone chord of, if not the tonic.
    #[must_use]
    pub const fn applied_to(self) -> Option<Degree> {
        match self.form {
            Form::Applied(degree, _) => Some(degree),
            _ => None,
        }
    }

    /// What the chord does in its key; `next` is the root that follows (a six-four of the tonic
    /// before the dominant is itself dominant).
    #[must_use]
    pub fn function(self, next: Option<Degree>) -> HarmonicFunction {
        use HarmonicFunction as F;
        let step = |d: Degree, n: u8| d.step == n && d.alteration == 0;
        match self.form {
            Form::Neapolitan | Form::AugmentedSixth(_) => F::Predominant,
            Form::Applied(to, _) if step(to, 5) => F::Predominant,
            Form::Applied(..) => F::Dominant,
            Form::Plain => match (self.degree.step, self.degree.alteration) {
                (1, 0)
                    if self.inversion == ChordTone::Fifth && next.is_some_and(|d| step(d, 5)) =>
                {
                    F::Dominant
                }
                (1 | 3 | 6, 0) => F::Tonic,
                (2 | 4, 0) | (2, -1) => F::Predominant,
                (6, -1) => F::Predominant,
                (5, 0) if !has(self.quality, 3) || has(self.quality, 4) => F::Dominant,
                (7, 0) if !self.minor_key || is_leading(self.quality) => F::Dominant,
                (7, 1) => F::Dominant,
                _ => F::Other,
            },
        }
    }

    fn figures(self) -> &'static str {
        let seventh = has_tone(self.quality, ChordTone::Seventh);
        match (seventh, self.inversion) {
            (false, ChordTone::Third) => "6",
            (false, ChordTone::Fifth) => "64",
            (true, ChordTone::Third) => "65",
            (true, ChordTone::Fifth) => "43",
            (true, ChordTone::Seventh) => "42",
            (true, _) if has_tone(self.quality, ChordTone::Thirteenth) => "13",
            (true, _) if has_tone(self.quality, ChordTone::Eleventh) && !has(self.quality, 6) => {
                "11"
            }
            (true, _) if has(self.quality, 2) => "9",
            (true, _) => "7",
            _ => "",
        }
    }

    fn added(self) -> &'static str {
        match self.quality {
            Quality::Single => "[no3no5]",
            Quality::Fifth | Quality::SeventhNoThird | Quality::DiminishedFifth => "[no3]",
            Quality::Sus2 => "sus2",
            Quality::Sus4 | Quality::Dominant7Sus4 | Quality::Dominant11 => "sus4",
            Quality::Sixth | Quality::MinorSixth => "add6",
            Quality::SixNinth | Quality::MinorSixNinth => "add6/9",
            Quality::Add9 | Quality::MinorAdd9 => "add9",
            Quality::Dominant7Flat9 | Quality::AlteredFlat9 => "b9",
            Quality::Dominant7Sharp9 | Quality::Altered => "#9",
            Quality::Dominant7Flat5 => "b5",
            Quality::Dominant7Sharp11 | Quality::Major7Sharp11 => "#11",
            _ => "",
        }
    }
}

fn form(chord: Chord, key: Key, next: Option<PitchClass>) -> Form {
    let above = key.tonic.up_to(chord.root);
    let next = next.map(|n| key.tonic.up_to(n));
    let to_dominant = matches!(next, None | Some(7 | 0));
    match chord.quality {
        Quality::Dominant7 if above == 8 && to_dominant => {
            return Form::AugmentedSixth(SixthKind::German);
        }
        Quality::Dominant7Flat5 if matches!(above, 8 | 2) && key.tonic.up_to(chord.bass) == 8 => {
            return Form::AugmentedSixth(SixthKind::French);
        }
        Quality::Major if above == 1 => return Form::Neapolitan,
        _ => {}
    }
    let own = chord.classes().iter().all(|c| natural(key, c));
    let raised = key.mode == Mode::Minor && matches!(above, 7 | 11 | 2);
    if own || raised && chord.classes().iter().all(|c| key.has(c)) {
        return Form::Plain;
    }
    let target = if is_leading(chord.quality) {
        Some(chord.root.up(1))
    } else if is_dominant(chord.quality) {
        Some(chord.root.up(5))
    } else {
        None
    };
    let leads = |t: PitchClass| {
        let seventh = has_tone(chord.quality, ChordTone::Seventh);
        let goes = next == Some(key.tonic.up_to(t));
        t != key.tonic && triad(key, t).is_some() && (seventh || goes || is_leading(chord.quality))
            || above == 2 && is_dominant(chord.quality)
    };
    match target.filter(|t| leads(*t)) {
        Some(t) => Form::Applied(Degree::of(t, key), triad(key, t) == Some(true)),
        None => Form::Plain,
    }
}

/// Whether the natural scale of a key has a class, or in minor its leading tone.
fn natural(key: Key, class: PitchClass) -> bool {
    match (key.mode, key.tonic.up_to(class)) {
        (Mode::Major, 0 | 2 | 4 | 5 | 7 | 9 | 11) => true,
        (Mode::Minor, above) => matches!(above, 0 | 2 | 3 | 5 | 7 | 8 | 10),
        _ => false,
    }
}

/// Whether the key's own triad on a degree is minor; `None` where it has none, or a diminished
/// one.
const fn triad(key: Key, root: PitchClass) -> Option<bool> {
    match (key.mode, key.tonic.up_to(root)) {
        (Mode::Major, 0 | 5 | 7) | (Mode::Minor, 3 | 7 | 8 | 10) => Some(false),
        (Mode::Major, 2 | 4 | 9) | (Mode::Minor, 0 | 5) => Some(true),
        _ => None,
    }
}

fn roman(step: u8, minor: bool) -> &'static str {
    let (upper, lower) = match step {
        1 => ("I", "i"),
        2 => ("II", "ii"),
        3 => ("III", "iii"),
        4 => ("IV", "iv"),
        5 => ("V", "v"),
        6 => ("VI", "vi"),
        _ => ("VII", "vii"),
    };
    if minor { lower } else { upper }
}

const fn accidental(alteration: i8) -> &'static str {
    match alteration {
        -1 => "b",
        1 => "#",
        _ => "",
    }
}

impl fmt::Display for Numeral {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let figures = self.figures();
        match self.form {
            Form::Neapolitan => return write!(f, "N{figures}"),
            Form::AugmentedSixth(SixthKind::Italian) => return f.write_str("It6"),
            Form::AugmentedSixth(SixthKind::French) => return f.write_str("Fr43"),
            Form::AugmentedSixth(SixthKind::German) => return f.write_str("Ger65"),
            Form::Plain | Form::Applied(..) => {}
        }
        let minor = has(self.quality, 3) && !has(self.quality, 4);
        let (degree, to) = match self.form {
            Form::Applied(to, minor) => {
                let step = if is_leading(self.quality) { 7 } else { 5 };
                let degree = Degree {
                    step,
                    alteration: 0,
                };
                (degree, Some((to, minor)))
            }
            _ => (self.degree, None),
        };
        let leading = self.minor_key && degree.step == 7 && is_leading(self.quality);
        if !leading {
            f.write_str(accidental(degree.alteration))?;
        }
        f.write_str(roman(degree.step, minor))?;
        f.write_str(match self.quality {
            Quality::Diminished | Quality::Diminished7 => "o",
            Quality::HalfDiminished7 => "ø",
            q if has(q, 8) => "+",
            _ => "",
        })?;
        if has(self.quality, 11) {
            f.write_str("M")?;
        }
        f.write_str(figures)?;
        f.write_str(self.added())?;
        match to {
            Some((to, minor)) => {
                write!(f, "/{}{}", accidental(to.alteration), roman(to.step, minor))
            }
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numeral(root: i32, quality: Quality, bass: i32, mode: Mode, next: Option<i32>) -> String {
        let key = Key {
            tonic: PitchClass::C,
            mode,
        };
        let chord = Chord {
            root: PitchClass::of(root),
            quality,
            bass: PitchClass::of(bass),
        };
        Numeral::of(chord, key, next.map(PitchClass::of)).to_string()
    }

    #[test]
    fn numerals_are_written_as_textbooks_write_them() {
        use Mode::{Major, Minor};
        let cases = [
            (numeral(0, Quality::Major, 7, Major, None), "I64"),
            (numeral(2, Quality::Minor7, 5, Major, None), "ii65"),
            (numeral(2, Quality::Minor, 5, Major, None), "ii6"),
            (numeral(7, Quality::Dominant7, 5, Major, None), "V42"),
            (
                numeral(11, Quality::HalfDiminished7, 11, Major, None),
                "viiø7",
            ),
            (numeral(11, Quality::Diminished7, 11, Minor, None), "viio7"),
            (numeral(7, Quality::Dominant7, 7, Minor, None), "V7"),
            (numeral(10, Quality::Major, 10, Minor, None), "VII"),
            (numeral(2, Quality::Dominant7, 2, Major, None), "V7/V"),
            (numeral(4, Quality::Major, 4, Major, Some(9)), "V/vi"),
            (numeral(6, Quality::Diminished7, 6, Major, None), "viio7/V"),
            (numeral(1, Quality::Major, 5, Minor, None), "N6"),
            (numeral(8, Quality::Dominant7, 8, Minor, Some(7)), "Ger65"),
            (
                numeral(8, Quality::Dominant7Flat5, 8, Minor, Some(7)),
                "Fr43",
            ),
            (numeral(10, Quality::Major, 10, Major, None), "bVII"),
            (numeral(5, Quality::Minor, 5, Major, None), "iv"),
            (numeral(0, Quality::Major7, 0, Major, None), "IM7"),
            (numeral(0, Quality::Fifth, 0, Major, None), "I[no3]"),
            (numeral(3, Quality::Augmented, 3, Minor, None), "III+"),
        ];
        for (found, wanted) in cases {
            assert_eq!(found, wanted);
        }
    }

    #[test]
    fn functions_follow_the_degree_and_the_next_chord() {
        let key = Key {
            tonic: PitchClass::C,
            mode: Mode::Major,
        };
        let function = |root: i32, quality, bass: i32, next: Option<i32>| {
            let chord = Chord {
                root: PitchClass::of(root),
                quality,
                bass: PitchClass::of(bass),
            };
            let next = next.map(PitchClass::of);
            Numeral::of(chord, key, next).function(next.map(|n| Degree::of(n, key)))
        };
        let major = Quality::Major;
        assert_eq!(function(0, major, 0, None), HarmonicFunction::Tonic);
        assert_eq!(function(0, major, 7, Some(7)), HarmonicFunction::Dominant);
        assert_eq!(function(5, major, 5, None), HarmonicFunction::Predominant);
        assert_eq!(function(7, major, 7, None), HarmonicFunction::Dominant);
        let seventh = Quality::Dominant7;
        assert_eq!(function(2, seventh, 2, None), HarmonicFunction::Predominant);
        assert_eq!(function(9, seventh, 9, None), HarmonicFunction::Dominant);
    }
}
