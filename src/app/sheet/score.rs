//! The staves: what is seen of them is painted, and what is done to them is asked for.

use super::engraved::Engraved;
use super::hit::{Hit, hit};
use super::lanes::{Lane, Whose, lane_at};
use super::marks;
use super::pen::Pen;
use crate::app::fonts::words;
use crate::app::scene::Scene;
use crate::app::session::Changed;
use crate::app::view::SIGNS_FROM;
use crate::app::wants::Want;
use crate::band::PartId;
use crate::music::BarNumber;
use crate::notation::{Opening, Symbol};
use crate::project::work::{NoteId, Selection};
use crate::score::{Draft, Role};
use eframe::egui::{
    Align2, Color32, CursorIcon, Painter, PointerButton, Rect, Response, Role as Access, Sense,
    Stroke, Ui, Vec2, WidgetInfo, pos2, vec2,
};

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

/// What is being dragged on the sheet.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub enum Drag {
    /// Nothing.
    #[default]
    None,
    /// A frame over bars and parts, from where it began.
    Frame(BarNumber, f32),
    /// A note: which, and its height when the drag began, in staff spaces.
    Note(NoteId, f32),
    /// The sheet itself.
    Sheet,
}

/// Where things stand on the screen.
#[derive(Clone, Copy, Debug)]
pub struct Place {
    /// The whole region.
    pub rect: Rect,
    /// Where bars begin: right of clefs and signatures.
    pub bars_left: f32,
    /// A staff space in points.
    pub space: f32,
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
        self.rect.top() + (spaces - self.top) * self.space
    }

    /// The other way round.
    #[must_use]
    pub fn spaces(&self, at: eframe::egui::Pos2) -> Vec2 {
        vec2(
            (at.x - self.bars_left) / self.space + self.left,
            (at.y - self.rect.top()) / self.space + self.top,
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
        (self.top, self.top + self.rect.height() / self.space)
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
    marks::strip(&ui.painter_at(whole), shown, &place);
    pointing(ui, &response, shown, &place, drag, wants);
    access(ui, shown, &place, &response);
    place
}

fn lanes_seen<'a>(shown: &Shown<'a>, place: &Place) -> impl Iterator<Item = (usize, Lane, usize)> {
    let (from, to) = place.seen_y();
    let staves: Vec<(usize, Lane, usize)> = shown
        .engraved
        .staves()
        .filter(|(_, l, _)| l.top + l.height > from && l.top < to)
        .map(|(i, l, within)| (i, *l, within))
        .collect();
    staves.into_iter()
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
            ..pen
        };
        pen.stave(0.0, (right - place.rect.left()).max(0.0) / place.space);
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
    for bar in seen {
        let number = BarNumber(bar as u32 + 1);
        let Some((left, right)) = shown.engraved.bar_span(number) else {
            continue;
        };
        for (stave, lane, within) in lanes_seen(shown, place) {
            let pen = pen(painter, place, &lane, within, left, palette.ink);
            let symbols = shown.engraved.symbols(stave, bar);
            if place.space < SIGNS_FROM {
                strokes(&pen, symbols);
            } else {
                notes(&pen, shown, (stave, bar), &lane, symbols);
            }
            let bar_line = Stroke::new((0.12 * place.space).clamp(0.6, 1.6), palette.ink);
            let x = place.x(right);
            let y = place.y(lane.bottom_line(within));
            painter.vline(x, (y - 4.0 * place.space)..=y, bar_line);
        }
    }
}

/// Notes as short strokes, where the sheet is too small for signs.
fn strokes(pen: &Pen<'_>, symbols: &[Symbol]) {
    for symbol in symbols {
        if let Symbol::Head { at, .. } = symbol {
            let middle = pen.at(*at);
            let size = vec2((1.6 * pen.space).max(1.2), (1.1 * pen.space).max(1.0));
            let rect = Rect::from_center_size(middle + vec2(size.x / 2.0, 0.0), size);
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

/// What the pointer does.
fn pointing(
    ui: &Ui,
    response: &Response,
    shown: &Shown<'_>,
    place: &Place,
    drag: &mut Drag,
    wants: &mut Vec<Want>,
) {
    scrolled(ui, response, shown, place, wants);
    let Some(at) = response.interact_pointer_pos().or(response.hover_pos()) else {
        return;
    };
    let spaces = place.spaces(at);
    let under = hit(shown, place, at);
    if matches!(under, Hit::Note(_) | Hit::Sketch(_)) {
        ui.set_cursor_icon(CursorIcon::PointingHand);
    }
    let shift = ui.input(|i| i.modifiers.shift);
    if response.drag_started_by(PointerButton::Middle) {
        *drag = Drag::Sheet;
    } else if response.drag_started_by(PointerButton::Primary) {
        // What was pressed counts, not where the pointer has come to meanwhile.
        let origin = ui.input(|i| i.pointer.press_origin()).unwrap_or(at);
        *drag = match hit(shown, place, origin) {
            Hit::Note(note) => {
                wants.push(Want::Select(Some(selected(shown, note))));
                Drag::Note(note, place.spaces(origin).y)
            }
            _ => match shown.engraved.bar_at(place.spaces(origin).x) {
                Some(bar) => Drag::Frame(bar, place.spaces(origin).y),
                None => Drag::None,
            },
        };
    }
    if response.dragged() {
        match *drag {
            Drag::Sheet => {
                let by = response.drag_delta() / place.space;
                wants.push(Want::Look(place.left - by.x, place.top - by.y));
            }
            Drag::Frame(bar, y) => {
                let to = shown.engraved.bar_at(spaces.x).unwrap_or(bar);
                wants.push(Want::Select(framed(shown, (bar, to), (y, spaces.y))));
            }
            Drag::Note(note, y) => dragged_note(shown, note, y - spaces.y, drag, spaces.y, wants),
            Drag::None => {}
        }
    }
    if response.drag_stopped() {
        *drag = Drag::None;
    }
    if response.clicked() {
        response.request_focus();
        clicked(shown, &under, spaces, shift, wants);
    }
}

/// A note dragged up or down: half a staff space is a step of the scale.
fn dragged_note(
    shown: &Shown<'_>,
    note: NoteId,
    up: f32,
    drag: &mut Drag,
    y: f32,
    wants: &mut Vec<Want>,
) {
    if up.abs() < 0.5 {
        return;
    }
    let reading = &shown.scene.look.ready.reading;
    let key = reading.key(note.onset).map(|k| k.signature.key());
    let turn = if up > 0.0 { 1 } else { -1 };
    let mut midi = i32::from(note.pitch.midi());
    loop {
        midi += turn;
        let pitch = u8::try_from(midi)
            .ok()
            .and_then(crate::music::Sounding::new);
        let Some(pitch) = pitch else {
            return;
        };
        if key.is_none_or(|k| k.has(pitch.class())) {
            wants.push(Want::Drag(note, pitch));
            *drag = Drag::Note(NoteId { pitch, ..note }, y);
            return;
        }
    }
}

fn scrolled(ui: &Ui, response: &Response, shown: &Shown<'_>, place: &Place, wants: &mut Vec<Want>) {
    if !response.contains_pointer() {
        return;
    }
    let (mut by, zoom) = ui.input(|i| (i.smooth_scroll_delta(), i.zoom_delta()));
    if zoom != 1.0 {
        wants.push(Want::Zoom(zoom > 1.0));
        return;
    }
    if by == Vec2::ZERO {
        return;
    }
    // A wheel alone goes through the score from top to bottom where that is taller than the window, else
    // along the bars.
    let (height, seen) = (
        super::lanes::height(shown.engraved.lanes()),
        place.rect.height() / place.space,
    );
    if height <= seen {
        by = vec2(by.x + by.y, 0.0);
    }
    let most_left = (shown.engraved.width() - 10.0).max(0.0);
    let most_top = (height - seen * 0.5).max(0.0);
    wants.push(Want::Look(
        (place.left - by.x / place.space).clamp(0.0, most_left),
        (place.top - by.y / place.space).clamp(0.0, most_top),
    ));
}

/// The selection of one note.
fn selected(shown: &Shown<'_>, note: NoteId) -> Selection {
    let bar = shown.scene.look.song.meters.bar(note.onset);
    Selection {
        note: Some(note),
        ..Selection::of(bar, bar, [note.part])
    }
}

/// The selection of bars and of all parts between two heights.
fn framed(
    shown: &Shown<'_>,
    bars: (BarNumber, BarNumber),
    (y, z): (f32, f32),
) -> Option<Selection> {
    let (from, to) = (y.min(z), y.max(z));
    let lanes = shown.engraved.lanes().iter();
    let parts: Vec<PartId> = lanes
        .filter(|l| l.top < to && l.top + l.height > from)
        .filter_map(|l| match l.whose {
            Whose::Part(id) => Some(id),
            Whose::Sketch => None,
        })
        .collect();
    (!parts.is_empty()).then(|| Selection::of(bars.0, bars.1, parts))
}

fn clicked(shown: &Shown<'_>, under: &Hit, at: Vec2, shift: bool, wants: &mut Vec<Want>) {
    let scene = shown.scene;
    match under {
        Hit::Note(note) if !shift => wants.push(Want::Select(Some(selected(shown, *note)))),
        Hit::Sketch(index) => {
            let mut all = if shift {
                scene.sketch_notes.to_vec()
            } else {
                Vec::new()
            };
            match all.iter().position(|i| i == index) {
                Some(there) => {
                    all.remove(there);
                }
                None => all.push(*index),
            }
            wants.push(Want::SelectSketch(all));
        }
        _ => {
            let lane = lane_at(shown.engraved.lanes(), at.y);
            let bar = shown.engraved.bar_at(at.x);
            let (Some(Whose::Part(part)), Some(bar)) = (lane.map(|l| l.whose), bar) else {
                wants.push(Want::Select(None));
                return;
            };
            let next = match scene.selection.filter(|_| shift) {
                Some(before) => {
                    let parts = before.parts.iter().copied().chain([part]);
                    let first = before.bars.0.min(bar);
                    Selection::of(first, before.bars.1.max(bar), between(shown, parts))
                }
                None => Selection::of(bar, bar, [part]),
            };
            wants.push(Want::Select(Some(next)));
        }
    }
}

/// All parts from the uppermost to the lowest of some, as they stand in the score.
fn between(shown: &Shown<'_>, parts: impl Iterator<Item = PartId>) -> Vec<PartId> {
    let parts: Vec<PartId> = parts.collect();
    let lanes = shown.engraved.lanes().iter();
    let order: Vec<PartId> = lanes
        .filter_map(|l| match l.whose {
            Whose::Part(id) => Some(id),
            Whose::Sketch => None,
        })
        .collect();
    let places = order.iter().enumerate().filter(|(_, p)| parts.contains(p));
    let places: Vec<usize> = places.map(|(i, _)| i).collect();
    match (places.first(), places.last()) {
        (Some(first), Some(last)) => order[*first..=*last].to_vec(),
        _ => parts,
    }
}

/// What a screen reader is told: the sheet as a whole, and each note that is seen.
fn access(ui: &Ui, shown: &Shown<'_>, place: &Place, response: &Response) {
    let said = marks::selection_in_words(shown);
    response.widget_info(|| WidgetInfo::labeled(Access::Canvas, true, format!("Score. {said}")));
    let listening = ui.ctx().accesskit_node_builder(response.id, |_| ());
    if listening.is_none() {
        return;
    }
    let (from, to) = place.seen_x();
    for bar in shown.engraved.seen(from, to) {
        for (stave, lane, within) in lanes_seen(shown, place) {
            let Whose::Part(part) = lane.whose else {
                continue;
            };
            for symbol in shown.engraved.symbols(stave, bar) {
                let Symbol::Head { at, index, .. } = symbol else {
                    continue;
                };
                let Some(source) = shown.engraved.source(stave, bar, *index) else {
                    continue;
                };
                let number = BarNumber(bar as u32 + 1);
                let left = shown.engraved.bar_span(number).map_or(0.0, |s| s.0);
                let middle = pos2(
                    place.x(left + at.x + 0.6),
                    place.y(lane.bottom_line(within) - at.y),
                );
                let rect = Rect::from_center_size(middle, Vec2::splat(1.2 * place.space));
                let id = response.id.with(("note", stave, bar, *index));
                let note = ui.interact(rect, id, Sense::focusable_noninteractive());
                let text = note_in_words(shown, part, &source);
                note.widget_info(|| WidgetInfo::labeled(Access::Label, true, &text));
            }
        }
    }
}

/// A note for a screen reader: bar, part, note, role, clean chance.
fn note_in_words(shown: &Shown<'_>, part: PartId, source: &super::engraved::Source) -> String {
    let look = shown.scene.look;
    let place = look.song.meters.place(source.onset);
    let name = look
        .document
        .band
        .parts
        .get(part.0)
        .map_or("", |p| p.name.as_str());
    let line = shown.draft.lines.get(part.0);
    let note = line.and_then(|l| l.notes.iter().find(|n| n.onset == source.onset));
    let role = note.map_or(Role::Harmony, |n| n.role);
    let clean = shown.scene.chance(part, source.onset);
    let clean = clean.map_or(String::new(), |c| {
        format!(", clean {:.0} times in 100", c * 100.0)
    });
    let locked = if note.is_some_and(|n| n.locked) {
        ", locked"
    } else {
        ""
    };
    let pitch = marks::pitch_name(shown, part, source.onset, source.pitch);
    format!("{place}, {name}: {pitch}, {role}{clean}{locked}")
}

/// The size of words on the sheet, in points.
#[must_use]
pub fn small(space: f32) -> eframe::egui::FontId {
    words((2.0 * space).clamp(9.0, 16.0))
}

/// A word on the sheet.
pub fn word(painter: &Painter, at: eframe::egui::Pos2, text: &str, space: f32, ink: Color32) {
    painter.text(at, Align2::LEFT_BOTTOM, text, small(space), ink);
}
