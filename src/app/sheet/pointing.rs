//! What the pointer does on the sheet: it selects, drags frames and notes, and moves the sheet.

use super::hit::{Hit, hit};
use super::lanes::{Whose, height, lane_at};
use super::score::{Place, Shown};
use crate::app::wants::Want;
use crate::band::PartId;
use crate::music::{BarNumber, Sounding};
use crate::notation::Symbol;
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
    /// A note.
    Note(Dragged),
    /// The sheet itself.
    Sheet,
}

/// A note that is dragged up and down.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Dragged {
    /// The note as it was when the drag began.
    from: NoteId,
    /// The height of the pointer then, in staff spaces.
    height: f32,
    /// The pitch that was last asked for.
    asked: Sounding,
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
                Drag::Note(Dragged {
                    from: note,
                    height: place.spaces(origin).y,
                    asked: note.pitch,
                })
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
                wants.push(framed(shown, (bar, to), (y, spaces.y)));
            }
            Drag::Note(mut dragged) => {
                dragged_note(shown, &mut dragged, spaces.y, wants);
                *drag = Drag::Note(dragged);
            }
            Drag::None => {}
        }
    }
    if response.drag_stopped() {
        if matches!(drag, Drag::Note(_)) {
            wants.push(Want::LetGo);
        }
        *drag = Drag::None;
    }
    if response.clicked() {
        // What had the focus lets it go, so that keys are meant for the sheet.
        ui.memory_mut(eframe::egui::Memory::stop_text_input);
        clicked(shown, &under, spaces, shift, wants);
    }
}

/// A note dragged up or down: half a staff space is a step of the scale, from where the drag began, however
/// quick the hand is.
fn dragged_note(shown: &Shown<'_>, dragged: &mut Dragged, y: f32, wants: &mut Vec<Want>) {
    let from = dragged.from;
    let steps = ((dragged.height - y) * 2.0).round() as i32;
    let reading = &shown.scene.look.ready.reading;
    let key = reading.key(from.onset).map(|k| k.signature.key());
    let pitch = stepped(from.pitch, steps, |p| key.is_none_or(|k| k.has(p.class())));
    // A pitch that was refused is not asked for again until the hand moves on.
    if pitch == dragged.asked {
        return;
    }
    dragged.asked = pitch;
    let there = shown.scene.selection.and_then(|s| s.note);
    let now = there.filter(|n| (n.part, n.onset) == (from.part, from.onset));
    let now = now.unwrap_or(from);
    if now.pitch != pitch {
        wants.push(Want::Drag(now, pitch));
    }
}

/// So many steps through the pitches of a scale; as far as there are pitches.
fn stepped(from: Sounding, steps: i32, in_scale: impl Fn(Sounding) -> bool) -> Sounding {
    let (turn, mut left, mut pitch) = (steps.signum(), steps.abs(), from);
    let mut midi = i32::from(from.midi());
    while left > 0 {
        midi += turn;
        let Some(next) = u8::try_from(midi).ok().and_then(Sounding::new) else {
            break;
        };
        if in_scale(next) {
            (pitch, left) = (next, left - 1);
        }
    }
    pitch
}

fn scrolled(ui: &Ui, response: &Response, shown: &Shown<'_>, place: &Place, wants: &mut Vec<Want>) {
    if !response.contains_pointer() {
        return;
    }
    let (mut by, zoom) = ui.input(|i| (i.smooth_scroll_delta(), i.zoom_delta()));
    if zoom != 1.0 {
        let at = response.hover_pos().unwrap_or(place.rect.center());
        let across = (at.x - place.bars_left) / (place.rect.right() - place.bars_left).max(1.0);
        let down = (at.y - place.rect.top()) / place.rect.height().max(1.0);
        wants.push(Want::Zoom(zoom, (across, down)));
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
    wants.push(Want::Look(
        place.left - by.x / place.space,
        place.top - by.y / place.space_down,
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

/// What a frame over bars and from one height to another selects: bars of all parts that it touches, or, within
/// the sketch alone, the sketch's notes.
fn framed(shown: &Shown<'_>, bars: (BarNumber, BarNumber), (y, z): (f32, f32)) -> Want {
    let (from, to) = (y.min(z), y.max(z));
    let lanes = shown.engraved.lanes().iter();
    let touched = lanes.filter(|l| l.top < to && l.top + l.height > from);
    let parts: Vec<PartId> = touched
        .filter_map(|l| match l.whose {
            Whose::Part(id) => Some(id),
            Whose::Sketch => None,
        })
        .collect();
    if parts.is_empty() {
        return Want::SelectSketch(sketch_framed(shown, bars, (from, to)));
    }
    Want::Select(Some(Selection::of(bars.0, bars.1, parts)))
}

/// The notes of the sketch whose heads stand in some bars between two heights, by their index in the reading.
fn sketch_framed(
    shown: &Shown<'_>,
    bars: (BarNumber, BarNumber),
    (from, to): (f32, f32),
) -> Vec<usize> {
    let mut found = Vec::new();
    for (stave, lane, within) in shown.engraved.staves() {
        if lane.whose != Whose::Sketch {
            continue;
        }
        let bottom = lane.bottom_line(within);
        for bar in bars.0.min(bars.1).0..=bars.0.max(bars.1).0 {
            let bar = bar.saturating_sub(1) as usize;
            for symbol in shown.engraved.symbols(stave, bar) {
                let Symbol::Head { at, index, .. } = symbol else {
                    continue;
                };
                let source = shown.engraved.source(stave, bar, *index);
                let height = bottom - at.y;
                if let Some(source) = source.filter(|_| from <= height && height <= to) {
                    found.push(source.index);
                }
            }
        }
    }
    found.sort_unstable();
    found.dedup();
    found
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
