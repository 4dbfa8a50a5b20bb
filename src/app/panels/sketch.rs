//! What was found in the sketch, in words, before anything is solved.

use super::parts::{faint, head, rule};
use crate::app::actions::Action;
use crate::app::scene::Scene;
use crate::app::wants::Want;
use crate::sketch::Line;
use eframe::egui::{RichText, Ui};

/// So many warnings are listed.
const MOST_WARNINGS: usize = 30;

/// The panel.
pub fn sketch_ui(ui: &mut Ui, scene: &Scene<'_>, wants: &mut Vec<Want>) {
    head(ui, scene, "The sketch");
    let look = scene.look;
    let reading = &look.ready.reading;
    faint(ui, scene, &look.document.sketch.name);
    if reading.notes.is_empty() {
        ui.label("There are no notes yet. Bring in a piano sketch, a MIDI or MusicXML file.");
        return;
    }
    let last = crate::music::Tick(look.song.end().0.saturating_sub(1));
    let bars = look.song.meters.bar(last).0;
    let first = look.song.meters.changes().first();
    let meter = first.map_or(String::new(), |c| format!(", {}", c.meter));
    ui.label(format!(
        "{bars} bars{meter}, {} notes, {} phrases",
        reading.notes.len(),
        reading.phrases.len()
    ));
    for span in &reading.keys {
        let from = look.song.meters.place(span.start);
        let how = if span.given {
            "as the file says"
        } else {
            "found by ear"
        };
        faint(
            ui,
            scene,
            &format!("from bar {}: {} ({how})", from.bar, span.key),
        );
    }
    rule(ui, scene);
    ui.label(RichText::new("Lines").strong());
    for line in Line::ALL {
        let count = reading.line(line).count();
        if count == 0 {
            continue;
        }
        let sure: f32 = reading.line(line).map(|n| n.confidence).sum::<f32>() / count as f32;
        ui.label(format!(
            "{}: {count} notes, sure {:.0} times in 100",
            line.word(),
            sure * 100.0
        ));
    }
    tags_ui(ui, scene, wants);
    warnings_ui(ui, scene);
}

fn tags_ui(ui: &mut Ui, scene: &Scene<'_>, wants: &mut Vec<Want>) {
    rule(ui, scene);
    ui.label(RichText::new("Say otherwise").strong());
    if scene.sketch_notes.is_empty() {
        faint(
            ui,
            scene,
            "Select notes of the sketch on the sheet, then say what they are.",
        );
        return;
    }
    let count = scene.sketch_notes.len();
    faint(ui, scene, &format!("{count} selected"));
    ui.horizontal_wrapped(|ui| {
        for action in [
            Action::TagMelody,
            Action::TagCounterline,
            Action::TagHarmony,
            Action::TagBass,
            Action::TagFigure,
        ] {
            let about = action.about();
            if ui.button(about.name).on_hover_text(about.what).clicked() {
                wants.push(Want::Do(action));
            }
        }
    });
}

fn warnings_ui(ui: &mut Ui, scene: &Scene<'_>) {
    let song = scene.look.song.warnings.iter();
    let all: Vec<_> = song.chain(&scene.look.ready.reading.warnings).collect();
    if all.is_empty() {
        return;
    }
    rule(ui, scene);
    ui.label(RichText::new("To know").strong());
    for warning in all.iter().take(MOST_WARNINGS) {
        faint(ui, scene, &warning.to_string());
    }
    if all.len() > MOST_WARNINGS {
        let more = all.len() - MOST_WARNINGS;
        faint(ui, scene, &format!("and {more} more"));
    }
}
