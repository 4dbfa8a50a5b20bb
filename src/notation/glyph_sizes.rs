//! Sizes of the signs of music: Noto Music 2.000 (`assets/fonts/NotoMusic-Regular.ttf`), outline
//! boxes as measured, 1000 units to the em. Its stave (U+1D11A) is 1000 units high, so that a stave
//! space is 250 units: set the font at four spaces to the em.

use super::accidentals::Accidental;
use super::stave::Clef;
use super::value::Base;

/// Units of the font to a stave space.
pub const UNITS_PER_SPACE: f32 = 250.0;
/// Thickness of a stem, in stave spaces: the font's combining stem is 28 units.
pub const STEM: f32 = 0.112;
/// Thickness of a beam, in stave spaces (common practice, no source: half a space).
pub const BEAM: f32 = 0.5;
/// From one beam's edge to the same edge of the next, in stave spaces (common practice, no source).
pub const BEAM_STEP: f32 = 0.75;
/// Width of a whole and a half rest without a ledger line, in stave spaces (ours; the font's have
/// their line in the outline).
pub const REST_BLOCK: (f32, f32) = (1.3, 0.5);
/// Width of a digit of a time signature two spaces high, in stave spaces (ours; the font has none).
pub const DIGIT: f32 = 1.25;
/// Radius of a dot, in stave spaces: the font's combining dot is 94 units wide.
pub const DOT: f32 = 0.188;

/// A sign of the font, in stave spaces from the font's origin.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Glyph {
    /// Its character.
    pub code: char,
    /// Left end.
    pub left: f32,
    /// Lower end.
    pub bottom: f32,
    /// Right end.
    pub right: f32,
    /// Upper end.
    pub top: f32,
    /// The height that belongs on the note's place.
    pub middle: f32,
    /// At how many times the usual size it is set; the measures above are at this size.
    pub scale: f32,
}

impl Glyph {
    /// From units of the font: left, bottom, right and top of its outline, and its middle.
    const fn new(code: char, outline: [i16; 4], middle: i16, scale: f32) -> Self {
        let [left, bottom, right, top] = outline;
        let per = scale / UNITS_PER_SPACE;
        Self {
            code,
            left: left as f32 * per,
            bottom: bottom as f32 * per,
            right: right as f32 * per,
            top: top as f32 * per,
            middle: middle as f32 * per,
            scale,
        }
    }

    /// How wide its outline is.
    #[must_use]
    pub const fn width(&self) -> f32 {
        self.right - self.left
    }
}

/// The black notehead.
pub const BLACK_HEAD: Glyph = Glyph::new('\u{1d158}', [50, -1, 347, 269], 134, 1.0);
/// The head of a half note.
pub const HALF_HEAD: Glyph = Glyph::new('\u{1d157}', [50, -1, 347, 269], 134, 1.0);
/// The whole note.
pub const WHOLE_HEAD: Glyph = Glyph::new('\u{1d15d}', [50, 8, 464, 260], 134, 1.0);
/// The font's sharp is a third larger than its natural; set so that both are as high (ours).
const SHARP_SCALE: f32 = 0.75;
/// The sharp at that size.
pub const SHARP: Glyph = Glyph::new('\u{266f}', [51, -233, 502, 590], 178, SHARP_SCALE);
/// The flat; its middle is that of its bowl.
pub const FLAT: Glyph = Glyph::new('\u{266d}', [51, -25, 296, 524], 120, 1.0);
/// The natural.
pub const NATURAL: Glyph = Glyph::new('\u{266e}', [51, -213, 306, 404], 95, 1.0);
/// The double sharp.
pub const DOUBLE_SHARP: Glyph = Glyph::new('\u{1d12a}', [50, 0, 310, 262], 131, 1.0);
/// The double flat.
pub const DOUBLE_FLAT: Glyph = Glyph::new('\u{1d12b}', [50, -55, 417, 615], 112, 0.9);
/// The G clef; its origin is on the lowest line.
pub const TREBLE: Glyph = Glyph::new('\u{1d11e}', [50, -398, 661, 1334], 0, 1.0);
/// The F clef; its origin is on the lowest line.
pub const BASS: Glyph = Glyph::new('\u{1d122}', [50, 101, 742, 900], 0, 1.0);
/// The C clef; as it is it names the third line.
pub const C_CLEF: Glyph = Glyph::new('\u{1d121}', [50, -10, 724, 1012], 0, 1.0);
/// The quarter rest; the middle of all rests is that of the stave.
pub const QUARTER_REST: Glyph = Glyph::new('\u{1d13d}', [51, 123, 307, 878], 500, 1.0);
/// The eighth rest.
pub const EIGHTH_REST: Glyph = Glyph::new('\u{1d13e}', [50, 269, 312, 730], 500, 1.0);
/// The 16th rest.
pub const SIXTEENTH_REST: Glyph = Glyph::new('\u{1d13f}', [50, 147, 380, 852], 500, 1.0);
/// The 32nd rest.
pub const THIRTY_SECOND_REST: Glyph = Glyph::new('\u{1d140}', [50, -4, 451, 955], 500, 1.0);
/// The 64th rest.
pub const SIXTY_FOURTH_REST: Glyph = Glyph::new('\u{1d141}', [50, -130, 521, 1081], 500, 1.0);
/// The 128th rest.
pub const SMALLEST_REST: Glyph = Glyph::new('\u{1d142}', [50, -256, 590, 1205], 500, 1.0);
/// The flag of an eighth; the middle of all flags is where the stem ends (1009 units), their left
/// is the stem's.
pub const EIGHTH_FLAG: Glyph = Glyph::new('\u{1d16e}', [0, 259, 274, 1009], 1009, 1.0);
/// The flags of a 16th.
pub const SIXTEENTH_FLAG: Glyph = Glyph::new('\u{1d16f}', [0, 191, 286, 1009], 1009, 1.0);
/// The flags of a 32nd.
pub const THIRTY_SECOND_FLAG: Glyph = Glyph::new('\u{1d170}', [0, 193, 288, 1154], 1009, 1.0);
/// The flags of a 64th.
pub const SIXTY_FOURTH_FLAG: Glyph = Glyph::new('\u{1d171}', [0, 193, 288, 1330], 1009, 1.0);
/// The flags of a 128th.
pub const SMALLEST_FLAG: Glyph = Glyph::new('\u{1d172}', [0, 193, 288, 1520], 1009, 1.0);
/// The breath mark, a comma; the font has it in the highest space of the stave, and it goes above that.
pub const BREATH_MARK: Glyph = Glyph::new('\u{1d112}', [50, 700, 230, 1000], 700, 1.0);

/// The notehead of a value.
#[must_use]
pub const fn head(base: Base) -> Glyph {
    match base {
        Base::Whole => WHOLE_HEAD,
        Base::Half => HALF_HEAD,
        _ => BLACK_HEAD,
    }
}

/// An accidental.
#[must_use]
pub const fn accidental(kind: Accidental) -> Glyph {
    match kind {
        Accidental::DoubleFlat => DOUBLE_FLAT,
        Accidental::Flat => FLAT,
        Accidental::Natural => NATURAL,
        Accidental::Sharp => SHARP,
        Accidental::DoubleSharp => DOUBLE_SHARP,
    }
}

/// A clef, and how far its origin stands above the lowest line.
#[must_use]
pub const fn clef(clef: Clef) -> (Glyph, f32) {
    match clef {
        Clef::Treble => (TREBLE, 0.0),
        Clef::Bass => (BASS, 0.0),
        Clef::Tenor => (C_CLEF, 1.0),
    }
}

/// A rest; `None` for whole and half rests, which are blocks.
#[must_use]
pub const fn rest(base: Base) -> Option<Glyph> {
    match base {
        Base::Whole | Base::Half => None,
        Base::Quarter => Some(QUARTER_REST),
        Base::Eighth => Some(EIGHTH_REST),
        Base::Sixteenth => Some(SIXTEENTH_REST),
        Base::ThirtySecond => Some(THIRTY_SECOND_REST),
        Base::SixtyFourth => Some(SIXTY_FOURTH_REST),
        Base::HundredTwentyEighth => Some(SMALLEST_REST),
    }
}

/// The flags of a value; `None` from quarters on.
#[must_use]
pub const fn flag(base: Base) -> Option<Glyph> {
    match base {
        Base::Whole | Base::Half | Base::Quarter => None,
        Base::Eighth => Some(EIGHTH_FLAG),
        Base::Sixteenth => Some(SIXTEENTH_FLAG),
        Base::ThirtySecond => Some(THIRTY_SECOND_FLAG),
        Base::SixtyFourth => Some(SIXTY_FOURTH_FLAG),
        Base::HundredTwentyEighth => Some(SMALLEST_FLAG),
    }
}
