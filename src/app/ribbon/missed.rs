//! Where the draft misses the shape.

use super::GAP;
use super::land::Land;
use crate::app::scene::Scene;
use crate::app::wants::Want;
use crate::review::misses;
use eframe::egui::{
    CursorIcon, Painter, Rect, Role as Access, Sense, Shape, Stroke, Ui, WidgetInfo, pos2,
};

/// Marks bars that miss the shape, with an arrow to where they should be; says by how much and what would mend it.
pub(super) fn missed(
    ui: &Ui,
    painter: &Painter,
    scene: &Scene<'_>,
    land: &Land<'_>,
    wants: &mut Vec<Want>,
) {
    // Until a changed shape is worked out, it is not known what misses it.
    if scene.now.timeline != scene.look.document.timeline {
        return;
    }
    let strain = scene.palette.strain;
    let y = land.rect.bottom() + GAP / 2.0;
    for (number, miss) in misses(&scene.look.course).iter().enumerate() {
        let (from, to) = (miss.first.0 as f32 - 1.0, miss.last.0 as f32);
        if to < land.range.0 || from > land.range.1 {
            continue;
        }
        let (left, right) = (
            land.x(from).max(land.rect.left()) + 1.0,
            land.x(to).min(land.rect.right()) - 1.0,
        );
        let rect = Rect::from_min_max(pos2(left, y - 5.0), pos2(right.max(left + 4.0), y + 5.0));
        let sense = Sense::CLICK | Sense::HOVER;
        let response = ui.interact(rect, super::id().with(("missed", number)), sense);
        let width = if response.hovered() { 2.6 } else { 1.6 };
        painter.hline(left..=right, y, Stroke::new(width, strain));
        // It points to where the draft should be.
        let way = if miss.by() > 0.0 { -1.0 } else { 1.0 };
        let middle = rect.center().x;
        let base = y - way * 1.6;
        let arrow = [
            pos2(middle - 3.6, base),
            pos2(middle + 3.6, base),
            pos2(middle, y + way * 4.2),
        ];
        painter.add(Shape::convex_polygon(arrow.to_vec(), strain, Stroke::NONE));
        let text = format!("{}; {}", miss.what(), miss.mend());
        response.widget_info(|| WidgetInfo::labeled(Access::Button, true, &text));
        let response = response.on_hover_cursor(CursorIcon::PointingHand);
        let response = response.on_hover_text(format!("{}\n{}", miss.what(), miss.mend()));
        if response.clicked() {
            wants.push(Want::GoTo(miss.first, None));
        }
    }
}
