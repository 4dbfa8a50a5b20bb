//! The staves: what is seen of them is painted, and what is done to them is asked for.

use super::access::access;
use super::engraved::Engraved;
use super::lanes::{Lane, Whose};
use super::marks;
use super::pen::Pen;
use super::pointing::{Drag, pointing};
use crate::app::fonts::words;
use crate::app::scene::Scene;
use crate::app::session::Changed;
use crate::app::view::SIGNS_FROM;
use crate::app::wants::Want;
use crate::band::PartId;
use crate::music::BarNumber;
use crate::notation::{Opening, Symbol};
use crate::score::Draft;
use eframe::egui::{Color32, Painter, Rect, Sense, Stroke, Ui, Vec2, pos2, vec2};

/// The strip above the staves for bar numbers and rehearsal marks, in points.
pub const STRIP: f32 = 22.0;
/// Under this chance a note is strained; under the next it is more so, and so on (ours: halves of the step from
/// what is comfortable, .95, to the stretch, .60).
const STRAINED: [f64; 3] = [0.9, 0.75, 0.6];

/// What the sheet shows besides the scene.
#[derive(Clone, Copy)]
pub struct Shown<'a> {
    /// What there is to see.
    pub scene: &'a Scene<'a>,
    /// The notation.
    pub engraved: &'a Engraved,
    /// The draft that the notation is of.
    pub draft: &'a Draft,
    /// Notes that the last solve changed.
    pub changed: Option<&'a Changed>,
}

/// Where things stand on the screen.
#[derive(Clone, Copy, Debug)]
pub struct Place {
    /// The whole region.
    pub rect: Rect,
    /// Where bars begin: right of clefs and signatures.
    pub bars_left: f32,
    /// A staff space in points, from left to right.
    pub space: f32,
    /// A staff space in points, from top to bottom.
    pub space_down: f32,
    /// What stands at the left end of the bars, in staff spaces.
    pub left: f32,
    /// What stands at the upper edge, in staff spaces.
    pub top: f32,
}

impl Place {
    /// A distance from the first bar, on the screen.
    #[must_use]
    pub fn x(&self, spaces: f32) -> f32 {
        self.bars_left + (spaces - self.left) * self.space
    }

    /// A height in the score, on the screen.
    #[must_use]
    pub fn y(&self, spaces: f32) -> f32 {
        self.rect.top() + (spaces - self.top) * self.space_down
    }

    /// The other way round.
    #[must_use]
    pub fn spaces(&self, at: eframe::egui::Pos2) -> Vec2 {
        vec2(
            (at.x - self.bars_left) / self.space + self.left,
            (at.y - self.rect.top()) / self.space_down + self.top,
        )
    }

    /// What is seen of the bars, in staff spaces: from and to.
    #[must_use]
    pub fn seen_x(&self) -> (f32, f32) {
        (
            self.left,
            self.left + (self.rect.right() - self.bars_left) / self.space,
        )
    }

    /// What is seen of the lanes, in staff spaces: from and to.
    #[must_use]
    pub fn seen_y(&self) -> (f32, f32) {
        (self.top, self.top + self.rect.height() / self.space_down)
    }
}

/// Paints the staves into the rest of the space and gives what was asked for.
pub fn score_ui(ui: &mut Ui, shown: &Shown<'_>, drag: &mut Drag, wants: &mut Vec<Want>) -> Place {
    let whole = ui.available_rect_before_wrap();
    let response = ui.allocate_rect(whole, Sense::click_and_drag());
    let rect = Rect::from_min_max(whole.min + vec2(0.0, STRIP), whole.max);
    let scene = shown.scene;
    let space = scene.view.space();
    let first = shown
        .engraved
        .seen(scene.view.left, scene.view.left + 1.0)
        .start;
    let openings = shown.engraved.openings(first);
    let opening = openings.iter().map(|o| o.width).fold(0.0, f32::max);
    let opening = if space < SIGNS_FROM { 0.5 } else { opening };
    let place = Place {
        rect,
        bars_left: rect.left() + opening * space,
        space,
        space_down: scene.view.space_down(),
        left: scene.view.left,
        top: scene.view.top,
    };
    let painter = ui.painter_at(rect);
    grounds(&painter, shown, &place);
    let bars_rect = Rect::from_min_max(pos2(place.bars_left, rect.top()), rect.max);
    let inner = painter.with_clip_rect(bars_rect.expand2(vec2(0.5, 0.0)));
    marks::locks(&inner, shown, &place);
    marks::selection(&inner, shown, &place);
    bars(&inner, shown, &place);
    marks::lock_brackets(&inner, shown, &place);
    openings_ui(&painter, shown, &place, &openings);
    marks::over(&inner, shown, &place);
    moving_line(&inner, shown, &place);
    marks::strip(&ui.painter_at(whole), shown, &place);
    pointing(ui, &response, shown, &place, drag, wants);
    access(ui, shown, &place, &response);
    place
}

/// The line that moves with the music that is heard.
fn moving_line(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    let Some(at) = shown.scene.line else {
        return;
    };
    let x = place.x(shown.engraved.x_at(at));
    let ink = shown.scene.palette.accent;
    let soft = Rect::from_x_y_ranges((x - 3.0)..=(x + 3.0), place.rect.y_range());
    painter.rect_filled(soft, 0.0, ink.gamma_multiply(0.16));
    painter.vline(x, place.rect.y_range(), Stroke::new(1.6, ink));
}

/// The staves that are seen: which, its lane, and its place in it.
pub(super) fn lanes_seen(shown: &Shown<'_>, place: &Place) -> Vec<(usize, Lane, usize)> {
    let (from, to) = place.seen_y();
    let seen = |(_, l, _): &(usize, &Lane, usize)| l.top + l.height > from && l.top < to;
    let staves = shown.engraved.staves().filter(seen);
    staves.map(|(i, l, within)| (i, *l, within)).collect()
}

/// The tints of the regions, and the stave lines.
fn grounds(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    let palette = shown.scene.palette;
    painter.rect_filled(place.rect, 0.0, palette.paper);
    for lane in shown.engraved.lanes() {
        let band = Rect::from_min_max(
            pos2(place.rect.left(), place.y(lane.top)),
            pos2(place.rect.right(), place.y(lane.top + lane.height)),
        );
        painter.rect_filled(band, 0.0, palette.ground(lane.region));
        if lane.whose == Whose::Sketch {
            let edge = Stroke::new(1.5, palette.sketch_edge);
            painter.hline(band.x_range(), band.top(), edge);
            painter.hline(band.x_range(), band.bottom(), edge);
        }
    }
    let right = place.x(shown.engraved.width()).min(place.rect.right());
    for (_, lane, within) in lanes_seen(shown, place) {
        let pen = pen(painter, place, &lane, within, 0.0, palette.stave);
        let pen = Pen {
            origin: pos2(place.rect.left(), pen.origin.y),
            space: place.space_down,
            ..pen
        };
        pen.stave(0.0, (right - place.rect.left()).max(0.0) / place.space_down);
    }
}

fn pen<'a>(
    painter: &'a Painter,
    place: &Place,
    lane: &Lane,
    within: usize,
    left: f32,
    ink: Color32,
) -> Pen<'a> {
    Pen {
        painter,
        origin: pos2(place.x(left), place.y(lane.bottom_line(within))),
        space: place.space,
        ink,
    }
}

/// Clefs, signatures and meters at the left.
fn openings_ui(painter: &Painter, shown: &Shown<'_>, place: &Place, openings: &[Opening]) {
    let palette = shown.scene.palette;
    if place.space < SIGNS_FROM {
        return;
    }
    for (stave, lane, within) in lanes_seen(shown, place) {
        let Some(opening) = openings.get(stave) else {
            continue;
        };
        let pen = Pen {
            origin: pos2(place.rect.left(), place.y(lane.bottom_line(within))),
            ..pen(painter, place, &lane, within, 0.0, palette.ink)
        };
        for symbol in &opening.symbols {
            pen.symbol(symbol);
        }
    }
}

/// The bars that are seen.
fn bars(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    let (from, to) = place.seen_x();
    let seen = shown.engraved.seen(from, to);
    let palette = shown.scene.palette;
    let staves = lanes_seen(shown, place);
    for bar in seen {
        let number = BarNumber(bar as u32 + 1);
        let Some((left, right)) = shown.engraved.bar_span(number) else {
            continue;
        };
        for &(stave, lane, within) in &staves {
            let pen = pen(painter, place, &lane, within, left, palette.ink);
            let symbols = shown.engraved.symbols(stave, bar);
            if place.space < SIGNS_FROM {
                strokes(&pen, place, symbols);
            } else {
                notes(&pen, shown, (stave, bar), &lane, symbols);
            }
            let bar_line = Stroke::new((0.12 * place.space).clamp(0.6, 1.6), palette.ink);
            let x = place.x(right);
            let y = place.y(lane.bottom_line(within));
            painter.vline(x, (y - 4.0 * place.space_down)..=y, bar_line);
        }
    }
}

/// Notes as short strokes, where the sheet is too small for signs.
fn strokes(pen: &Pen<'_>, place: &Place, symbols: &[Symbol]) {
    let size = vec2(
        (1.6 * place.space).max(1.2),
        (1.1 * place.space_down).max(1.0),
    );
    for symbol in symbols {
        if let Symbol::Head { at, .. } = symbol {
            let left = pen.origin + vec2(at.x * place.space, -at.y * place.space_down);
            let rect = Rect::from_center_size(left + vec2(size.x / 2.0, 0.0), size);
            pen.painter.rect_filled(rect, 0.0, pen.ink);
        }
    }
}

fn notes(
    pen: &Pen<'_>,
    shown: &Shown<'_>,
    (stave, bar): (usize, usize),
    lane: &Lane,
    symbols: &[Symbol],
) {
    let palette = shown.scene.palette;
    for symbol in symbols {
        let index = match symbol {
            Symbol::Head { index, .. }
            | Symbol::Stem { index, .. }
            | Symbol::Flag { index, .. } => Some(*index),
            _ => None,
        };
        let source = index.and_then(|i| shown.engraved.source(stave, bar, i));
        let Some(source) = source else {
            pen.symbol(symbol);
            continue;
        };
        match lane.whose {
            Whose::Part(part) => {
                let selected = shown.scene.selection.and_then(|s| s.note).is_some_and(|n| {
                    (n.part, n.onset, n.pitch) == (part, source.onset, source.pitch)
                });
                let ink = if selected {
                    palette.accent
                } else {
                    palette.ink
                };
                if let Symbol::Head { at, .. } = symbol {
                    let changed = shown.changed;
                    if changed.is_some_and(|c| c.has(part, source.onset, source.pitch)) {
                        pen.in_colour(palette.changed).halo(*at);
                    }
                    if selected {
                        pen.in_colour(palette.accent_ground).halo(*at);
                    }
                    strain(pen, shown, part, source.onset, *at);
                }
                pen.in_colour(ink).symbol(symbol);
            }
            Whose::Sketch => {
                let selected = shown.scene.sketch_notes.contains(&source.index);
                let ink = if selected {
                    palette.accent
                } else {
                    palette.ink
                };
                if let Symbol::Head { at, .. } = symbol {
                    if selected {
                        pen.in_colour(palette.accent_ground).halo(*at);
                    }
                    let notes = &shown.scene.look.ready.reading.notes;
                    if let Some(note) = notes.get(source.index) {
                        marks::line_mark(&pen.in_colour(palette.accent), *at, note.line);
                    }
                }
                pen.in_colour(ink).symbol(symbol);
            }
        }
    }
}

/// Marks where the players are strained, one to three of them: chevrons up where the note lies over what is
/// comfortable, down where it lies under it, bars where something else makes it hard.
fn strain(
    pen: &Pen<'_>,
    shown: &Shown<'_>,
    part: PartId,
    at: crate::music::Tick,
    spot: crate::notation::Spot,
) {
    let scene = shown.scene;
    let Some(chance) = scene.chance(part, at) else {
        return;
    };
    let count = STRAINED.iter().filter(|limit| chance < **limit).count();
    if count == 0 {
        return;
    }
    let band = &scene.look.document.band;
    let line = shown.draft.lines.get(part.0);
    let note = line.and_then(|l| l.notes.iter().find(|n| n.onset == at));
    let Some((about, note)) = band.parts.get(part.0).zip(note) else {
        return;
    };
    let range = about.limits.comfortable;
    let spot = crate::notation::Spot {
        x: spot.x + 0.6,
        y: spot.y,
    };
    let pen = pen.in_colour(scene.palette.strain);
    if note.pitch > range.high || note.pitch < range.low {
        pen.chevrons(spot, note.pitch > range.high, count as u8);
    } else {
        pen.bars(spot, count as u8);
    }
}

/// The size of words on the sheet, in points.
#[must_use]
pub fn small(space: f32) -> eframe::egui::FontId {
    words((2.0 * space).clamp(9.0, 16.0))
}
