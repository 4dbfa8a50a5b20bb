//! How the passage is scored, and other ways to take.

use super::parts::{card, faint, head, rule};
use crate::app::scene::Scene;
use crate::app::wants::Want;
use crate::music::Tick;
use crate::plan::{PassagePlan, why_passage};
use eframe::egui::{RichText, Ui};

/// The panel.
pub fn ways_ui(
    ui: &mut Ui,
    scene: &Scene<'_>,
    (at, shown_way): (Tick, Option<usize>),
    wants: &mut Vec<Want>,
) {
    head(ui, scene, "Ways of scoring");
    let Some(planned) = scene.look.plan.passage(at) else {
        faint(ui, scene, "Bring in a sketch first.");
        return;
    };
    let passage = &planned.passage;
    let bars = (passage.first_bar.0, passage.last_bar.0);
    faint(ui, scene, &format!("bars {}-{}", bars.0, bars.1));
    ui.label(RichText::new(&planned.way).strong());
    if planned.taken {
        ui.horizontal_wrapped(|ui| {
            ui.colored_label(scene.palette.accent, "you took this way");
            if ui
                .button("As is best again")
                .on_hover_text("Let the program choose the way of this passage")
                .clicked()
            {
                wants.push(Want::TakeWay(bars, None));
            }
        });
    }
    let band = &scene.look.document.band;
    for text in why_passage(band, planned).text.iter().skip(1) {
        faint(ui, scene, text);
    }
    others_ui(ui, scene, planned, shown_way, wants);
}

fn others_ui(
    ui: &mut Ui,
    scene: &Scene<'_>,
    planned: &PassagePlan,
    shown: Option<usize>,
    wants: &mut Vec<Want>,
) {
    rule(ui, scene);
    ui.label(RichText::new("Other ways").strong());
    if planned.others.is_empty() {
        faint(
            ui,
            scene,
            "None that really differs: locks and remarks settle this passage.",
        );
    }
    let bars = (planned.passage.first_bar.0, planned.passage.last_bar.0);
    for (index, other) in planned.others.iter().enumerate() {
        let looked_at = if shown == Some(index) {
            "this one: "
        } else {
            ""
        };
        let title = format!("{looked_at}{}   {:+.1} points", other.way, other.cost_more);
        let answer = card(ui, scene, &title, &other.changes);
        if answer
            .on_hover_text("Score the passage this way and solve it again")
            .clicked()
        {
            wants.push(Want::TakeWay(bars, Some(other.number)));
        }
    }
}
