//! The show from the first bar to the last: what intensity is wanted, what is reached, how tired lips are. It
//! is also the way to move about.

use super::fonts::{bold, serif, words};
use super::scene::Scene;
use super::sheet::engraved::Engraved;
use super::sheet::heads::WIDTH;
use super::wants::Want;
use crate::music::BarNumber;
use eframe::egui::epaint::{Mesh, Vertex, WHITE_UV};
use eframe::egui::{
    Align2, Painter, Rect, Role as Access, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2,
    vec2,
};

/// How high it is, in points.
pub const HEIGHT: f32 = 124.0;
/// How high a row of load is.
const ROW: f32 = 10.0;

/// Paints the ribbon; pressing and dragging moves the sheet.
pub fn ribbon_ui(
    ui: &mut Ui,
    scene: &Scene<'_>,
    engraved: &Engraved,
    seen: f32,
    wants: &mut Vec<Want>,
) {
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::click_and_drag());
    let painter = ui.painter_at(rect);
    let left = rect.left() + WIDTH * scene.view.text();
    let course = &scene.look.course;
    let rows = course.load.len() as f32 * ROW;
    let land = Rect::from_min_max(
        pos2(left, rect.top() + 22.0),
        pos2(rect.right() - 10.0, rect.bottom() - 8.0 - rows),
    );
    legend(&painter, scene, rect, land);
    let bars = course.bars();
    if bars > 0 {
        landscape(&painter, scene, land);
        loads(&painter, scene, land);
        marks(&painter, scene, land);
        frame(&painter, scene, engraved, land, seen);
    }
    response.widget_info(|| {
        WidgetInfo::labeled(
            Access::Slider,
            true,
            "The show: wanted and reached intensity. Home and End go to its ends.",
        )
    });
    let pressed = response.clicked() || response.dragged();
    if let Some(at) = response
        .interact_pointer_pos()
        .filter(|_| pressed && bars > 0)
    {
        let share = ((at.x - land.left()) / land.width()).clamp(0.0, 1.0);
        let bar = BarNumber((share * bars as f32) as u32 + 1);
        if let Some((from, _)) = engraved.bar_span(bar) {
            wants.push(Want::Look((from - seen / 2.0).max(0.0), scene.view.top));
        }
    }
    if let Some(at) = response
        .hover_pos()
        .filter(|p| land.x_range().contains(p.x) && bars > 0)
    {
        let bar = (((at.x - land.left()) / land.width()) * bars as f32) as usize;
        let told = |all: &[f64]| all.get(bar).copied().unwrap_or_default();
        let text = format!(
            "bar {}: wanted {:.0} of 10, reached {:.0}",
            bar + 1,
            told(&course.wanted),
            told(&course.reached)
        );
        response.on_hover_text_at_pointer(text);
    }
}

fn legend(painter: &Painter, scene: &Scene<'_>, rect: Rect, land: Rect) {
    let (palette, text) = (scene.palette, scene.view.text());
    let x = rect.left() + 10.0;
    let at = pos2(x, rect.top() + 6.0);
    painter.text(
        at,
        Align2::LEFT_TOP,
        "The show",
        bold(13.0 * text),
        palette.ink,
    );
    let faint = words(11.0 * text);
    let at = pos2(x, rect.top() + 25.0 * text.max(1.0));
    let said = "line: wanted";
    painter.text(at, Align2::LEFT_TOP, said, faint.clone(), palette.faint_ink);
    let at = at + vec2(0.0, 14.0 * text);
    painter.text(
        at,
        Align2::LEFT_TOP,
        "ground: reached",
        faint,
        palette.faint_ink,
    );
    for (i, (name, _)) in scene.look.course.load.iter().enumerate() {
        let y = land.bottom() + 4.0 + (i as f32 + 0.5) * ROW;
        painter.text(
            pos2(land.left() - 6.0, y),
            Align2::RIGHT_CENTER,
            *name,
            words(9.5),
            palette.faint_ink,
        );
    }
}

/// Where an intensity stands.
fn height(land: Rect, intensity: f64) -> f32 {
    land.bottom() - land.height() * (intensity / 10.0).clamp(0.0, 1.0) as f32
}

fn landscape(painter: &Painter, scene: &Scene<'_>, land: Rect) {
    let (palette, course) = (scene.palette, &scene.look.course);
    let bars = course.bars();
    let x = |bar: f32| land.left() + land.width() * bar / bars as f32;
    let mut mesh = Mesh::default();
    for (bar, reached) in course.reached.iter().enumerate() {
        for pos in [
            pos2(x(bar as f32 + 0.5), height(land, *reached)),
            pos2(x(bar as f32 + 0.5), land.bottom()),
        ] {
            mesh.vertices.push(Vertex {
                pos,
                uv: WHITE_UV,
                color: palette.reached,
            });
        }
    }
    for i in 0..(bars as u32).saturating_sub(1) {
        mesh.add_triangle(2 * i, 2 * i + 1, 2 * i + 2);
        mesh.add_triangle(2 * i + 1, 2 * i + 2, 2 * i + 3);
    }
    painter.add(Shape::mesh(mesh));
    let wanted = course.wanted.iter().enumerate();
    let points = wanted.flat_map(|(bar, w)| {
        let y = height(land, *w);
        [pos2(x(bar as f32), y), pos2(x(bar as f32 + 1.0), y)]
    });
    painter.add(Shape::line(points.collect(), Stroke::new(1.6, palette.ink)));
    painter.hline(
        land.x_range(),
        land.bottom(),
        Stroke::new(1.0, palette.rule),
    );
}

/// One row for each group of lips: the darker, the more tired.
fn loads(painter: &Painter, scene: &Scene<'_>, land: Rect) {
    let (palette, course) = (scene.palette, &scene.look.course);
    let bars = course.bars().max(1) as f32;
    for (row, (_, load)) in course.load.iter().enumerate() {
        let top = land.bottom() + 5.0 + row as f32 * ROW;
        for (bar, tired) in load.iter().enumerate() {
            let x = |b: f32| land.left() + land.width() * b / bars;
            let cell = Rect::from_min_max(
                pos2(x(bar as f32), top),
                pos2(x(bar as f32 + 1.0), top + ROW - 4.0),
            );
            let ink = palette.ink.gamma_multiply((*tired as f32).clamp(0.04, 1.0));
            painter.rect_filled(cell, 0.0, ink);
        }
    }
}

/// Rehearsal marks, and pennants at the most intense passages.
fn marks(painter: &Painter, scene: &Scene<'_>, land: Rect) {
    let (palette, look) = (scene.palette, scene.look);
    let bars = look.course.bars().max(1) as f32;
    let mut free = f32::MIN;
    for marker in &look.song.markers {
        let bar = look.song.meters.bar(marker.at).0.saturating_sub(1) as f32;
        let x = land.left() + land.width() * bar / bars;
        painter.vline(
            x,
            land.top()..=land.bottom(),
            Stroke::new(0.6, palette.rule),
        );
        if x < free {
            continue;
        }
        let at = pos2(x + 2.0, land.top() - 2.0);
        let drawn = painter.text(
            at,
            Align2::LEFT_BOTTOM,
            &marker.text,
            serif(11.5 * scene.view.text()),
            palette.ink,
        );
        free = drawn.right() + 8.0;
    }
}

/// What the sheet shows of the show.
fn frame(painter: &Painter, scene: &Scene<'_>, engraved: &Engraved, land: Rect, seen: f32) {
    let bars = scene.look.course.bars().max(1) as f32;
    let bar = |x: f32| {
        let number = engraved.bar_at(x).unwrap_or(BarNumber(1));
        let (from, to) = engraved.bar_span(number).unwrap_or((0.0, 1.0));
        let within = ((x - from) / (to - from).max(0.1)).clamp(0.0, 1.0);
        number.0 as f32 - 1.0 + within
    };
    let left = scene.view.left;
    let x = |b: f32| land.left() + land.width() * b / bars;
    let rect = Rect::from_min_max(
        pos2(x(bar(left)), land.top() - 4.0),
        pos2(x(bar(left + seen)).min(land.right()), land.bottom() + 3.0),
    );
    let edge = Stroke::new(1.5, scene.palette.accent);
    painter.rect_filled(rect, 4.0, scene.palette.accent_ground.gamma_multiply(0.4));
    painter.rect_stroke(rect, 4.0, edge, StrokeKind::Inside);
}
