//! Points of the curve: dragged, selected, added, and what else can be done to them.

use super::land::Land;
use super::wanted::{Wanted, sign};
use super::{Grab, Held, RibbonView, around, id};
use crate::app::fonts::words;
use crate::app::scene::Scene;
use crate::app::wants::{NameMark, Want};
use crate::music::BarBeat;
use crate::plan::timeline::{MarkKind, Point, Way};
use crate::project::work::TimelineEdit;
use eframe::egui::{
    Align2, CursorIcon, Painter, PointerButton, Pos2, Response, Role as Access, Sense, Shape,
    Stroke, Ui, WidgetInfo, vec2,
};

/// So near to the curve a double click means the curve, in points.
const NEAR: f32 = 9.0;
/// So large is what is pressed of a point.
const SIZE: f32 = 15.0;
/// A hand that moved no further along, in points, means the bar where the point is.
const STILL: f32 = 4.0;

/// Draws the points and does what hands do to them.
pub(super) fn handles(
    ui: &Ui,
    painter: &Painter,
    scene: &Scene<'_>,
    wanted: &Wanted,
    land: &Land<'_>,
    view: &mut RibbonView,
    wants: &mut Vec<Want>,
) {
    for (index, point) in wanted.points().iter().enumerate() {
        let shown = land.bars_of_place(point.at).filter(|b| land.shows(*b));
        let Some(bars) = shown else { continue };
        let at = land.place(bars, point.intensity);
        let response = ui.interact(
            around(at, SIZE),
            id().with(("point", index)),
            Sense::CLICK | Sense::DRAG,
        );
        let text = wanted.point_in_words(index).unwrap_or_default();
        response.widget_info(|| WidgetInfo::labeled(Access::Button, true, &text));
        dragged(ui, &response, (index, bars, point), land, view, wants);
        let is_held = matches!(view.grab, Grab::Point(held) if held.point == index);
        let is_selected = scene.point == Some(index);
        handle(
            painter,
            scene,
            wanted.is_own,
            (at, point.way),
            (is_selected, response.hovered()),
        );
        if is_held {
            held(painter, scene, land, at, point);
        }
        if response.clicked() {
            ui.memory_mut(|m| m.request_focus(id()));
            wants.push(Want::SelectPoint(Some(index)));
        }
        response.context_menu(|ui| menu(ui, index, point, wants));
        if !is_held {
            let response = response.on_hover_cursor(CursorIcon::Grab);
            response.on_hover_text(format!("{text}\nDrag it; more by the other button"));
        }
    }
}

fn handle(
    painter: &Painter,
    scene: &Scene<'_>,
    is_own: bool,
    (at, way): (Pos2, Way),
    (is_selected, is_hovered): (bool, bool),
) {
    let palette = scene.palette;
    let size = if is_selected || is_hovered { 5.0 } else { 3.8 };
    let line = match (is_selected, is_own) {
        (true, _) => Stroke::new(1.8, palette.accent),
        (false, true) => Stroke::new(1.5, palette.ink),
        (false, false) => Stroke::new(1.0, palette.faint_ink),
    };
    let ground = if is_selected {
        palette.accent
    } else {
        palette.paper
    };
    painter.add(Shape::convex_polygon(sign(way, at, size), ground, line));
}

/// Says where a point is while it is held.
fn held(painter: &Painter, scene: &Scene<'_>, land: &Land<'_>, at: Pos2, point: &Point<BarBeat>) {
    let palette = scene.palette;
    painter.vline(at.x, land.rect.y_range(), Stroke::new(0.8, palette.accent));
    let text = format!("bar {}: {:.1}", point.at.bar, point.intensity);
    let high = at.y < land.rect.top() + 18.0;
    let (by, align) = match (high, at.x > land.rect.right() - 80.0) {
        (true, true) => (vec2(-9.0, 4.0), Align2::RIGHT_TOP),
        (true, false) => (vec2(9.0, 4.0), Align2::LEFT_TOP),
        (false, true) => (vec2(-9.0, -4.0), Align2::RIGHT_BOTTOM),
        (false, false) => (vec2(9.0, -4.0), Align2::LEFT_BOTTOM),
    };
    let font = words(11.5 * scene.view.text());
    let galley = painter.layout_no_wrap(text, font, palette.ink);
    let rect = align.anchor_size(at + by, galley.size());
    painter.rect_filled(rect.expand2(vec2(4.0, 1.0)), 3.0, palette.paper);
    painter.galley(rect.min, galley, palette.ink);
}

/// The point that was under a hand where it pressed, if it was so quick that the ground was told of it.
pub(super) fn pressed(
    ui: &Ui,
    ground: &Response,
    wanted: &Wanted,
    land: &Land<'_>,
) -> Option<Held> {
    if !ground.drag_started_by(PointerButton::Primary) {
        return None;
    }
    let origin = ui.input(|i| i.pointer.press_origin())?;
    let points = wanted.points().iter().enumerate();
    let mut held = points.rev().filter_map(|(point, p)| {
        let bars = land.bars_of_place(p.at).filter(|b| land.shows(*b))?;
        let is_near = around(land.place(bars, p.intensity), SIZE).contains(origin);
        is_near.then_some(Held {
            point,
            bars,
            intensity: p.intensity,
            origin,
        })
    });
    held.next()
}

/// A drag of a point is one step, however far it goes.
fn dragged(
    ui: &Ui,
    response: &Response,
    (index, bars, point): (usize, f32, &Point<BarBeat>),
    land: &Land<'_>,
    view: &mut RibbonView,
    wants: &mut Vec<Want>,
) {
    let (origin, now) = ui.input(|i| (i.pointer.press_origin(), i.pointer.interact_pos()));
    if response.drag_started_by(PointerButton::Primary)
        && let Some(origin) = origin
    {
        ui.memory_mut(|m| m.request_focus(id()));
        wants.push(Want::SelectPoint(Some(index)));
        view.grab = Grab::Point(Held {
            point: index,
            bars,
            intensity: point.intensity,
            origin,
        });
    }
    let Grab::Point(held) = view.grab else {
        return;
    };
    if held.point != index {
        return;
    }
    if let Some(now) = now {
        // What was pressed counts, however quick the hand is.
        let by = now - held.origin;
        let at = if by.x.abs() < STILL {
            land.line_or_place(held.bars, point.at)
        } else {
            land.line_at(held.bars + by.x / land.bar_width())
        };
        let intensity = if by.y.abs() < 1.0 {
            held.intensity
        } else {
            let there = land.intensity_at(land.y(held.intensity) + by.y);
            (there * 10.0).round() / 10.0
        };
        if at != point.at || (intensity - point.intensity).abs() > 1e-9 {
            wants.push(Want::DragShape(TimelineEdit::MovePoint {
                point: index,
                at,
                intensity,
            }));
        }
    }
    if !ui.input(|i| i.pointer.primary_down()) {
        wants.push(Want::LetGo);
        view.grab = Grab::Nothing;
    }
}

/// A double click puts a point on the curve, or where it was.
pub(super) fn added(response: &Response, wanted: &Wanted, land: &Land<'_>, wants: &mut Vec<Want>) {
    let at = response.interact_pointer_pos();
    let Some(pos) = at.filter(|p| land.rect.expand(NEAR).contains(*p)) else {
        return;
    };
    let at = land.line_at(land.bars_at(pos.x));
    let bars = land.bars_of_place(at).unwrap_or_default();
    let on_curve = wanted.at(land, bars);
    let on_curve = on_curve.filter(|i| (land.y(*i) - pos.y).abs() < NEAR);
    let intensity = on_curve.unwrap_or_else(|| land.intensity_at(pos.y));
    let intensity = (intensity * 10.0).round() / 10.0;
    wants.push(Want::Shape(TimelineEdit::AddPoint { at, intensity }));
}

/// What else can be done at a point.
fn menu(ui: &mut Ui, index: usize, point: &Point<BarBeat>, wants: &mut Vec<Want>) {
    ui.set_min_width(170.0);
    let mut chosen = None;
    ui.label("The curve goes on");
    for way in Way::ALL {
        if ui.radio(point.way == way, way.word()).clicked() {
            chosen = Some(Want::Shape(TimelineEdit::Way(index, way)));
        }
    }
    ui.separator();
    for kind in MarkKind::ALL {
        if ui.button(format!("Name a {} here…", kind.word())).clicked() {
            chosen = Some(Want::NameMark(NameMark {
                kind,
                at: point.at,
                mark: None,
                name: String::new(),
            }));
        }
    }
    ui.separator();
    if ui.button("Remove the point").clicked() {
        chosen = Some(Want::Shape(TimelineEdit::RemovePoint(index)));
    }
    if let Some(chosen) = chosen {
        wants.push(chosen);
        ui.close();
    }
}
