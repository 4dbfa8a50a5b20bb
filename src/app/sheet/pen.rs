//! Draws symbols of notation on a painter. It knows sizes and strokes, no music.

use crate::app::fonts::{bold, music, serif};
use crate::notation::glyph_sizes as sizes;
use crate::notation::strokes::{LEDGER, LINE, flag_edges, tie_edges, tuplet_bracket};
use crate::notation::{Base, PlacedGlyph, Spot, Symbol};
use eframe::egui::epaint::{Mesh, Vertex, WHITE_UV};
use eframe::egui::{Align2, Color32, Painter, Pos2, Rect, Shape, Stroke, vec2};

/// Pieces that a curve is drawn with.
const PIECES: usize = 10;

/// A pen for one bar of one stave.
#[derive(Clone, Copy)]
pub struct Pen<'a> {
    /// Where it draws.
    pub painter: &'a Painter,
    /// The left end of the bar on the stave's lowest line, in points.
    pub origin: Pos2,
    /// A stave space in points.
    pub space: f32,
    /// The colour.
    pub ink: Color32,
}

impl Pen<'_> {
    /// A place in points.
    #[must_use]
    pub fn at(&self, spot: Spot) -> Pos2 {
        self.origin + vec2(spot.x, -spot.y) * self.space
    }

    fn xy(&self, x: f32, y: f32) -> Pos2 {
        self.at(Spot { x, y })
    }

    /// The same pen with another colour.
    #[must_use]
    pub const fn in_colour(self, ink: Color32) -> Self {
        Self { ink, ..self }
    }

    /// Draws a symbol.
    pub fn symbol(&self, symbol: &Symbol) {
        match *symbol {
            Symbol::Flag { at, base, up, .. } => self.flags(at, base, up),
            Symbol::Rest { at, base, .. } if matches!(base, Base::Whole | Base::Half) => {
                self.rest_block(at, base);
            }
            Symbol::Dot { at } => {
                let middle = self.xy(at.x + sizes::DOT, at.y);
                let radius = (sizes::DOT * self.space).max(0.8);
                self.painter.circle_filled(middle, radius, self.ink);
            }
            Symbol::Stem {
                x, from_y, to_y, ..
            } => self.stroke(self.xy(x, from_y), self.xy(x, to_y), sizes::STEM),
            Symbol::Ledger { x0, x1, y } => {
                self.stroke(self.xy(x0, y), self.xy(x1, y), LINE * LEDGER);
            }
            Symbol::Beam { from, to } => self.beam(from, to),
            Symbol::Tie {
                from, to, above, ..
            } => self.tie(from, to, above),
            Symbol::Tuplet {
                from,
                to,
                number,
                above,
                bracket,
            } => self.tuplet((from, to), number, above, bracket),
            Symbol::Digits { at, number } => {
                let font = bold(3.0 * self.space);
                let text = number.to_string();
                self.painter
                    .text(self.at(at), Align2::CENTER_CENTER, text, font, self.ink);
            }
            _ => {
                if let Some(placed) = symbol.glyph() {
                    self.glyph(&placed);
                }
            }
        }
    }

    fn stroke(&self, from: Pos2, to: Pos2, thick: f32) {
        let width = (thick * self.space).max(0.7);
        self.painter
            .line_segment([from, to], Stroke::new(width, self.ink));
    }

    /// A sign of the font.
    pub fn glyph(&self, placed: &PlacedGlyph) {
        // Four spaces are an em.
        let size = 4.0 * self.space * placed.glyph.scale;
        let text = placed.glyph.code.to_string();
        let galley = self.painter.layout_no_wrap(text, music(size), self.ink);
        let Some(row) = galley.rows.first() else {
            return;
        };
        let Some(glyph) = row.glyphs.first() else {
            return;
        };
        let base = row.pos + glyph.pos.to_vec2();
        let at = self.at(placed.origin) - base.to_vec2();
        self.painter.galley(at, galley, self.ink);
    }

    /// A sign of the font at a place, such as a dynamic; its origin stands there.
    pub fn sign(&self, at: Spot, code: char, scale: f32) {
        let galley = self.painter.layout_no_wrap(
            code.to_string(),
            music(4.0 * self.space * scale),
            self.ink,
        );
        let Some(row) = galley.rows.first() else {
            return;
        };
        let Some(glyph) = row.glyphs.first() else {
            return;
        };
        let base = row.pos + glyph.pos.to_vec2();
        let at = self.at(at) - base.to_vec2();
        self.painter.galley(at, galley, self.ink);
    }

    fn rest_block(&self, at: Spot, base: Base) {
        let (width, height) = sizes::REST_BLOCK;
        let bottom = if base == Base::Whole {
            at.y + 1.0 - height
        } else {
            at.y
        };
        let rect = Rect::from_two_pos(
            self.xy(at.x, bottom),
            self.xy(at.x + width, bottom + height),
        );
        self.painter.rect_filled(rect, 0.0, self.ink);
    }

    fn beam(&self, from: Spot, to: Spot) {
        let half = vec2(0.0, sizes::BEAM / 2.0 * self.space);
        let (a, b) = (self.at(from), self.at(to));
        let corners = vec![a - half, b - half, b + half, a + half];
        self.painter
            .add(Shape::convex_polygon(corners, self.ink, Stroke::NONE));
    }

    /// A curve that is thick in its middle.
    fn tie(&self, from: Spot, to: Spot, above: bool) {
        let [inner, outer] = tie_edges(from, to, above);
        self.strip(|t| inner.at(t), |t| outer.at(t));
        self.curve(|t| between(inner.at(t), outer.at(t), 0.5), 0.1);
    }

    /// A line along a curve from 0 to 1. It softens the edges of what is filled, which has none by itself.
    fn curve(&self, along: impl Fn(f32) -> Spot, thick: f32) {
        let points = (0..=PIECES).map(|i| self.at(along(i as f32 / PIECES as f32)));
        let width = (thick * self.space).max(0.9);
        let stroke = Stroke::new(width, self.ink);
        self.painter.add(Shape::line(points.collect(), stroke));
    }

    /// Fills between two curves, both from 0 to 1.
    fn strip(&self, one: impl Fn(f32) -> Spot, other: impl Fn(f32) -> Spot) {
        let mut mesh = Mesh::default();
        for i in 0..=PIECES {
            let t = i as f32 / PIECES as f32;
            for spot in [one(t), other(t)] {
                mesh.vertices.push(Vertex {
                    pos: self.at(spot),
                    uv: WHITE_UV,
                    color: self.ink,
                });
            }
        }
        for i in 0..PIECES as u32 {
            mesh.add_triangle(2 * i, 2 * i + 1, 2 * i + 2);
            mesh.add_triangle(2 * i + 1, 2 * i + 2, 2 * i + 3);
        }
        self.painter.add(Shape::mesh(mesh));
    }

    /// Flags of our own drawing: the same up and down.
    fn flags(&self, at: Spot, base: Base, up: bool) {
        for number in 0..base.flags() {
            let [upper, lower] = flag_edges(at, up, number);
            self.strip(|t| upper.at(t), |t| lower.at(t));
            self.curve(|t| between(upper.at(t), lower.at(t), 0.32), 0.14);
        }
    }

    fn tuplet(&self, (from, to): (Spot, Spot), number: u8, above: bool, bracket: bool) {
        let (strokes, middle) = tuplet_bracket(from, to, above);
        let font = serif(1.9 * self.space);
        let text = number.to_string();
        self.painter
            .text(self.at(middle), Align2::CENTER_CENTER, text, font, self.ink);
        let strokes = strokes.into_iter().filter(|_| bracket);
        strokes.for_each(|(a, b)| self.stroke(self.at(a), self.at(b), LINE));
    }

    /// Chevrons at a notehead: up where it is too high for the players, down where it is too low; one, two or
    /// three.
    pub fn chevrons(&self, middle: Spot, up: bool, count: u8) {
        let turn = if up { 1.0 } else { -1.0 };
        for i in 0..count.min(3) {
            let y = middle.y + turn * (1.15 + 0.55 * f32::from(i));
            let points = [
                self.xy(middle.x - 0.6, y),
                self.xy(middle.x, y + turn * 0.45),
                self.xy(middle.x + 0.6, y),
            ];
            let width = (0.2 * self.space).max(1.0);
            self.painter
                .add(Shape::line(points.to_vec(), Stroke::new(width, self.ink)));
        }
    }

    /// The five lines of a stave, from x to x.
    pub fn stave(&self, x0: f32, x1: f32) {
        let width = (LINE * self.space).clamp(0.6, 1.4);
        for line in 0..5 {
            let y = line as f32;
            let (a, b) = (self.xy(x0, y), self.xy(x1, y));
            self.painter
                .line_segment([a, b], Stroke::new(width, self.ink));
        }
    }
}

/// What lies between two places, at a share of the way.
fn between(from: Spot, to: Spot, share: f32) -> Spot {
    Spot {
        x: from.x + share * (to.x - from.x),
        y: from.y + share * (to.y - from.y),
    }
}

impl Pen<'_> {
    /// Short bars under a notehead: it is hard for another reason than its height; one, two or three.
    pub fn bars(&self, middle: Spot, count: u8) {
        for i in 0..count.min(3) {
            let y = middle.y - 1.15 - 0.42 * f32::from(i);
            self.stroke(self.xy(middle.x - 0.5, y), self.xy(middle.x + 0.5, y), 0.18);
        }
    }

    /// A ground behind a notehead.
    pub fn halo(&self, head: Spot) {
        let middle = self.xy(head.x + 0.6, head.y);
        let size = vec2(2.4, 2.0) * self.space;
        let rect = Rect::from_center_size(middle, size);
        self.painter.rect_filled(rect, 0.5 * self.space, self.ink);
    }
}
