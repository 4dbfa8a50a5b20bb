//! Sections, pennants at peaks and crests, rings at hushes.

use super::land::Land;
use super::wanted::Wanted;
use super::{Grab, RibbonView, around, id};
use crate::app::fonts::{serif, words};
use crate::app::scene::Scene;
use crate::app::wants::{NameMark, Want};
use crate::music::Tick;
use crate::plan::timeline::{LaidMark, MarkKind, Place};
use crate::project::work::TimelineEdit;
use eframe::egui::{
    Align2, Color32, CursorIcon, Painter, PointerButton, Pos2, Rect, Role as Access, Sense, Shape,
    Stroke, Ui, WidgetInfo, pos2, vec2,
};

/// Names of sections at the top, with a line where each begins.
pub(super) fn sections(painter: &Painter, scene: &Scene<'_>, wanted: &Wanted, land: &Land<'_>) {
    let (palette, song) = (scene.palette, &scene.look.song);
    let markers = song.markers.iter().map(|m| (m.at, m.text.as_str()));
    let planned = wanted.laid.sections.iter();
    let planned: Vec<(Tick, &str)> = planned.map(|(at, name)| (*at, name.as_str())).collect();
    let all = if planned.is_empty() {
        markers.collect()
    } else {
        planned
    };
    let top = land.rect.top() - super::NAMES;
    let mut free = f32::MIN;
    for (at, name) in all {
        let bars = land.bars_of(at);
        if !land.shows(bars) {
            continue;
        }
        let x = land.x(bars);
        let line = Stroke::new(0.6, palette.rule);
        painter.vline(x, top + 4.0..=land.rect.bottom(), line);
        if x < free {
            continue;
        }
        let font = serif(11.5 * scene.view.text());
        let at = pos2(x + 3.0, top + 2.0);
        let drawn = painter.text(at, Align2::LEFT_TOP, name, font, palette.ink);
        free = drawn.right() + 8.0;
    }
}

/// Where a mark is drawn.
struct Drawn {
    /// On the curve.
    foot: Pos2,
    /// What is pressed.
    press: Rect,
    /// Where its name stands.
    name: (Pos2, Align2),
}

/// Draws marks with their names, and does what hands do to them.
pub(super) fn marks(
    ui: &Ui,
    painter: &Painter,
    scene: &Scene<'_>,
    wanted: &Wanted,
    land: &Land<'_>,
    view: &mut RibbonView,
    wants: &mut Vec<Want>,
) {
    let mut taken: Vec<Rect> = Vec::new();
    for (index, mark) in wanted.laid.marks.iter().enumerate() {
        let bars = land.bars_of(mark.at);
        if !land.shows(bars) {
            continue;
        }
        let drawn = drawn(land, bars, mark);
        let response = ui.interact(
            drawn.press,
            id().with(("mark", index)),
            Sense::CLICK | Sense::DRAG,
        );
        let bar = scene.look.song.meters.bar(mark.at);
        let text = format!("{} `{}`, bar {bar}", mark.kind.word(), mark.name);
        response.widget_info(|| WidgetInfo::labeled(Access::Button, true, &text));
        sign(painter, scene, &drawn, mark.kind, response.hovered());
        name(painter, scene, (&drawn, mark), land, &mut taken);
        if response.drag_started_by(PointerButton::Primary) {
            view.grab = Grab::Mark(index, bars);
        }
        if let Grab::Mark(held, from) = view.grab
            && held == index
        {
            let (origin, now) = ui.input(|i| (i.pointer.press_origin(), i.pointer.interact_pos()));
            if let Some((origin, now)) = origin.zip(now).filter(|_| response.dragged()) {
                let at = land.line_at(from + (now.x - origin.x) / land.bar_width());
                if land
                    .bars_of_place(at)
                    .is_some_and(|b| (b - bars).abs() > 0.01)
                {
                    wants.push(Want::DragShape(TimelineEdit::MoveMark(index, at)));
                }
            }
            if response.drag_stopped() {
                wants.push(Want::LetGo);
                view.grab = Grab::Nothing;
            }
        }
        if response.clicked() {
            wants.push(Want::GoTo(bar, None));
        }
        response.context_menu(|ui| menu(ui, wanted, index, wants));
        let response = response.on_hover_cursor(CursorIcon::PointingHand);
        response.on_hover_text(format!("{text}\nDrag it; more by the other button"));
    }
}

fn drawn(land: &Land<'_>, bars: f32, mark: &LaidMark) -> Drawn {
    let foot = land.place(bars, mark.level.unwrap_or(5.0));
    let top = land.rect.top() - 15.0;
    // At the right edge there is no room for a name to the right.
    let ends = foot.x > land.rect.right() - 90.0;
    match mark.kind {
        MarkKind::Hush => {
            let by = if ends { -10.0 } else { 10.0 };
            let align = if ends {
                Align2::RIGHT_CENTER
            } else {
                Align2::LEFT_CENTER
            };
            let y = foot.y.min(land.rect.bottom() - 7.0);
            Drawn {
                foot,
                press: around(foot, 20.0),
                name: (pos2(foot.x + by, y - 9.0), align),
            }
        }
        MarkKind::Peak | MarkKind::Crest => {
            let flag = Rect::from_min_size(pos2(foot.x - 2.0, top), vec2(16.0, 13.0));
            let (x, align) = if ends {
                (foot.x - 5.0, Align2::RIGHT_CENTER)
            } else {
                (foot.x + 18.0, Align2::LEFT_CENTER)
            };
            Drawn {
                foot,
                press: flag,
                name: (pos2(x, top + 6.0), align),
            }
        }
    }
}

/// A pennant, filled at a peak; a ring at a hush.
fn sign(painter: &Painter, scene: &Scene<'_>, drawn: &Drawn, kind: MarkKind, hovered: bool) {
    let palette = scene.palette;
    let ink = if hovered { palette.accent } else { palette.ink };
    let foot = drawn.foot;
    if kind == MarkKind::Hush {
        painter.circle_stroke(foot, 8.0, Stroke::new(1.3, ink));
        return;
    }
    let top = drawn.press.top();
    painter.vline(foot.x, top..=foot.y, Stroke::new(1.1, ink));
    let (long, high) = if kind == MarkKind::Peak {
        (13.0, 10.0)
    } else {
        (10.0, 8.0)
    };
    let flag = [
        pos2(foot.x, top),
        pos2(foot.x + long, top + high / 2.0),
        pos2(foot.x, top + high),
    ];
    let ground = if kind == MarkKind::Peak {
        ink
    } else {
        Color32::TRANSPARENT
    };
    painter.add(Shape::convex_polygon(
        flag.to_vec(),
        ground,
        Stroke::new(1.1, ink),
    ));
}

/// The name of a mark, where no other stands.
fn name(
    painter: &Painter,
    scene: &Scene<'_>,
    (drawn, mark): (&Drawn, &LaidMark),
    land: &Land<'_>,
    taken: &mut Vec<Rect>,
) {
    let (at, align) = drawn.name;
    let ink = scene.palette.ink;
    let font = words(10.5 * scene.view.text());
    let galley = painter.layout_no_wrap(mark.name.clone(), font, ink);
    let rect = align.anchor_size(at, galley.size());
    let inside = rect.left() >= land.rect.left() - 4.0;
    if inside && !taken.iter().any(|t| t.intersects(rect)) {
        painter.galley(rect.min, galley, ink);
        taken.push(rect.expand2(vec2(6.0, 0.0)));
    }
}

/// What can be done to a mark.
fn menu(ui: &mut Ui, wanted: &Wanted, index: usize, wants: &mut Vec<Want>) {
    let Some(mark) = wanted.laid.timeline.marks.get(index) else {
        return;
    };
    ui.label(format!(
        "{} `{}`, {}",
        mark.kind.word(),
        mark.name,
        mark.at.words()
    ));
    ui.separator();
    let mut chosen = None;
    if ui.button("Another name…").clicked() {
        chosen = Some(Want::NameMark(NameMark {
            kind: mark.kind,
            at: mark.at,
            mark: Some(index),
            name: mark.name.clone(),
        }));
    }
    if ui
        .button(format!("Remove the {}", mark.kind.word()))
        .clicked()
    {
        chosen = Some(Want::Shape(TimelineEdit::RemoveMark(index)));
    }
    if let Some(chosen) = chosen {
        wants.push(chosen);
        ui.close();
    }
}
