//! What is drawn on a stave, and where: in stave spaces, x from the left end of the bar, y upwards
//! from the lowest line. Whoever draws knows no music.

use super::accidentals::Accidental;
use super::glyph_sizes::{self as sizes, Glyph};
use super::stave::Clef;
use super::value::Base;

/// A place, in stave spaces.
#[derive(Clone, Copy, PartialEq, PartialOrd, Debug, Default)]
pub struct Spot {
    /// From the left end of the bar.
    pub x: f32,
    /// Upwards from the lowest line.
    pub y: f32,
}

/// A box, in stave spaces.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Bounds {
    /// Left.
    pub left: f32,
    /// Bottom.
    pub bottom: f32,
    /// Right.
    pub right: f32,
    /// Top.
    pub top: f32,
}

impl Bounds {
    /// Whether two boxes have more than an edge in common.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        // What is under a hundredth of a space is rounding.
        const HAIR: f32 = 0.01;
        self.left + HAIR < other.right
            && other.left + HAIR < self.right
            && self.bottom + HAIR < other.top
            && other.bottom + HAIR < self.top
    }
}

/// Something drawn on a stave.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Symbol {
    /// A notehead: its left end and its middle.
    Head {
        /// Left end, middle.
        at: Spot,
        /// The note's look: the head of a whole, half or shorter note.
        base: Base,
        /// Which of the stave's notes it belongs to.
        index: usize,
        /// Its voice, 0 the upper one.
        voice: usize,
    },
    /// A rest: its left end and what the stave's middle line is to it.
    Rest {
        /// Left end; the height that stands for the middle line.
        at: Spot,
        /// Which rest.
        base: Base,
        /// Its voice, 0 the upper one.
        voice: usize,
    },
    /// A dot behind a note or rest.
    Dot {
        /// Its left end, its middle.
        at: Spot,
    },
    /// An accidental before a note or in a signature.
    Accidental {
        /// Left end; the height of its note.
        at: Spot,
        /// Which.
        kind: Accidental,
        /// The note that it belongs to; none in a signature.
        index: Option<usize>,
    },
    /// A stem, [`sizes::STEM`] thick.
    Stem {
        /// Its middle.
        x: f32,
        /// At its note.
        from_y: f32,
        /// At its end.
        to_y: f32,
        /// The note at which it begins.
        index: usize,
    },
    /// The flags of one note, hanging at the end of a stem. Those of stems down are those of stems
    /// up, mirrored.
    Flag {
        /// The left side of the stem, at its end.
        at: Spot,
        /// The value.
        base: Base,
        /// Whether the stem goes up.
        up: bool,
        /// The note at which its stem begins.
        index: usize,
    },
    /// A beam, [`sizes::BEAM`] thick; its middle line.
    Beam {
        /// Left end.
        from: Spot,
        /// Right end.
        to: Spot,
    },
    /// A tie, or half of one at a barline.
    Tie {
        /// Left end.
        from: Spot,
        /// Right end.
        to: Spot,
        /// Whether it curves upwards.
        above: bool,
        /// The note that is tied.
        index: usize,
    },
    /// A ledger line.
    Ledger {
        /// Left end.
        x0: f32,
        /// Right end.
        x1: f32,
        /// Height.
        y: f32,
    },
    /// A tuplet's number, in the middle of a bracket where there is one.
    Tuplet {
        /// Left end of the bracket.
        from: Spot,
        /// Right end of the bracket.
        to: Spot,
        /// The number.
        number: u8,
        /// Whether it stands above the notes: the bracket's ends point down.
        above: bool,
        /// Whether there is a bracket.
        bracket: bool,
    },
    /// A clef.
    Clef {
        /// Left end; the lowest line.
        at: Spot,
        /// Which.
        clef: Clef,
    },
    /// A number of a time signature, two spaces high.
    Digits {
        /// Its middle.
        at: Spot,
        /// The number.
        number: u16,
    },
}

/// A sign of the font where its origin stands.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct PlacedGlyph {
    /// Which, and how large.
    pub glyph: Glyph,
    /// Where the font's origin (pen and baseline) stands.
    pub origin: Spot,
    /// Whether it is turned upside down about the height of the origin.
    pub mirrored: bool,
}

impl Symbol {
    /// The sign of the font that draws it, for those that have one.
    #[must_use]
    pub fn glyph(&self) -> Option<PlacedGlyph> {
        let (glyph, at) = match *self {
            Self::Head { at, base, .. } => (sizes::head(base), at),
            Self::Rest { at, base, .. } => (sizes::rest(base)?, at),
            Self::Accidental { at, kind, .. } => (sizes::accidental(kind), at),
            Self::Flag { at, base, .. } => (sizes::flag(base)?, at),
            Self::Clef { at, clef } => {
                let (glyph, up) = sizes::clef(clef);
                let y = at.y + up;
                (glyph, Spot { y, ..at })
            }
            _ => return None,
        };
        let mirrored = matches!(self, Self::Flag { up: false, .. });
        let down = if mirrored {
            -glyph.middle
        } else {
            glyph.middle
        };
        Some(PlacedGlyph {
            glyph,
            origin: Spot {
                x: at.x - glyph.left,
                y: at.y - down,
            },
            mirrored,
        })
    }

    /// The box that it fills.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        if let Some(placed) = self.glyph() {
            return glyph_bounds(&placed);
        }
        match *self {
            Self::Rest { at, base, .. } => {
                let (width, height) = sizes::REST_BLOCK;
                // A whole rest hangs from the fourth line, a half rest lies on the third.
                let bottom = if base == Base::Whole {
                    at.y + 1.0 - height
                } else {
                    at.y
                };
                around(at.x, bottom, at.x + width, bottom + height)
            }
            Self::Dot { at } => {
                let radius = sizes::DOT;
                around(at.x, at.y - radius, at.x + 2.0 * radius, at.y + radius)
            }
            Self::Stem {
                x, from_y, to_y, ..
            } => around(x - sizes::STEM / 2.0, from_y, x + sizes::STEM / 2.0, to_y),
            Self::Beam { from, to } => {
                let half = sizes::BEAM / 2.0;
                let (low, high) = (from.y.min(to.y), from.y.max(to.y));
                around(from.x, low - half, to.x, high + half)
            }
            Self::Tie { from, to, .. } => around(from.x, from.y - 0.5, to.x, to.y + 0.5),
            Self::Ledger { x0, x1, y } => around(x0, y - 0.06, x1, y + 0.06),
            Self::Tuplet { from, to, .. } => {
                let (low, high) = (from.y.min(to.y), from.y.max(to.y));
                around(from.x, low - 0.7, to.x, high + 0.7)
            }
            Self::Digits { at, number } => {
                let half = digits_width(number) / 2.0;
                around(at.x - half, at.y - 1.0, at.x + half, at.y + 1.0)
            }
            // All others are signs of the font.
            Self::Head { at, .. }
            | Self::Accidental { at, .. }
            | Self::Flag { at, .. }
            | Self::Clef { at, .. } => around(at.x, at.y, at.x, at.y),
        }
    }
}

/// How wide a number of a time signature is.
pub(super) fn digits_width(number: u16) -> f32 {
    let digits = number.checked_ilog10().map_or(1, |d| d + 1);
    digits as f32 * sizes::DIGIT
}

fn around(x0: f32, y0: f32, x1: f32, y1: f32) -> Bounds {
    Bounds {
        left: x0.min(x1),
        bottom: y0.min(y1),
        right: x0.max(x1),
        top: y0.max(y1),
    }
}

fn glyph_bounds(placed: &PlacedGlyph) -> Bounds {
    let (g, at) = (placed.glyph, placed.origin);
    let turned = if placed.mirrored { -1.0 } else { 1.0 };
    around(
        at.x + g.left,
        at.y + turned * g.bottom,
        at.x + g.right,
        at.y + turned * g.top,
    )
}
