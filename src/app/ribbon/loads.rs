//! How tired lips are, and where they rest: a strip for each group of the brass.

use super::GAP;
use super::land::Land;
use crate::app::scene::Scene;
use eframe::egui::{Painter, Rect, Stroke, pos2};

/// How high a strip is, with what is between it and the next.
const ROW: f32 = 10.0;
/// How high it is itself.
const STRIP: f32 = 6.0;

/// How high some strips are.
pub(super) fn height(strips: usize) -> f32 {
    strips as f32 * ROW
}

/// The upper edge of a strip.
pub(super) fn top(land: &Land<'_>, row: usize) -> f32 {
    land.rect.bottom() + GAP + height(row) + (ROW - STRIP) / 2.0
}

/// The darker, the more tired; a thin line where the group rests.
pub(super) fn draw(painter: &Painter, scene: &Scene<'_>, land: &Land<'_>) {
    let across = Rect::everything_right_of(land.rect.left())
        .intersect(Rect::everything_left_of(land.rect.right()));
    let painter = painter.with_clip_rect(painter.clip_rect().intersect(across));
    let ink = scene.palette.ink;
    for (row, (_, load)) in scene.look.course.load.iter().enumerate() {
        let top = top(land, row);
        let mut bar = 0;
        for run in load.chunk_by(|a, b| (*a > 0.0) == (*b > 0.0)) {
            let plays = run.first().is_some_and(|l| *l > 0.0);
            if plays {
                for (i, tired) in run.iter().enumerate() {
                    let at = (bar + i) as f32;
                    let (from, to) = (pos2(land.x(at), top), pos2(land.x(at + 1.0), top + STRIP));
                    let shade = ink.gamma_multiply((*tired as f32).clamp(0.1, 1.0));
                    painter.rect_filled(Rect::from_min_max(from, to), 0.0, shade);
                }
            } else {
                let (from, to) = (
                    land.x(bar as f32) + 1.0,
                    land.x((bar + run.len()) as f32) - 1.0,
                );
                let line = Stroke::new(1.0, scene.palette.rule);
                painter.hline(from..=to.max(from), top + STRIP / 2.0, line);
            }
            bar += run.len();
        }
    }
}
