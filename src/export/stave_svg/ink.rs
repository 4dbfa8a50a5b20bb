//! Writes symbols as elements. It knows sizes and strokes, no music.

use crate::export::svg::escaped;
use crate::notation::glyph_sizes as sizes;
use crate::notation::strokes::{LEDGER, LINE, flag_edges, tie_edges, tuplet_bracket};
use crate::notation::{Base, Bezier, PlacedGlyph, Spot, Symbol};
use std::fmt::Write as _;

/// Units of the drawing to a stave space.
pub(super) const UNITS: f32 = 10.0;

/// Writes what stands in one bar.
pub(super) struct Ink<'a> {
    /// Where elements go.
    pub body: &'a mut String,
    /// The left end of the bar, in stave spaces from the left end of the system.
    pub left: f32,
    /// How far the lowest line lies under the upper edge of the drawing, in stave spaces.
    pub base: f32,
}

impl Ink<'_> {
    fn x(&self, x: f32) -> f32 {
        (self.left + x) * UNITS
    }

    fn y(&self, y: f32) -> f32 {
        (self.base - y) * UNITS
    }

    /// The drawing's two numbers of a place.
    fn at(&self, spot: Spot) -> String {
        format!("{:.1} {:.1}", self.x(spot.x), self.y(spot.y))
    }

    /// Writes a symbol.
    pub fn symbol(&mut self, symbol: &Symbol) {
        match *symbol {
            Symbol::Flag { at, base, up, .. } => {
                for number in 0..base.flags() {
                    self.lens(flag_edges(at, up, number));
                }
            }
            Symbol::Tie {
                from, to, above, ..
            } => self.lens(tie_edges(from, to, above)),
            Symbol::Rest {
                base: Base::Whole | Base::Half,
                ..
            } => {
                let b = symbol.bounds();
                self.block((b.left, b.bottom), (b.right, b.top));
            }
            Symbol::Dot { at } => {
                let (x, y) = (self.x(at.x + sizes::DOT), self.y(at.y));
                let radius = sizes::DOT * UNITS;
                // Writing to a string cannot fail, here and below.
                let _ = write!(
                    self.body,
                    "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius:.1}\"/>"
                );
            }
            Symbol::Stem {
                x, from_y, to_y, ..
            } => self.line((x, from_y), (x, to_y), sizes::STEM),
            Symbol::Ledger { x0, x1, y } => self.line((x0, y), (x1, y), LINE * LEDGER),
            Symbol::Beam { from, to } => self.beam(from, to),
            Symbol::Tuplet {
                from,
                to,
                number,
                above,
                bracket,
            } => {
                let (strokes, middle) = tuplet_bracket(from, to, above);
                for (a, b) in strokes.into_iter().filter(|_| bracket) {
                    self.line((a.x, a.y), (b.x, b.y), LINE);
                }
                let foot = Spot {
                    y: middle.y - 0.6,
                    ..middle
                };
                self.words(foot, "u", &number.to_string());
            }
            Symbol::Digits { at, number } => {
                let foot = Spot {
                    y: at.y - 0.95,
                    ..at
                };
                self.words(foot, "d", &number.to_string());
            }
            // Noteheads have a class of their own and the place of their note in the line.
            Symbol::Head { index, .. } => {
                if let Some(placed) = symbol.glyph() {
                    self.glyph(&placed, &format!("m h\" data-note=\"{index}"));
                }
            }
            Symbol::Rest { .. } | Symbol::Accidental { .. } | Symbol::Clef { .. } => {
                if let Some(placed) = symbol.glyph() {
                    self.glyph(&placed, "m");
                }
            }
        }
    }

    /// A sign of the font, its origin at its place.
    pub fn glyph(&mut self, placed: &PlacedGlyph, class: &str) {
        let scale = placed.glyph.scale;
        self.sign(placed.origin, placed.glyph.code, scale, class);
    }

    /// A sign of the font at a size.
    pub fn sign(&mut self, at: Spot, code: char, scale: f32, class: &str) {
        let (x, y) = (self.x(at.x), self.y(at.y));
        // Four spaces are an em.
        let size = 4.0 * UNITS * scale;
        let _ = write!(
            self.body,
            "<text class=\"{class}\" x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size:.0}\">{code}</text>"
        );
    }

    /// Words of a class; where they stand is its middle or its left end, as the class has it.
    pub fn words(&mut self, at: Spot, class: &str, words: &str) {
        let (x, y) = (self.x(at.x), self.y(at.y));
        let words = escaped(words);
        let _ = write!(
            self.body,
            "<text class=\"{class}\" x=\"{x:.1}\" y=\"{y:.1}\">{words}</text>"
        );
    }

    /// A line in ink.
    pub fn line(&mut self, from: (f32, f32), to: (f32, f32), thick: f32) {
        let (x1, y1) = (self.x(from.0), self.y(from.1));
        let (x2, y2) = (self.x(to.0), self.y(to.1));
        let width = thick * UNITS;
        let _ = write!(
            self.body,
            "<path d=\"M{x1:.1} {y1:.1}L{x2:.1} {y2:.1}\" stroke-width=\"{width:.1}\"/>"
        );
    }

    /// A filled box between two corners: lower left, upper right.
    pub fn block(&mut self, low: (f32, f32), high: (f32, f32)) {
        let (x, y) = (self.x(low.0), self.y(high.1));
        let (width, height) = ((high.0 - low.0) * UNITS, (high.1 - low.1) * UNITS);
        let _ = write!(
            self.body,
            "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\"/>"
        );
    }

    /// An empty box between two corners: lower left, upper right.
    pub fn frame(&mut self, low: (f32, f32), high: (f32, f32), thick: f32) {
        let (x, y) = (self.x(low.0), self.y(high.1));
        let (wide, high) = ((high.0 - low.0) * UNITS, (high.1 - low.1) * UNITS);
        let width = thick * UNITS;
        let _ = write!(
            self.body,
            "<path d=\"M{x:.1} {y:.1}h{wide:.1}v{high:.1}h-{wide:.1}z\" stroke-width=\"{width:.1}\"/>"
        );
    }

    /// A filled shape of straight edges.
    pub fn shape(&mut self, corners: &[Spot]) {
        let corners: Vec<String> = corners.iter().map(|c| self.at(*c)).collect();
        let _ = write!(
            self.body,
            "<path class=\"f\" d=\"M{}Z\"/>",
            corners.join("L")
        );
    }

    fn beam(&mut self, from: Spot, to: Spot) {
        let half = sizes::BEAM / 2.0;
        let corner = |at: Spot, up: f32| Spot { y: at.y + up, ..at };
        self.shape(&[
            corner(from, half),
            corner(to, half),
            corner(to, -half),
            corner(from, -half),
        ]);
    }

    /// What lies between two curves with the same ends, or nearly.
    fn lens(&mut self, [one, other]: [Bezier; 2]) {
        let [a, b, c, d] = one.0.map(|s| self.at(s));
        let [e, f, g, h] = other.0.map(|s| self.at(s));
        let _ = write!(
            self.body,
            "<path class=\"f\" d=\"M{a}C{b} {c} {d}L{h}C{g} {f} {e}Z\"/>"
        );
    }
}
