//! What is reached, bar by bar.

use super::land::Land;
use super::wanted::Wanted;
use crate::app::scene::Scene;
use crate::review::Measure;
use eframe::egui::epaint::{Mesh, Vertex, WHITE_UV};
use eframe::egui::{Painter, Response, Shape, pos2};
use std::borrow::Cow;

/// What is shown as reached: all together, or what one measure speaks for.
fn values<'a>(scene: &'a Scene<'_>, measure: Option<Measure>) -> Cow<'a, [f64]> {
    let course = &scene.look.course;
    measure.map_or(Cow::Borrowed(&course.reached), |m| {
        Cow::Owned(course.alone(m))
    })
}

/// Draws it as a landscape.
pub(super) fn reached(
    painter: &Painter,
    scene: &Scene<'_>,
    land: &Land<'_>,
    measure: Option<Measure>,
) {
    let painter = painter.with_clip_rect(painter.clip_rect().intersect(land.rect));
    let values = values(scene, measure);
    let (first, last) = (values.first().copied(), values.last().copied());
    let middles = values
        .iter()
        .enumerate()
        .map(|(bar, v)| (bar as f32 + 0.5, *v));
    // From the first bar line to the last.
    let from = first.map(|v| (0.0, v));
    let to = last.map(|v| (values.len() as f32, v));
    let mut mesh = Mesh::default();
    for (bars, value) in from.into_iter().chain(middles).chain(to) {
        for pos in [
            land.place(bars, value),
            pos2(land.x(bars), land.rect.bottom()),
        ] {
            mesh.vertices.push(Vertex {
                pos,
                uv: WHITE_UV,
                color: scene.palette.reached,
            });
        }
    }
    for i in 0..(mesh.vertices.len() as u32 / 2).saturating_sub(1) {
        mesh.add_triangle(2 * i, 2 * i + 1, 2 * i + 2);
        mesh.add_triangle(2 * i + 1, 2 * i + 2, 2 * i + 3);
    }
    painter.add(Shape::mesh(mesh));
}

/// Tells what is wanted and reached where the pointer is.
pub(super) fn told(
    response: &Response,
    scene: &Scene<'_>,
    wanted: &Wanted,
    land: &Land<'_>,
    measure: Option<Measure>,
) {
    let at = response.hover_pos();
    let Some(at) = at.filter(|p| land.rect.x_range().contains(p.x) && !response.dragged()) else {
        return;
    };
    let bar = (land.bars_at(at.x) as usize).min(scene.look.course.bars().saturating_sub(1));
    let starts = scene.look.course.starts.get(bar..bar + 2);
    let by_bar = starts.and_then(|s| wanted.laid.by_bar(s)?.first().copied());
    let reached = values(scene, measure);
    let reached = reached.get(bar).copied().unwrap_or_default();
    let what = measure.map_or("reached", Measure::word);
    let text = format!(
        "bar {}: wanted {:.1} of 10, {what} {reached:.1}",
        bar + 1,
        by_bar.unwrap_or_default()
    );
    response.clone().on_hover_text_at_pointer(text);
}
