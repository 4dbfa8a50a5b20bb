//! A part's written range on a stave: what is comfortable, what is a stretch, what is out.

use crate::app::scene::Scene;
use crate::app::sheet::pen::Pen;
use crate::band::Part;
use crate::notation::glyph_sizes::{BLACK_HEAD, HALF_HEAD, clef as clef_glyph};
use crate::notation::{Accidental, Clef, Mark, PlacedGlyph, RangeNote, Spot, Symbol, range_stave};
use eframe::egui::{Role as Access, Sense, Ui, WidgetInfo, pos2, vec2};

/// A staff space in points.
const SPACE: f32 = 5.0;
/// From one note to the next, in staff spaces.
const STEP: f32 = 4.2;

/// Draws it.
pub fn range_ui(ui: &mut Ui, scene: &Scene<'_>, part: &Part) {
    let about = range_stave(part);
    let clef = about.clefs.first().copied().unwrap_or(Clef::Treble);
    let (high, low) = about.steps();
    let above = f32::from(high - clef.top_line()).max(0.0) / 2.0 + 1.5;
    let below = f32::from(clef.bottom_line() - low).max(0.0) / 2.0 + 1.5;
    let width = 6.0 + STEP * about.notes.len() as f32;
    let size = vec2(width * SPACE, (4.0 + above + below) * SPACE);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let painter = ui.painter_at(rect);
    let pen = Pen {
        painter: &painter,
        origin: pos2(rect.left(), rect.top() + (above + 4.0) * SPACE),
        space: SPACE,
        ink: scene.palette.ink,
    };
    pen.in_colour(scene.palette.stave).stave(0.0, width);
    let (glyph, up) = clef_glyph(clef);
    pen.glyph(&PlacedGlyph {
        glyph,
        origin: Spot { x: 0.6, y: up },
        mirrored: false,
    });
    for (i, note) in about.notes.iter().enumerate() {
        let x = 5.5 + STEP * i as f32;
        draw(&pen, scene, (clef, note), x);
    }
    let said = in_words(part, &about.notes);
    response.widget_info(|| WidgetInfo::labeled(Access::Label, true, &said));
    response.on_hover_text(said);
}

/// A full head for what is comfortable, an open one for a stretch, one with a chevron for what is out beyond.
fn draw(pen: &Pen<'_>, scene: &Scene<'_>, (clef, note): (Clef, &RangeNote), x: f32) {
    let y = f32::from(note.place.step - clef.bottom_line()) / 2.0;
    for line in note.place.ledger_lines(&[clef]) {
        let y = f32::from(line - clef.bottom_line()) / 2.0;
        pen.symbol(&Symbol::Ledger {
            x0: x - 0.4,
            x1: x + 1.6,
            y,
        });
    }
    let glyph = match note.mark {
        Mark::Comfortable => BLACK_HEAD,
        Mark::Stretch | Mark::Limit => HALF_HEAD,
    };
    pen.glyph(&PlacedGlyph {
        glyph,
        origin: Spot {
            x: x - glyph.left,
            y: y - glyph.middle,
        },
        mirrored: false,
    });
    if note.place.accidental != 0 {
        pen.symbol(&Symbol::Accidental {
            at: Spot { x: x - 1.2, y },
            kind: Accidental::of(note.place.accidental),
            index: None,
        });
    }
    if note.mark == Mark::Limit {
        let spot = Spot { x: x + 0.6, y };
        pen.in_colour(scene.palette.strain)
            .chevrons(spot, note.upper, 1);
    }
}

fn in_words(part: &Part, notes: &[RangeNote]) -> String {
    let ends = |mark: Mark| -> Vec<String> {
        let all = notes.iter().filter(|n| n.mark == mark);
        all.map(|n| n.written.to_string()).collect()
    };
    let mut said = format!("{}, as written", part.name);
    for (mark, what) in [
        (Mark::Comfortable, "comfortable"),
        (Mark::Stretch, "a stretch"),
        (Mark::Limit, "as the director limits it"),
    ] {
        let ends = ends(mark);
        if !ends.is_empty() {
            said.push_str(&format!("; {what}: {}", ends.join(" to ")));
        }
    }
    said
}
