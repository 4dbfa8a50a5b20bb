//! What the pointer does on the sheet: it selects, drags frames and notes, and moves the sheet.

use super::hit::{Hit, hit};
use super::lanes::{Whose, height, lane_at};
use super::score::{Place, Shown};
use crate::app::wants::Want;
use crate::band::PartId;
use crate::music::{BarNumber, Sounding};
use crate::project::work::{NoteId, Selection};
use eframe::egui::{CursorIcon, PointerButton, Response, Ui, Vec2, vec2};

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

/// What the pointer does.
pub fn pointing(
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
                let by = response.drag_delta();
                wants.push(Want::Look(
                    place.left - by.x / place.space,
                    place.top - by.y / place.space_down,
                ));
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
        // What had the focus lets it go, so that keys are meant for the sheet.
        ui.memory_mut(eframe::egui::Memory::stop_text_input);
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
    // Where the last step was refused, the note is still where it was.
    let there = shown.scene.selection.and_then(|s| s.note);
    let note = there
        .filter(|n| (n.part, n.onset) == (note.part, note.onset))
        .unwrap_or(note);
    let reading = &shown.scene.look.ready.reading;
    let key = reading.key(note.onset).map(|k| k.signature.key());
    let turn = if up > 0.0 { 1 } else { -1 };
    let mut midi = i32::from(note.pitch.midi());
    loop {
        midi += turn;
        let pitch = u8::try_from(midi).ok().and_then(Sounding::new);
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
    let (high, seen) = (
        height(shown.engraved.lanes()),
        place.rect.height() / place.space_down,
    );
    if high <= seen {
        by = vec2(by.x + by.y, 0.0);
    }
    let most_left = (shown.engraved.width() - 10.0).max(0.0);
    let most_top = (high - seen * 0.5).max(0.0);
    wants.push(Want::Look(
        (place.left - by.x / place.space).clamp(0.0, most_left),
        (place.top - by.y / place.space_down).clamp(0.0, most_top),
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
