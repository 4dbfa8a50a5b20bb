//! How loud a part plays, under its stave, and where it breathes, over it.

use super::lanes::{Lane, Whose};
use super::pen::Pen;
use super::score::{Place, Shown};
use crate::band::PartId;
use crate::music::{Dynamic, Tick};
use crate::notation::dynamic_signs::{self, HAIRPIN_GAP, HAIRPIN_UP, OPEN, SCALE, UNDER};
use crate::notation::glyph_sizes::BREATH_MARK;
use crate::notation::strokes::LINE;
use crate::notation::{PlacedGlyph, Spot};
use crate::review::BreathKind;
use crate::score::{DynamicMark, dynamic_marks};
use eframe::egui::{Painter, Stroke, pos2};

/// Under this size of a staff space, in points, no breaths are drawn.
const BREATHS_FROM: f32 = 4.0;

/// Parts whose lane is seen.
fn seen<'a>(
    shown: &'a Shown<'_>,
    place: &'a Place,
) -> impl Iterator<Item = (PartId, &'a Lane)> + 'a {
    let lanes = shown.engraved.lanes().iter();
    lanes.filter_map(|lane| match lane.whose {
        Whose::Part(part) => {
            let below = place.y(lane.top) > place.rect.bottom();
            let above = place.y(lane.top + lane.height) < place.rect.top();
            (!below && !above).then_some((part, lane))
        }
        Whose::Sketch => None,
    })
}

fn pen<'a>(painter: &'a Painter, shown: &Shown<'_>, place: &Place, lane: &Lane, x: f32) -> Pen<'a> {
    Pen {
        painter,
        origin: pos2(x, place.y(lane.bottom_line(0))),
        space: place.space,
        ink: shown.scene.palette.ink,
    }
}

/// Dynamics, and hairpins from one to the next.
pub(super) fn dynamics(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    let quarter = u64::from(shown.scene.look.song.quarter.get());
    for (part, lane) in seen(shown, place) {
        let notes = shown.draft.lines.get(part.0).map_or(&[][..], |l| &l.notes);
        let marks = dynamic_marks(notes, crate::music::Ticks(quarter));
        let x = |at: Tick| place.x(shown.engraved.x_at(at));
        let mut signs_end = f32::MIN;
        for mark in marks {
            match mark {
                DynamicMark::At(at, dynamic) => {
                    let left = x(at);
                    if left < place.bars_left - 8.0 || left > place.rect.right() {
                        continue;
                    }
                    let pen = pen(painter, shown, place, lane, left);
                    signs_end = left + signs(&pen, dynamic) * place.space;
                }
                DynamicMark::Grows(from, to) | DynamicMark::Fades(from, to) => {
                    let room = HAIRPIN_GAP * place.space;
                    let from = (x(from) + room).max(signs_end + room);
                    let to = x(to) - room;
                    let is_seen = to > place.bars_left && from < place.rect.right();
                    if is_seen && to > from + place.space {
                        let grows = matches!(mark, DynamicMark::Grows(..));
                        hairpin(&pen(painter, shown, place, lane, from), to, grows);
                    }
                }
            }
        }
    }
}

/// Two thin lines that part or meet, from the pen's place to another.
fn hairpin(pen: &Pen<'_>, to: f32, grows: bool) {
    let middle = pen.origin.y - (UNDER + HAIRPIN_UP) * pen.space;
    let (near, far) = if grows { (0.0, OPEN) } else { (OPEN, 0.0) };
    let line = Stroke::new((LINE * pen.space).max(0.7), pen.ink);
    for side in [-pen.space, pen.space] {
        let ends = [
            pos2(pen.origin.x, middle + side * near),
            pos2(to, middle + side * far),
        ];
        pen.painter.line_segment(ends, line);
    }
}

/// A dynamic under the stave, in the signs of the music font; how wide it is, in staff spaces.
fn signs(pen: &Pen<'_>, dynamic: Dynamic) -> f32 {
    let mut x = 0.0;
    for (code, wide) in dynamic_signs::signs(dynamic) {
        pen.sign(Spot { x, y: UNDER }, code, SCALE);
        x += wide;
    }
    x
}

/// Where players breathe: a comma over the stave, fainter where only some of them do.
pub(super) fn breaths(painter: &Painter, shown: &Shown<'_>, place: &Place) {
    if place.space < BREATHS_FROM {
        return;
    }
    let breaths = &shown.scene.judged.1.breathing.breaths;
    for (part, lane) in seen(shown, place) {
        // They are in the order of the parts.
        let first = breaths.partition_point(|b| b.part < part);
        let own = breaths.iter().skip(first).take_while(|b| b.part == part);
        for breath in own {
            let x = place.x(shown.engraved.x_at(breath.at));
            if x < place.bars_left || x > place.rect.right() {
                continue;
            }
            let all = !matches!(breath.kind, BreathKind::Staggered(..));
            let ink = if all {
                shown.scene.palette.ink
            } else {
                shown.scene.palette.stave
            };
            let pen = pen(painter, shown, place, lane, x).in_colour(ink);
            pen.glyph(&PlacedGlyph {
                glyph: BREATH_MARK,
                // The font has it in the highest space; it goes over the stave, before the note that follows.
                origin: Spot { x: -1.1, y: 1.3 },
                mirrored: false,
            });
        }
    }
}
