//! The roster: who plays what, how good they are, what was said of them, who is away.

use super::parts::{faint, head, rule, says};
use super::range::range_ui;
use crate::app::scene::Scene;
use crate::app::wants::Want;
use crate::band::{Level, SeatId, Section, Split, instruments, remarks_in_words};
use crate::project::work::{RosterEdit, Whose, edit_roster};
use eframe::egui::{CollapsingHeader, ComboBox, DragValue, RichText, TextEdit, Ui};

/// The words of the vocabulary of remarks, what they are called here, and what stands behind them.
const REMARKS: [(&str, &str, &str); 11] = [
    ("lowest", "lowest note", "a written note, such as F4"),
    ("highest", "highest note", "a written note, such as D5"),
    (
        "below_the_break",
        "below the break",
        "true: the clarinets stay below the break",
    ),
    ("no_leaps_over", "no leaps over", "semitones, such as 7"),
    (
        "no_faster_than",
        "no faster than",
        "notes a second, such as 3.5",
    ),
    ("rests_every", "rests every", "bars, such as 16"),
    (
        "accidentals_at_most",
        "accidentals at most",
        "sharps or flats of the written key, such as 3",
    ),
    ("exposed", "heard alone", "may or never"),
    (
        "doubles",
        "doubles",
        "the id of an instrument, such as piccolo",
    ),
    ("go_easy", "go easy", "braces or injury: care, not a limit"),
    ("note", "in the director's words", "free text"),
];

/// What is being typed in the panel.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct RosterView {
    /// The last thing that was refused.
    refused: Option<String>,
    name: String,
    instrument: Option<String>,
    remark: Option<String>,
    value: String,
    /// Counts by level that are being dragged, and of which section.
    counts: Option<(usize, [u16; 5])>,
}

/// The panel.
pub fn roster_ui(ui: &mut Ui, scene: &Scene<'_>, view: &mut RosterView, wants: &mut Vec<Want>) {
    let band = &scene.now.band;
    head(ui, scene, &band.name);
    if !band.note.is_empty() {
        faint(ui, scene, &band.note);
    }
    if let Some(refused) = &view.refused {
        ui.colored_label(scene.palette.strain, refused);
    }
    let mut asked = Vec::new();
    for (index, section) in band.roster.sections.iter().enumerate() {
        let players = section.seats.iter().filter(|s| !s.absent).count();
        let title = format!("{} · {players}", section.name);
        CollapsingHeader::new(RichText::new(title).color(scene.palette.ink))
            .id_salt(("section", index))
            .show(ui, |ui| {
                section_ui(ui, scene, view, (index, section), &mut asked);
            });
    }
    rule(ui, scene);
    add_ui(ui, scene, view, &mut asked);
    for edit in asked {
        match edit_roster(&band.roster, &edit) {
            Ok(done) => {
                view.refused = None;
                wants.push(Want::Roster(Box::new(done)));
            }
            Err(refused) => view.refused = Some(refused.to_string()),
        }
    }
}

fn section_ui(
    ui: &mut Ui,
    scene: &Scene<'_>,
    view: &mut RosterView,
    (index, section): (usize, &Section),
    asked: &mut Vec<RosterEdit>,
) {
    faint(ui, scene, &section.instrument.name);
    let band = &scene.now.band;
    let of_section = |p: &&crate::band::Part| p.seats.iter().any(|s| s.section == index);
    for part in band.parts.iter().filter(of_section) {
        range_ui(ui, scene, part);
    }
    split_ui(ui, (index, section), asked);
    for (seat, about) in section.seats.iter().enumerate() {
        seat_ui(
            ui,
            (
                SeatId {
                    section: index,
                    seat,
                },
                about,
            ),
            asked,
        );
    }
    counts_ui(ui, scene, view, (index, section), asked);
    remarks_ui(ui, scene, view, (index, section), asked);
    ui.horizontal_wrapped(|ui| {
        if index > 0
            && ui
                .button("Further up")
                .on_hover_text("Move it up in the roster")
                .clicked()
        {
            asked.push(RosterEdit::Move(index, index - 1));
        }
        if ui
            .button(format!("Take {} out", section.name))
            .on_hover_text("Take it out of the band; this can be undone")
            .clicked()
        {
            asked.push(RosterEdit::Remove(index));
        }
    });
}

/// How many players of each level there are.
fn counts_ui(
    ui: &mut Ui,
    scene: &Scene<'_>,
    view: &mut RosterView,
    (index, section): (usize, &Section),
    asked: &mut Vec<RosterEdit>,
) {
    let mut counts = [0_u16; 5];
    for seat in &section.seats {
        if let Some(count) = counts.get_mut(seat.level.index()) {
            *count += 1;
        }
    }
    if let Some((_, held)) = view.counts.filter(|(of, _)| *of == index) {
        counts = held;
    }
    let (mut over, mut moved) = (false, false);
    faint(ui, scene, "Players by level");
    for level in Level::ALL {
        let Some(count) = counts.get_mut(level.index()) else {
            continue;
        };
        ui.horizontal(|ui| {
            let field = ui.add(DragValue::new(count).range(0..=60));
            if field.changed() {
                moved = true;
            }
            over |= field.drag_stopped() || field.lost_focus();
            let label = ui.label(level.to_string());
            field.labelled_by(label.id);
        });
    }
    if moved {
        view.counts = Some((index, counts));
    }
    // A drag over many numbers is one step.
    if over && view.counts.take().is_some() {
        asked.push(RosterEdit::Players(index, counts));
    }
}

fn split_ui(ui: &mut Ui, (index, section): (usize, &Section), asked: &mut Vec<RosterEdit>) {
    let words = |split: Split| match split {
        Split::One => "one part".to_owned(),
        Split::Into(n) => format!("{n} parts"),
        Split::Proposed => "parts as proposed".to_owned(),
    };
    let mut now = section.split;
    let choice = ComboBox::from_id_salt(("split", index))
        .selected_text(words(now))
        .show_ui(ui, |ui| {
            for split in [
                Split::One,
                Split::Into(2),
                Split::Into(3),
                Split::Into(4),
                Split::Proposed,
            ] {
                ui.selectable_value(&mut now, split, words(split));
            }
        });
    says(&choice.response, "Parts of the section", &words(now));
    if now != section.split {
        asked.push(RosterEdit::Split(index, now));
    }
}

fn seat_ui(ui: &mut Ui, (id, seat): (SeatId, &crate::band::Seat), asked: &mut Vec<RosterEdit>) {
    ui.horizontal(|ui| {
        let mut level = seat.level;
        let choice = ComboBox::from_id_salt(("level", id))
            .width(104.0)
            .selected_text(level.to_string())
            .show_ui(ui, |ui| {
                for one in Level::ALL {
                    ui.selectable_value(&mut level, one, one.to_string());
                }
            });
        let name = format!("Level of player {}", id.seat + 1);
        says(&choice.response, &name, &level.to_string());
        if level != seat.level {
            asked.push(RosterEdit::Level(id, level));
        }
        let mut absent = seat.absent;
        let who = if seat.name.is_empty() {
            format!("player {}", id.seat + 1)
        } else {
            seat.name.clone()
        };
        if ui
            .checkbox(&mut absent, format!("{who} away"))
            .on_hover_text("Whether the player is away")
            .changed()
        {
            asked.push(RosterEdit::Absent(id, absent));
        }
    });
    for remark in remarks_in_words(&seat.remarks) {
        ui.small(format!("    {remark}"));
    }
}

fn remarks_ui(
    ui: &mut Ui,
    scene: &Scene<'_>,
    view: &mut RosterView,
    (index, section): (usize, &Section),
    asked: &mut Vec<RosterEdit>,
) {
    ui.label(RichText::new("The director says").strong());
    let said = remarks_in_words(&section.remarks);
    if said.is_empty() {
        faint(ui, scene, "nothing of all of them");
    }
    for remark in said {
        ui.label(remark);
    }
    ui.horizontal_wrapped(|ui| {
        let chosen = REMARKS.iter().find(|r| view.remark.as_deref() == Some(r.0));
        let choice = ComboBox::from_id_salt(("remark", index))
            .width(140.0)
            .selected_text(chosen.map_or("a remark", |r| r.1))
            .show_ui(ui, |ui| {
                for (word, name, what) in REMARKS {
                    let choice = Some(word.to_owned());
                    ui.selectable_value(&mut view.remark, choice, name)
                        .on_hover_text(what);
                }
            });
        let remark = chosen.map_or("none yet", |r| r.1);
        says(&choice.response, "What the director says", remark);
        let label = ui.label("is");
        let hint = chosen.map_or("", |r| r.2);
        ui.add(TextEdit::singleline(&mut view.value).desired_width(90.0))
            .labelled_by(label.id)
            .on_hover_text(hint);
        let word = view.remark.clone();
        if let Some(word) = word {
            if ui
                .button("Say so")
                .on_hover_text("Add the remark")
                .clicked()
            {
                let value = Some(view.value.trim().to_owned());
                let whose = Whose::Section(index);
                asked.push(RosterEdit::Remark(whose, word.clone(), value));
            }
            if ui
                .button("Take back")
                .on_hover_text("Take the remark back")
                .clicked()
            {
                let whose = Whose::Section(index);
                asked.push(RosterEdit::Remark(whose, word, None));
            }
        }
    });
}

fn add_ui(ui: &mut Ui, scene: &Scene<'_>, view: &mut RosterView, asked: &mut Vec<RosterEdit>) {
    ui.label(RichText::new("Add a part").strong());
    let all = instruments().unwrap_or_default();
    let named = view
        .instrument
        .as_ref()
        .and_then(|id| all.iter().find(|i| i.id == *id))
        .map_or("choose an instrument", |i| i.name.as_str());
    let choice = ComboBox::from_id_salt("new part")
        .width(180.0)
        .selected_text(named)
        .show_ui(ui, |ui| {
            for one in all {
                let choice = Some(one.id.clone());
                ui.selectable_value(&mut view.instrument, choice, &one.name);
            }
        });
    says(&choice.response, "Instrument of the new part", named);
    ui.horizontal(|ui| {
        let label = ui.label("called");
        ui.add(TextEdit::singleline(&mut view.name).desired_width(120.0))
            .labelled_by(label.id);
        let ready = view.instrument.is_some() && !view.name.trim().is_empty();
        let button = eframe::egui::Button::new("Add");
        if ui.add_enabled(ready, button).clicked() {
            asked.push(RosterEdit::Add {
                name: view.name.trim().to_owned(),
                instrument: view.instrument.clone().unwrap_or_default(),
                players: "1 intermediate".to_owned(),
                split: Split::One,
            });
            view.name.clear();
        }
    });
    faint(
        ui,
        scene,
        "One intermediate player to begin with; set the others above.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_of_the_vocabulary_can_be_said() {
        let here: Vec<&str> = REMARKS.iter().map(|r| r.0).collect();
        let all: Vec<&str> = crate::band::remark_words().collect();
        assert_eq!(here, all);
    }
}
