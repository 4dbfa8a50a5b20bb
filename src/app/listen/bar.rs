//! The bar that listening is done with: play, tempo, what is heard of what, by whom, from where.

use super::device::With;
use super::who::{who_in_words, who_ui};
use crate::app::actions::Action;
use crate::app::fonts::words;
use crate::app::session::Session;
use crate::app::theme::Palette;
use crate::app::wants::Want;
use crate::music::Tick;
use crate::sound::heard::{Only, Source};
use crate::sound::render::{QUICKEST, SLOWEST};
use crate::sound::seating::Place;
use eframe::egui::{
    Align, Button, ComboBox, DragValue, Layout, PopupCloseBehavior, RichText, Role as Access, Ui,
    WidgetInfo,
    containers::menu::{MenuButton, MenuConfig},
    vec2,
};

/// The bar.
pub fn listen_bar_ui(ui: &mut Ui, session: &Session, palette: &Palette, wants: &mut Vec<Want>) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 5.0;
        ui.spacing_mut().button_padding = vec2(6.0, 2.0);
        ui.spacing_mut().interact_size.y = 22.0;
        ui.style_mut().override_font_id = Some(words(12.5 * session.view.text()));
        transport(ui, session, palette, wants);
        ui.separator();
        heard(ui, session, wants);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let said = place_in_words(session);
            ui.label(RichText::new(said).color(palette.faint_ink));
        });
    });
}

fn does(ui: &mut Ui, button: Button<'_>, action: Action, wants: &mut Vec<Want>) {
    let about = action.about();
    let key = about.key.map(|k| ui.ctx().format_shortcut(&k));
    let tip = format!("{} ({})", about.what, key.unwrap_or_default());
    if ui.add(button).on_hover_text(tip).clicked() {
        wants.push(Want::Do(action));
    }
}

fn transport(ui: &mut Ui, session: &Session, palette: &Palette, wants: &mut Vec<Want>) {
    let listening = &session.listening;
    let plays = listening.plays();
    let word = if plays { "Be silent" } else { "Play" };
    let words = RichText::new(word).color(palette.on_accent);
    let play = Button::new(words)
        .fill(palette.accent)
        .min_size(vec2(70.0, 0.0));
    does(ui, play, Action::Play, wants);
    let start = Button::new("From the start");
    does(ui, start, Action::PlayFromStart, wants);
    let again = Button::selectable(listening.again, Action::Again.name());
    does(ui, again, Action::Again, wants);
    let counts = Button::selectable(listening.counts, Action::CountIn.name());
    does(ui, counts, Action::CountIn, wants);
    let mut speed = 100.0 * listening.speed();
    let label = ui.label("tempo");
    let range = 100.0 * SLOWEST..=100.0 * QUICKEST;
    let value = DragValue::new(&mut speed)
        .range(range)
        .speed(1.0)
        .fixed_decimals(0)
        .suffix(" %");
    let response = ui.add(value).labelled_by(label.id).on_hover_text(
        "How quick it is played, of its own tempo; the pitch stays (minus and plus keys)",
    );
    if response.changed() {
        wants.push(Want::Tempo(speed / 100.0));
    }
}

fn heard(ui: &mut Ui, session: &Session, wants: &mut Vec<Want>) {
    let listening = &session.listening;
    let mut heard = listening.heard.clone();
    for source in Source::ALL {
        let tip = match source {
            Source::Draft => "The band, as loud as its players are likely to be",
            Source::Sketch => "The sketch on a piano, at the same place",
            Source::Both => "The band with the piano",
        };
        ui.selectable_value(&mut heard.source, source, source.word())
            .on_hover_text(tip);
    }
    ComboBox::from_id_salt("which lines are heard")
        .selected_text(heard.only.words())
        .width(104.0)
        .show_ui(ui, |ui| {
            for only in Only::ALL {
                ui.selectable_value(&mut heard.only, only, only.words());
            }
        })
        .response
        .widget_info(|| WidgetInfo::labeled(Access::ComboBox, true, "which lines are heard"));
    if let Some(scene) = session.scene() {
        ui.label("by");
        let who = who_in_words(&scene.look.document.band, &heard);
        let config = MenuConfig::default().close_behavior(PopupCloseBehavior::CloseOnClickOutside);
        MenuButton::new(who)
            .config(config)
            .ui(ui, |ui| who_ui(ui, &scene, &mut heard))
            .0
            .on_hover_text("Choirs and parts: muted, or solo");
    }
    if heard != listening.heard {
        wants.push(Want::Hear(heard));
    }
    let from = ui.label("place");
    let mut place = listening.place;
    ComboBox::from_id_salt("where it is heard from")
        .selected_text(place.words())
        .width(90.0)
        .show_ui(ui, |ui| {
            for one in Place::ALL {
                ui.selectable_value(&mut place, one, one.words())
                    .on_hover_text("Who is near is louder, who is far is late");
            }
        })
        .response
        .labelled_by(from.id);
    if place != listening.place {
        wants.push(Want::ListenFrom(place));
    }
    with_what(ui, session, wants);
}

/// The sounds that it is played with.
fn with_what(ui: &mut Ui, session: &Session, wants: &mut Vec<Want>) {
    let listening = &session.listening;
    let label = ui.label("sounds");
    let mut with = listening.with.clone();
    let mut all = vec![With::BuiltIn];
    all.extend(listening.found.fonts.iter().cloned().map(With::Font));
    all.extend(listening.found.ports.iter().cloned().map(With::Port));
    if !all.contains(&with) {
        all.push(with.clone());
    }
    let about = Action::ChooseSounds.about();
    ComboBox::from_id_salt("with what it is played")
        .selected_text(with.words())
        .width(84.0)
        .truncate()
        .show_ui(ui, |ui| {
            for one in all {
                let words = one.words();
                ui.selectable_value(&mut with, one, words);
            }
            ui.separator();
            if ui.button(about.name).on_hover_text(about.what).clicked() {
                wants.push(Want::Do(Action::ChooseSounds));
            }
        })
        .response
        .labelled_by(label.id);
    if with != listening.with {
        wants.push(Want::PlayWith(with));
    }
}

/// Where the music is, for the right end of the bar; else what the sound is.
fn place_in_words(session: &Session) -> String {
    let place = session
        .listening
        .at()
        .zip(session.look())
        .map(|(at, look)| (at, look.song.meters.place(at), look.song.tempo.seconds(at)));
    match place {
        Some((at, place, seconds)) if at >= Tick::ZERO => {
            let whole = seconds as u64;
            format!(
                "bar {} beat {:.0}   {}:{:02}",
                place.bar.0,
                place.beat.floor(),
                whole / 60,
                whole % 60
            )
        }
        _ => "a sketch of the sound".to_owned(),
    }
}
