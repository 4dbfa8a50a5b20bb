//! Why the selected note is there, and what else it could be.

use super::parts::{card, faint, head, rule};
use crate::app::scene::Scene;
use crate::app::scene::in_100;
use crate::app::wants::Want;
use crate::music::Tick;
use crate::project::why::{Other, Why};
use eframe::egui::{RichText, Ui};

/// Costs under this are not worth a line, in points.
const WORTH_TELLING: f64 = 0.005;

/// The panel.
pub fn why_ui(ui: &mut Ui, scene: &Scene<'_>, why: Option<&Why>, wants: &mut Vec<Want>) {
    head(ui, scene, "Why this note");
    let Some(why) = why else {
        let said = if scene.selection.is_some() {
            "one moment: it is told once the work beside the window is done"
        } else {
            "Select a note: its reasons and what else it could be stand here."
        };
        faint(ui, scene, said);
        return;
    };
    let place = scene.look.song.meters.place(why.start);
    let band = &scene.look.document.band;
    if let Some(part) = band.parts.get(why.part.0) {
        faint(ui, scene, &format!("{}, {place}", part.name));
    }
    ui.label(RichText::new(&why.note).strong());
    if let Some(clean) = why.clean {
        ui.label(format!("clean {}", in_100(clean)));
        for cause in &why.hard {
            faint(ui, scene, &format!("hard: {cause}"));
        }
        part_ui(ui, scene, why);
    }
    if why.locked {
        ui.colored_label(scene.palette.lock, "locked: no solve changes it");
    }
    for reason in &why.reasons {
        ui.label(reason);
    }
    costs_ui(ui, scene, why);
    others_ui(ui, scene, why, wants);
    if !why.ruled_out.is_empty() {
        rule(ui, scene);
        ui.label(RichText::new("Not possible").strong());
        for text in &why.ruled_out {
            faint(ui, scene, text);
        }
    }
    if !why.passage.is_empty() {
        rule(ui, scene);
        ui.label(RichText::new("This passage").strong());
        for text in &why.passage {
            faint(ui, scene, text);
        }
    }
}

/// How clean the part is likely to be in the passage and over the whole show.
fn part_ui(ui: &mut Ui, scene: &Scene<'_>, why: &Why) {
    let passages = scene.look.ready.passages.iter();
    let here = passages.clone().find(|p| p.contains(why.start));
    let band = here.and_then(|p| scene.band_clean_between(p.start, p.end));
    if let Some((band, show)) = band.zip(scene.clean()) {
        let (band, show) = (in_100(band), in_100(show));
        let said = format!("the band: {band} in this passage, {show} over the show");
        faint(ui, scene, &said);
    }
    let here = here.and_then(|p| scene.clean_between(why.part, p.start, p.end));
    let whole = scene.clean_between(why.part, Tick::ZERO, Tick(u64::MAX));
    if let (Some(here), Some(whole)) = (here, whole) {
        let (here, whole) = (in_100(here), in_100(whole));
        let said = format!("the part: {here} in this passage, {whole} over the show");
        faint(ui, scene, &said);
    }
}

fn costs_ui(ui: &mut Ui, scene: &Scene<'_>, why: &Why) {
    let costs: Vec<_> = why
        .costs
        .iter()
        .filter(|(_, points)| points.abs() >= WORTH_TELLING)
        .collect();
    if costs.is_empty() {
        return;
    }
    rule(ui, scene);
    ui.label(RichText::new(format!("What it costs: {:.1} points", why.total)).strong());
    for (what, points) in costs {
        ui.horizontal_top(|ui| {
            ui.add_sized(
                [44.0, 0.0],
                eframe::egui::Label::new(
                    RichText::new(format!("{points:.1}")).color(scene.palette.faint_ink),
                ),
            );
            ui.add(eframe::egui::Label::new(what).wrap());
        });
    }
}

fn others_ui(ui: &mut Ui, scene: &Scene<'_>, why: &Why, wants: &mut Vec<Want>) {
    if why.others.is_empty() {
        return;
    }
    rule(ui, scene);
    ui.label(RichText::new("Could also be").strong());
    for other in &why.others {
        let said = format!("{}   {:+.1} points", other.name, other.more);
        let answer = card(ui, scene, &said, &other.why);
        let answer = answer.on_hover_text("Take it in place of this note");
        if answer.clicked()
            && let Some(want) = taken(why, other)
        {
            wants.push(want);
        }
    }
}

/// Taking it: the octave of a line is moved by the note's own octaves.
fn taken(why: &Why, other: &Other) -> Option<Want> {
    let sounds = match (other.sounds, other.octave) {
        (sounds, None) => sounds,
        (Some(first), Some(_)) => Some(first),
        (None, Some(_)) => return None,
    };
    Some(Want::TakeOther {
        part: why.part,
        start: why.start,
        end: why.end,
        now: why.sounds,
        sounds,
    })
}
