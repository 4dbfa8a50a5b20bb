//! What stands on the staves beside the notes: locks, the selection, chords, rehearsal marks, dynamics.

use super::dynamics;
use super::lanes::{Lane, Whose};
use super::pen::Pen;
use super::score::{Place, Shown};
use crate::app::fonts::{bold, serif};
use crate::app::view::SIGNS_FROM;
use crate::band::PartId;
use crate::music::{BarNumber, Sounding, Tick};
use crate::notation::{Spot, Writing, concert_name};
use crate::project::work::{bars_in_words, parts_in_words};
use crate::score::as_ranges;
use crate::sketch::Line;
use eframe::egui::{Align2, Painter, Rect, Shape, Stroke, pos2, vec2};

/// Room inside a lane that locks and selections leave, in staff spaces.
const INSET: f32 = 0.5;

/// The rectangle of some bars of a lane on the screen.
fn cell(
    shown: &Shown<'_>,
    place: &Place,
    lane: &Lane,
    bars: (BarNumber, BarNumber),
) -> Option<Rect> {
    let (left, _) = shown.engraved.bar_span(bars.0)?;
    let last = BarNumber(bars.1.0.min(shown.engraved.bars() as u32));
    let (_, right) = shown.engraved.bar_span(last)?;
    Some(Rect::from_min_max(
        pos2(place.x(left), place.y(lane.top + INSET)),
        pos2(place.x(right), place.y(lane.top + lane.height - INSET)),
    ))
}

/// Every locked stretch of every lane on the screen.
fn locked(shown: &Shown<'_>, place: &Place) -> Vec<(Lane, Rect)> {
    let mut all = Vec::new();
    let (now, look) = (shown.scene.now, &shown.scene.look.document);
    let document = if now.reads_like(look) { now } else { look };
    for lane in shown.engraved.lanes() {
        let Whose::Part(part) = lane.whose else {
            continue;
        };
        let Some(lock) = document.locks.of(part) else {
            continue;
        };
        for bars in as_ranges(lock.bars.0.iter().copied()) {
            let rect = cell(shown, place, lane, bars);
            all.extend(rect.map(|r| (*lane, r)));
        }
    }
    all.retain(|(_, r)| place.rect.intersects(*r));
    all
}

/// The shade of locks.
pub fn locks(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    for (_, rect) in locked(shown, place) {
        painter.rect_filled(rect, 3.0, shown.scene.palette.lock_ground);
    }
}

/// Brackets at the corners of locks, and the word.
pub fn lock_brackets(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    let ink = shown.scene.palette.lock;
    let stroke = Stroke::new(2.0, ink);
    for (_, rect) in locked(shown, place) {
        let arm = (1.6 * place.space).clamp(4.0, 12.0).min(rect.width() / 2.0);
        let high = arm.min(rect.height() / 3.0);
        let corners = [
            (rect.left_top(), 1.0, 1.0),
            (rect.right_top(), -1.0, 1.0),
            (rect.left_bottom(), 1.0, -1.0),
            (rect.right_bottom(), -1.0, -1.0),
        ];
        for (at, x, y) in corners {
            let points = vec![at + vec2(x * arm, 0.0), at, at + vec2(0.0, y * high)];
            painter.add(Shape::line(points, stroke));
        }
        if place.space >= SIGNS_FROM && rect.width() > 60.0 {
            painter.text(
                rect.right_top() + vec2(-arm - 4.0, 1.0),
                Align2::RIGHT_TOP,
                "locked",
                super::score::small(place.space * 0.9),
                ink,
            );
        }
    }
}

/// What is selected: bars and parts, framed.
pub fn selection(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    let palette = shown.scene.palette;
    let Some(selection) = shown.scene.selection else {
        return;
    };
    if selection.note.is_some() {
        return;
    }
    for lane in shown.engraved.lanes() {
        let Whose::Part(part) = lane.whose else {
            continue;
        };
        if !selection.parts.contains(&part) {
            continue;
        }
        if let Some(rect) = cell(shown, place, lane, selection.bars) {
            painter.rect_filled(rect, 3.0, palette.accent_ground);
            let edge = Stroke::new(1.5, palette.accent);
            painter.rect_stroke(rect, 3.0, edge, eframe::egui::StrokeKind::Inside);
        }
    }
}

/// Chords, dynamics, breaths.
pub fn over(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    if place.space >= SIGNS_FROM {
        chords(painter, shown, place);
        dynamics::dynamics(painter, shown, place);
        dynamics::breaths(painter, shown, place);
    }
}

/// The strip above the staves: bar numbers and rehearsal marks.
pub fn strip(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    let palette = shown.scene.palette;
    let top = place.rect.top() - super::score::STRIP;
    let strip = Rect::from_min_max(
        pos2(place.rect.left(), top),
        pos2(place.rect.right(), place.rect.top()),
    );
    painter.rect_filled(strip, 0.0, palette.paper);
    painter.hline(
        strip.x_range(),
        strip.bottom(),
        Stroke::new(1.0, palette.rule),
    );
    let inner = painter.with_clip_rect(strip.with_min_x(place.bars_left - 2.0));
    bar_numbers(&inner, shown, place);
    rehearsal_marks(&inner, shown, place);
}

fn bar_numbers(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    let palette = shown.scene.palette;
    let font = crate::app::fonts::words(11.0);
    let (from, to) = place.seen_x();
    let mut free = f32::MIN;
    for bar in shown.engraved.seen(from, to) {
        let number = BarNumber(bar as u32 + 1);
        let Some((left, _)) = shown.engraved.bar_span(number) else {
            continue;
        };
        let x = place.x(left) + 3.0;
        if x < free {
            continue;
        }
        // A rehearsal mark stands behind the number of its bar and needs its room.
        let markers = shown.scene.look.song.markers.iter();
        let letters = markers
            .filter(|m| shown.scene.look.song.meters.bar(m.at) == number)
            .map(|m| m.text.chars().count())
            .max();
        free = x + letters.map_or(26.0, |n| 34.0 + 7.5 * n as f32);
        let at = pos2(x, place.rect.top() - 4.0);
        painter.text(
            at,
            Align2::LEFT_BOTTOM,
            number.to_string(),
            font.clone(),
            palette.faint_ink,
        );
    }
}

fn rehearsal_marks(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    let palette = shown.scene.palette;
    let meters = &shown.scene.look.song.meters;
    for marker in &shown.scene.look.song.markers {
        let bar = meters.bar(marker.at);
        let left = shown.engraved.bar_span(bar).map_or(0.0, |s| s.0);
        // Behind the number of its bar.
        let number = 8.0 * (1.0 + f64::from(bar.0.max(1)).log10().floor() as f32);
        let x = place.x(left) + 8.0 + number;
        if x < place.bars_left - 4.0 || x > place.rect.right() {
            continue;
        }
        let galley = painter.layout_no_wrap(marker.text.clone(), bold(12.0), palette.ink);
        let at = pos2(x + 4.0, place.rect.top() - 20.0);
        let frame = Rect::from_min_size(at, galley.size()).expand2(vec2(4.0, 1.0));
        painter.rect_filled(frame, 2.0, palette.paper);
        painter.rect_stroke(
            frame,
            2.0,
            Stroke::new(1.0, palette.ink),
            eframe::egui::StrokeKind::Inside,
        );
        painter.galley(at, galley, palette.ink);
    }
}

fn chords(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    let palette = shown.scene.palette;
    let Some(lane) = shown
        .engraved
        .lanes()
        .iter()
        .find(|l| l.whose == Whose::Sketch)
    else {
        return;
    };
    let y = place.y(lane.top + 3.2);
    if y < place.rect.top() || y > place.rect.bottom() {
        return;
    }
    let reading = &shown.scene.look.ready.reading;
    let font = serif((2.3 * place.space).clamp(10.0, 20.0));
    let mut free = f32::MIN;
    for span in &reading.chords {
        let x = place.x(shown.engraved.x_at(span.start));
        if x < free || x < place.bars_left - 2.0 || x > place.rect.right() {
            continue;
        }
        let text = crate::sketch::chord_label(reading, span);
        let drawn = painter.text(
            pos2(x, y),
            Align2::LEFT_BOTTOM,
            text,
            font.clone(),
            palette.ink,
        );
        free = drawn.right() + 6.0;
    }
}

/// The mark of a line at a note of the sketch: by shape, so that it needs no colour.
pub fn line_mark(pen: &Pen<'_>, at: Spot, line: Line) {
    let middle = pen.at(Spot {
        x: at.x - 0.75,
        y: at.y,
    });
    let size = (0.42 * pen.space).max(1.5);
    let stroke = Stroke::new((0.16 * pen.space).max(0.8), pen.ink);
    let diamond = [(0.0, -size), (size, 0.0), (0.0, size), (-size, 0.0)];
    let diamond = diamond.map(|(x, y)| middle + vec2(x, y));
    match line {
        // A full diamond leads.
        Line::Melody => {
            let filled = Shape::convex_polygon(diamond.to_vec(), pen.ink, Stroke::NONE);
            pen.painter.add(filled);
        }
        // An open one goes beside it.
        Line::Counterline => {
            pen.painter
                .add(Shape::closed_line(diamond.to_vec(), stroke));
        }
        // A foot stands under all.
        Line::Bass => {
            let y = vec2(0.0, size);
            pen.painter.line_segment(
                [middle - vec2(size, 0.0) + y, middle + vec2(size, 0.0) + y],
                stroke,
            );
            pen.painter.line_segment([middle - y, middle + y], stroke);
        }
        // A wave goes up and down.
        Line::Figure => {
            let points = vec![
                middle + vec2(-size, size * 0.6),
                middle + vec2(-size * 0.3, -size * 0.6),
                middle + vec2(size * 0.3, size * 0.6),
                middle + vec2(size, -size * 0.6),
            ];
            pen.painter.add(Shape::line(points, stroke));
        }
        Line::Harmony => {}
    }
}

/// What is selected, in words.
#[must_use]
pub fn selection_in_words(shown: &Shown<'_>) -> String {
    let scene = shown.scene;
    if let [note] = scene.sketch_notes {
        return sketch_note_in_words(shown, *note);
    }
    if !scene.sketch_notes.is_empty() {
        let count = scene.sketch_notes.len();
        return format!("{count} of the sketch's notes selected");
    }
    let Some(selection) = scene.selection else {
        return "nothing selected".to_owned();
    };
    let band = &scene.look.document.band;
    if let Some(note) = selection.note {
        let place = scene.look.song.meters.place(note.onset);
        let name = band.parts.get(note.part.0).map_or("", |p| p.name.as_str());
        let pitch = pitch_name(shown, note.part, note.onset, note.pitch);
        return format!("{name}, {place}, {pitch}");
    }
    format!(
        "{}, {}",
        parts_in_words(band, &selection.parts),
        bars_in_words(selection.bars)
    )
}

/// A note of the sketch, by its index in the reading: place, pitch, and what it is.
#[must_use]
pub fn sketch_note_in_words(shown: &Shown<'_>, index: usize) -> String {
    let look = shown.scene.look;
    let reading = &look.ready.reading;
    let Some(note) = reading.notes.get(index) else {
        return String::new();
    };
    let place = look.song.meters.place(note.onset);
    let name = concert_name(reading, note.onset, note.pitch).with_octave(note.pitch);
    format!("{place}, sketch: {name}, {}", note.line.word())
}

/// The name of a note as it is shown: as written for the player, or at concert pitch.
#[must_use]
pub fn pitch_name(shown: &Shown<'_>, part: PartId, at: Tick, pitch: Sounding) -> String {
    let look = shown.scene.look;
    let concert = concert_name(&look.ready.reading, at, pitch);
    let about = look.document.band.parts.get(part.0);
    let Some(about) = about.filter(|_| shown.scene.view.written) else {
        return concert.with_octave(pitch);
    };
    let key = look.ready.reading.key(at);
    let key = key.map_or(crate::music::KeySignature::C_MAJOR, |k| k.signature);
    let transposition = about.instrument.transposition;
    let (name, _) = Writing::of(Some(transposition), key).note(concert, pitch);
    let written = transposition.written(pitch);
    name.with_octave(Sounding::nearest(i32::from(written.0)))
}
