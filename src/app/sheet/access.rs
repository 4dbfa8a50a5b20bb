//! The sheet for those who hear it: as a whole, and note by note.

use super::engraved::Source;
use super::lanes::Whose;
use super::marks;
use super::score::{Place, Shown, lanes_seen};
use crate::app::scene::in_100;
use crate::band::PartId;
use crate::music::BarNumber;
use crate::notation::Symbol;
use crate::score::Role;
use eframe::egui::{Rect, Response, Role as Access, Sense, Ui, Vec2, WidgetInfo, pos2};

/// What a screen reader is told: the sheet as a whole, and each note that is seen.
pub fn access(ui: &Ui, shown: &Shown<'_>, place: &Place, response: &Response) {
    let said = marks::selection_in_words(shown);
    response.widget_info(|| WidgetInfo::labeled(Access::Canvas, true, format!("Score. {said}")));
    let listening = ui.ctx().accesskit_node_builder(response.id, |_| ());
    if listening.is_none() {
        return;
    }
    let (from, to) = place.seen_x();
    let staves = lanes_seen(shown, place);
    for bar in shown.engraved.seen(from, to) {
        for &(stave, lane, within) in &staves {
            for (place_in_bar, symbol) in shown.engraved.symbols(stave, bar).iter().enumerate() {
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
                let id = response.id.with(("note", stave, bar, place_in_bar));
                let note = ui.interact(rect, id, Sense::focusable_noninteractive());
                let text = match lane.whose {
                    Whose::Part(part) => note_in_words(shown, part, &source),
                    Whose::Sketch => marks::sketch_note_in_words(shown, source.index),
                };
                note.widget_info(|| WidgetInfo::labeled(Access::Label, true, &text));
            }
        }
    }
}

/// A note for a screen reader: bar, part, note, role, clean chance.
fn note_in_words(shown: &Shown<'_>, part: PartId, source: &Source) -> String {
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
    let clean = clean.map_or(String::new(), |c| format!(", clean {}", in_100(c)));
    let locked = if note.is_some_and(|n| n.locked) {
        ", locked"
    } else {
        ""
    };
    let pitch = marks::pitch_name(shown, part, source.onset, source.pitch);
    format!("{place}, {name}: {pitch}, {role}{clean}{locked}")
}
