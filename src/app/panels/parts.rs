//! Pieces that the panels share: heads, faint words, rules, cards.

use crate::app::fonts::bold;
use crate::app::scene::Scene;
use eframe::egui::{
    Align, Frame, Label, Layout, Margin, Response, RichText, Role, Sense, Stroke, Ui, UiBuilder,
    WidgetInfo,
};

/// A heading.
pub fn head(ui: &mut Ui, scene: &Scene<'_>, text: &str) {
    let size = 17.0 * scene.view.text();
    ui.add(
        Label::new(
            RichText::new(text)
                .font(bold(size))
                .color(scene.palette.ink),
        )
        .selectable(false),
    );
}

/// Words that explain other words.
pub fn faint(ui: &mut Ui, scene: &Scene<'_>, text: &str) {
    ui.add(Label::new(RichText::new(text).color(scene.palette.faint_ink)).wrap());
}

/// A thin line across.
pub fn rule(ui: &mut Ui, scene: &Scene<'_>) {
    ui.add_space(4.0);
    let (rect, _) = ui.allocate_exact_size([ui.available_width(), 1.0].into(), Sense::hover());
    ui.painter().hline(
        rect.x_range(),
        rect.center().y,
        Stroke::new(1.0, scene.palette.rule),
    );
    ui.add_space(4.0);
}

/// A card that can be pressed: a line, and fainter words under it.
pub fn card(ui: &mut Ui, scene: &Scene<'_>, title: &str, under: &str) -> Response {
    let id = ui.next_auto_id().with(title);
    let hovered = ui
        .ctx()
        .read_response(id)
        .is_some_and(|r| r.hovered() || r.has_focus());
    let edge = if hovered {
        scene.palette.accent
    } else {
        scene.palette.card
    };
    let frame = Frame::new()
        .fill(scene.palette.card)
        .stroke(Stroke::new(1.0, edge))
        .corner_radius(5)
        .inner_margin(Margin::symmetric(10, 6));
    let shown = frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        let builder = UiBuilder::new().layout(Layout::top_down(Align::Min));
        ui.scope_builder(builder, |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            ui.add(
                Label::new(RichText::new(title).color(scene.palette.ink))
                    .wrap()
                    .selectable(false),
            );
            if !under.is_empty() {
                let words = RichText::new(under).small().color(scene.palette.faint_ink);
                ui.add(Label::new(words).wrap().selectable(false));
            }
        });
    });
    let response = ui.interact(shown.response.rect, id, Sense::click());
    let name = if under.is_empty() {
        title.to_owned()
    } else {
        format!("{title}: {under}")
    };
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &name));
    response
}

/// Tells a screen reader what a list to choose from is about, and what is chosen.
pub fn says(response: &Response, name: &str, chosen: &str) {
    let said = format!("{name}: {chosen}");
    response.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, &said));
}
