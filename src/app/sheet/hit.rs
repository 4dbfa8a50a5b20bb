//! What lies under the pointer.

use super::lanes::Whose;
use super::score::{Place, Shown};
use crate::notation::Symbol;
use crate::project::work::NoteId;
use eframe::egui::Pos2;

/// So near, in staff spaces, a notehead is meant.
const NEAR: f32 = 1.1;

/// What lies under the pointer.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Hit {
    /// Nothing that could be taken.
    Nothing,
    /// A note of a part.
    Note(NoteId),
    /// A note of the sketch, by its index in the reading.
    Sketch(usize),
}

/// What lies at a place on the screen.
#[must_use]
pub fn hit(shown: &Shown<'_>, place: &Place, at: Pos2) -> Hit {
    if at.x < place.bars_left || !place.rect.contains(at) {
        return Hit::Nothing;
    }
    let spaces = place.spaces(at);
    let Some(bar) = shown.engraved.bar_at(spaces.x) else {
        return Hit::Nothing;
    };
    let left = shown.engraved.bar_span(bar).map_or(0.0, |s| s.0);
    let index = bar.0.saturating_sub(1) as usize;
    let mut best: Option<(f32, Hit)> = None;
    for (stave, lane, within) in shown.engraved.staves() {
        let y = lane.bottom_line(within) - spaces.y;
        if spaces.y < lane.top || lane.top + lane.height <= spaces.y {
            continue;
        }
        for symbol in shown.engraved.symbols(stave, index) {
            let Symbol::Head {
                at, index: note, ..
            } = symbol
            else {
                continue;
            };
            let (dx, dy) = (left + at.x + 0.6 - spaces.x, at.y - y);
            let far = dx.hypot(dy);
            if far > NEAR || best.as_ref().is_some_and(|(b, _)| *b <= far) {
                continue;
            }
            let Some(source) = shown.engraved.source(stave, index, *note) else {
                continue;
            };
            let found = match lane.whose {
                Whose::Part(part) => Hit::Note(NoteId {
                    part,
                    onset: source.onset,
                    pitch: source.pitch,
                }),
                Whose::Sketch => Hit::Sketch(source.index),
            };
            best = Some((far, found));
        }
    }
    best.map_or(Hit::Nothing, |(_, hit)| hit)
}
