//! The button that solves.

use super::actions::Action;
use super::session::Session;
use super::theme::Palette;
use super::wants::Want;
use crate::voicing::Stay;
use eframe::egui::{Frame, Margin, Panel as Side, Slider, Ui};

/// The one button that is always there, and over it what staying as drafted is worth.
pub fn solve_button(ui: &mut Ui, session: &mut Session, palette: &Palette, wants: &mut Vec<Want>) {
    Side::bottom("solve")
        .frame(Frame::new().inner_margin(Margin::symmetric(0, 8)))
        .show_separator_line(false)
        .show(ui, |ui| {
            let some = session.selection.is_some();
            let action = if some {
                Action::SolveSelection
            } else {
                Action::SolveAll
            };
            if some {
                let mut stay = session.stay.get();
                ui.horizontal(|ui| {
                    let label = ui.label("stays as drafted");
                    let slider = Slider::new(&mut stay, 0..=10).show_value(true);
                    ui.add(slider).labelled_by(label.id).on_hover_text(
                        "What staying as drafted is worth: 0 starts afresh, 10 leaves all that may stay",
                    );
                });
                session.stay = Stay::new(stay);
            }
            let words = eframe::egui::RichText::new(action.name()).color(palette.on_accent);
            let button = eframe::egui::Button::new(words)
                .fill(palette.accent)
                .min_size([0.0, 32.0].into());
            let idle = session.solving.is_none();
            ui.vertical_centered_justified(|ui| {
                if ui
                    .add_enabled(idle, button)
                    .on_hover_text(action.about().what)
                    .clicked()
                {
                    wants.push(Want::Do(action));
                }
            });
        });
}
