//! What the window asks about the shape of the show: which one to begin with, what a place is called.

use super::dialogs::Answer;
use super::fonts::bold;
use super::wants::NameMark;
use crate::plan::timeline::{Curve, Place, template, template_words};
use eframe::egui::{
    Button, Color32, Key, Painter, Rect, RichText, ScrollArea, Sense, Shape, Stroke,
};
use eframe::egui::{TextEdit, Ui, pos2, vec2};

/// The shapes that come along, each drawn, with what it does to an audience.
pub(super) fn shapes_ui(ui: &mut Ui, answer: &mut Option<Answer>, over: &mut bool) {
    ui.set_width(560.0);
    ui.label("The shape is stretched to the bars of the music; then drag it as you like.");
    ui.add_space(4.0);
    let most = (ui.ctx().content_rect().height() - 300.0).clamp(120.0, 460.0);
    let area = ScrollArea::vertical().max_height(most);
    area.min_scrolled_height(most).show(ui, |ui| {
        for word in template_words() {
            let Ok(shape) = template(word) else {
                continue;
            };
            ui.separator();
            ui.horizontal_top(|ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(132.0, 54.0), Sense::hover());
                curve(
                    ui.painter(),
                    rect.shrink(3.0),
                    (&shape.curve(), 1.0),
                    ui.visuals().text_color(),
                );
                ui.vertical(|ui| {
                    let name = RichText::new(&shape.name).font(bold(13.5));
                    if ui.add(Button::new(name)).clicked() {
                        *answer = Some(Answer::Shape(word.to_owned()));
                    }
                    ui.label(shape.note.trim());
                });
            });
        }
    });
    ui.separator();
    *over |= ui.button("Leave it").clicked();
}

/// A wanted curve in small, with how far along it ends; a line of ground where it has no point.
pub(super) fn curve(painter: &Painter, rect: Rect, (wanted, end): (&Curve, f64), ink: Color32) {
    let steps = rect.width().max(2.0) as u16;
    let points = (0..=steps).map(|step| {
        let along = f64::from(step) / f64::from(steps);
        let y = wanted.at(along * end).unwrap_or_default() / 10.0;
        pos2(
            rect.left() + rect.width() * along as f32,
            rect.bottom() - rect.height() * y as f32,
        )
    });
    let ground = Stroke::new(1.0, ink.gamma_multiply(0.3));
    painter.hline(rect.x_range(), rect.bottom() + 1.0, ground);
    if wanted.at(0.0).is_some() {
        painter.add(Shape::line(points.collect(), Stroke::new(1.6, ink)));
    }
}

/// What a peak, crest or hush is called.
pub(super) fn name_ui(
    ui: &mut Ui,
    named: &mut NameMark,
    answer: &mut Option<Answer>,
    over: &mut bool,
) {
    ui.label(format!(
        "The {} at {}.",
        named.kind.word(),
        named.at.words()
    ));
    let label = ui.label("Its name");
    let field = ui.add(TextEdit::singleline(&mut named.name).desired_width(300.0));
    let field = field.labelled_by(label.id);
    let entered = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
    if !field.has_focus() && ui.memory(|m| m.focused().is_none()) {
        field.request_focus();
    }
    let ready = !named.name.trim().is_empty();
    ui.horizontal(|ui| {
        let go = ui.add_enabled(ready, Button::new("Name it")).clicked();
        if ready && (go || entered) {
            *answer = Some(Answer::Name(named.clone()));
        }
        *over |= ui.button("Leave it").clicked();
    });
}
