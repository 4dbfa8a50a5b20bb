//! The bar of menus at the top, and the line of what was told at the bottom.

use super::actions::{ACTIONS, Action, Menu};
use super::fonts::bold;
use super::recent::Recent;
use super::session::Session;
use super::theme::Palette;
use super::wants::Want;
use crate::app::scene::in_100;
use eframe::egui::{
    Align, Button, Color32, Label, Layout, MenuBar, ProgressBar, RichText, Sense, Ui, vec2,
};

/// The bar at the top: the show, the menus, how clean and how good it is.
pub fn top_ui(
    ui: &mut Ui,
    session: &Session,
    recent: &Recent,
    palette: &Palette,
    wants: &mut Vec<Want>,
) {
    let text = session.view.text();
    let ink = palette.top_ink;
    MenuBar::new().ui(ui, |ui| {
        ui.visuals_mut().widgets.inactive.fg_stroke.color = ink;
        ui.visuals_mut().widgets.inactive.weak_bg_fill = palette.top;
        ui.visuals_mut().widgets.hovered.weak_bg_fill = palette.accent;
        ui.visuals_mut().widgets.hovered.fg_stroke.color = palette.top_ink;
        ui.visuals_mut().widgets.open.weak_bg_fill = palette.accent;
        ui.visuals_mut().widgets.open.fg_stroke.color = palette.top_ink;
        let document = session.document();
        let title = format!("{} · {}", document.band.name, document.title);
        // Menus and figures take what they need; the title is shortened first.
        let room = (ui.available_width() - 925.0 * text).clamp(90.0, 420.0 * text);
        ui.allocate_ui(vec2(room, ui.available_height()), |ui| {
            let words = RichText::new(&title).font(bold(14.0 * text)).color(ink);
            ui.add(Label::new(words).truncate()).on_hover_text(&title);
        });
        let saved = match (session.open.project.is_saved(), session.open.path()) {
            (true, Some(_)) => "saved",
            (true, None) => "as it came",
            (false, _) => "not saved",
        };
        ui.label(RichText::new(saved).small().color(ink.gamma_multiply(0.75)));
        ui.add_space(18.0);
        for menu in Menu::ALL {
            ui.menu_button(menu.name(), |ui| {
                *ui.visuals_mut() = ui.ctx().style_of(ui.ctx().theme()).visuals.clone();
                menu_ui(ui, session, recent, menu, wants);
            });
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            figures_ui(ui, session, palette);
        });
    });
}

/// How clean the band will play, and how far from the best the draft may be.
fn figures_ui(ui: &mut Ui, session: &Session, palette: &Palette) {
    let ink = palette.top_ink;
    if let Some((proof, _)) = session.proof {
        let gap = format!("gap {:.1} %", 100.0 * proof.gap());
        ui.add(Label::new(RichText::new(gap).color(ink)).sense(Sense::hover()))
            .on_hover_text(
                "The last solve's chords cost at most so much more than the best there could be",
            );
    }
    if let Some(clean) = session.scene().and_then(|s| s.clean()) {
        let said = format!("clean {}", in_100(clean));
        ui.add(Label::new(RichText::new(said).color(ink)).sense(Sense::hover()))
            .on_hover_text("The share of all notes that the band is likely to play clean");
    }
}

/// The shows that were open last.
fn recent_ui(ui: &mut Ui, recent: &Recent, wants: &mut Vec<Want>) {
    for path in recent.paths() {
        let name = path.file_stem().map(|n| n.to_string_lossy());
        let name = format!("Open {}", name.unwrap_or_default());
        let said = path.display().to_string();
        if ui.button(name).on_hover_text(said).clicked() {
            wants.push(Want::Open(path.clone()));
            ui.close();
        }
    }
}

fn menu_ui(ui: &mut Ui, session: &Session, recent: &Recent, menu: Menu, wants: &mut Vec<Want>) {
    ui.set_min_width(250.0);
    let visuals = ui.visuals_mut();
    visuals.widgets.inactive.weak_bg_fill = Color32::TRANSPARENT;
    ui.spacing_mut().item_spacing.y = 1.0;
    ui.spacing_mut().button_padding = vec2(10.0, 3.0);
    for about in ACTIONS.iter().filter(|a| a.menu == menu) {
        let name = named(session, about.action);
        let key = about.key.map(|k| ui.ctx().format_shortcut(&k));
        let button = Button::new(name).shortcut_text(key.unwrap_or_default());
        if ui.add(button).on_hover_text(about.what).clicked() {
            wants.push(Want::Do(about.action));
            ui.close();
        }
        if about.action == Action::Open {
            recent_ui(ui, recent, wants);
        }
    }
}

/// An action's name; undo and redo say what they would do.
fn named(session: &Session, action: Action) -> String {
    let project = &session.open.project;
    let more = match action {
        Action::Undo => project.undo_name(),
        Action::Redo => project.redo_name(),
        _ => None,
    };
    match more {
        Some(more) => format!("{}: {more}", action.name()),
        None => action.name().to_owned(),
    }
}

/// The line at the bottom: what was told last, what is selected, the solve that runs.
pub fn bottom_ui(
    ui: &mut Ui,
    session: &Session,
    palette: &Palette,
    selected: &str,
    wants: &mut Vec<Want>,
) {
    ui.horizontal(|ui| {
        if let Some(solving) = &session.solving {
            let share = solving.progress.share as f32;
            let gap = if solving.progress.cost > 0.0 {
                format!("gap {:.1} %", 100.0 * solving.progress.gap())
            } else {
                "solving".to_owned()
            };
            ui.add(ProgressBar::new(share).desired_width(160.0).text(gap));
            if ui
                .button(Action::Stop.name())
                .on_hover_text(Action::Stop.about().what)
                .clicked()
            {
                wants.push(Want::Do(Action::Stop));
            }
        }
        let last = session.messages.last().map_or("", String::as_str);
        let told = Label::new(RichText::new(last).color(palette.ink)).truncate();
        let all = session.messages.iter().rev().take(12);
        let all: Vec<&str> = all.map(String::as_str).collect();
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.label(RichText::new(selected).color(palette.faint_ink));
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                let told = ui.add(told);
                if !all.is_empty() {
                    told.on_hover_text(all.join("\n"));
                }
            });
        });
    });
}
