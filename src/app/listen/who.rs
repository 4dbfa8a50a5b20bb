//! Who is heard: choirs and parts, muted or solo.

use crate::app::scene::Scene;
use crate::band::{Band, PartId};
use crate::plan::words::named_choirs;
use crate::sound::heard::Heard;
use eframe::egui::{Button, Grid, RichText, Role as Access, ScrollArea, Ui, WidgetInfo};

/// How high the list grows before it scrolls, in points.
const HIGH: f32 = 420.0;

/// Who is heard, in a word for the button that opens the list.
#[must_use]
pub fn who_in_words(band: &Band, heard: &Heard) -> String {
    if heard.is_everybody() {
        return "everybody".to_owned();
    }
    let all: Vec<_> = band.ids().filter(|(id, _)| heard.part(*id)).collect();
    match all.as_slice() {
        [] => "nobody".to_owned(),
        [(_, part)] => part.name.clone(),
        some => format!("{} of {} parts", some.len(), band.parts.len()),
    }
}

/// The list: whatever is pressed in it changes what is heard.
pub fn who_ui(ui: &mut Ui, scene: &Scene<'_>, heard: &mut Heard) {
    let band = &scene.look.document.band;
    if ui
        .add_enabled(!heard.is_everybody(), Button::new("Hear everybody"))
        .clicked()
    {
        heard.everybody();
    }
    ui.separator();
    ScrollArea::vertical().max_height(HIGH).show(ui, |ui| {
        Grid::new("who is heard").num_columns(3).show(ui, |ui| {
            for (name, parts) in named_choirs(band) {
                row(ui, (&name, true), &parts, heard);
                if parts.len() > 1 {
                    for part in parts {
                        let name = &band.part(part).name;
                        row(ui, (name, false), &[part], heard);
                    }
                }
            }
        });
    });
}

fn row(ui: &mut Ui, (name, strong): (&str, bool), parts: &[PartId], heard: &mut Heard) {
    let is_heard = parts.iter().any(|p| heard.part(*p));
    let mut words = RichText::new(if strong {
        name.to_owned()
    } else {
        format!("    {name}")
    });
    if strong {
        words = words.strong();
    }
    if !is_heard {
        words = words.weak();
    }
    ui.label(words);
    let muted = parts.iter().all(|p| heard.is_muted(*p));
    let solo = parts.iter().all(|p| heard.is_solo(*p));
    if switch(ui, "mute", muted, name) {
        heard.mute(parts);
    }
    if switch(ui, "solo", solo, name) {
        heard.solo(parts);
    }
    ui.end_row();
}

fn switch(ui: &mut Ui, word: &str, on: bool, name: &str) -> bool {
    let response = ui.selectable_label(on, word);
    response
        .widget_info(|| WidgetInfo::selected(Access::Button, true, on, format!("{word} {name}")));
    response.clicked()
}
