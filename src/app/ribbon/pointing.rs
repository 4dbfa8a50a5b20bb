//! The way to move about: pressing goes there, the frame of what is seen is dragged, the wheel looks closer.

use super::land::Land;
use super::{Grab, RibbonView};
use crate::app::scene::Scene;
use crate::app::sheet::engraved::Engraved;
use crate::app::wants::Want;
use crate::music::BarNumber;
use eframe::egui::{
    CursorIcon, Painter, PointerButton, Rect, Response, Stroke, StrokeKind, Ui, Vec2, pos2,
};

/// A factor for so many points of the wheel, as a logarithm (ours: a notch is about a quarter).
const WHEEL: f32 = 0.0045;

/// The bars that the sheet shows, from and to, counted from 0 with fractions.
fn seen_bars(scene: &Scene<'_>, engraved: &Engraved, seen: f32) -> (f32, f32) {
    let bars = |x: f32| {
        let number = engraved.bar_at(x).unwrap_or(BarNumber(1));
        let (from, to) = engraved.bar_span(number).unwrap_or((0.0, 1.0));
        let within = ((x - from) / (to - from).max(0.1)).clamp(0.0, 1.0);
        number.0 as f32 - 1.0 + within
    };
    let left = scene.view.left;
    (bars(left), bars(left + seen))
}

/// What the sheet shows of the show.
pub(super) fn frame(
    painter: &Painter,
    scene: &Scene<'_>,
    engraved: &Engraved,
    land: &Land<'_>,
    seen: f32,
) {
    let (from, to) = seen_bars(scene, engraved, seen);
    let rect = Rect::from_min_max(
        pos2(land.x(from), land.rect.top() - 3.0),
        pos2(land.x(to), land.rect.bottom() + 2.0),
    );
    let inside = land.rect.expand2(Vec2::new(2.0, 4.0));
    let painter = painter.with_clip_rect(painter.clip_rect().intersect(inside));
    let edge = Stroke::new(1.4, scene.palette.accent);
    let ground = scene.palette.accent_ground.gamma_multiply(0.4);
    painter.rect_filled(rect, 4.0, ground);
    painter.rect_stroke(rect, 4.0, edge, StrokeKind::Inside);
}

/// What the pointer does where nothing else is.
pub(super) fn moved(
    ui: &Ui,
    response: &Response,
    scene: &Scene<'_>,
    (engraved, seen): (&Engraved, f32),
    land: &Land<'_>,
    view: &mut RibbonView,
    wants: &mut Vec<Want>,
) {
    let (from, to) = seen_bars(scene, engraved, seen);
    wheel(ui, response, land, view);
    along(scene, (from, to), land, view);
    let Some(at) = response.interact_pointer_pos().or(response.hover_pos()) else {
        return;
    };
    let bars = land.bars_at(at.x);
    let on_frame = (from..to).contains(&bars) && land.rect.y_range().contains(at.y);
    if on_frame && response.hovered() && !land_is_all(land, (from, to)) {
        ui.set_cursor_icon(CursorIcon::Grab);
    }
    if response.drag_started_by(PointerButton::Primary) {
        let origin = ui.input(|i| i.pointer.press_origin()).unwrap_or(at);
        let held = land.bars_at(origin.x);
        // Outside the frame the hand takes it by its middle.
        let inside = (from..to).contains(&held);
        let off = if inside {
            held - from
        } else {
            (to - from) / 2.0
        };
        view.grab = Grab::Frame(off);
    }
    let to_left = match view.grab {
        Grab::Frame(off) if response.dragged() => Some(bars - off),
        _ if response.clicked() => Some(bars - (to - from) / 2.0),
        _ => None,
    };
    if let Some(x) = to_left.and_then(|bars| x_of(engraved, bars)) {
        wants.push(Want::Look(x, scene.view.top));
    }
    if response.drag_stopped() && matches!(view.grab, Grab::Frame(_)) {
        view.grab = Grab::Nothing;
    }
}

fn land_is_all(land: &Land<'_>, (from, to): (f32, f32)) -> bool {
    to - from >= land.bars() - 0.5
}

/// Where so many bars from the beginning stand on the sheet.
fn x_of(engraved: &Engraved, bars: f32) -> Option<f32> {
    let bars = bars.max(0.0);
    let (from, to) = engraved.bar_span(BarNumber(bars as u32 + 1))?;
    Some(from + (to - from) * bars.fract())
}

/// The wheel looks closer around the pointer; turned sideways it goes along.
fn wheel(ui: &Ui, response: &Response, land: &Land<'_>, view: &mut RibbonView) {
    if !response.contains_pointer() {
        return;
    }
    let (by, zoom) = ui.input(|i| (i.smooth_scroll_delta(), i.zoom_delta()));
    if by == Vec2::ZERO && zoom == 1.0 {
        return;
    }
    let at = response.hover_pos().unwrap_or(land.rect.center());
    let factor = zoom * (by.y * WHEEL).exp();
    view.range = land.looked_at(land.bars_at(at.x), factor, -by.x / land.bar_width());
}

/// Where not all of the show is shown, the ribbon goes along with the sheet.
fn along(scene: &Scene<'_>, (from, to): (f32, f32), land: &Land<'_>, view: &mut RibbonView) {
    let left = scene.view.left;
    let has_moved = (left - view.left).abs() > 0.01;
    view.left = left;
    if land.is_whole() || !has_moved {
        return;
    }
    let by = if from < land.range.0 {
        from - land.range.0
    } else if to > land.range.1 {
        (to - land.range.1).min(from - land.range.0)
    } else {
        0.0
    };
    if by != 0.0 {
        view.range = land.looked_at(land.range.0, 1.0, by);
    }
}
