//! The written ranges of a band's parts as a drawing (SVG 1.1, W3C), four staves beside each other.

use super::svg::{ACCENT, INK, PAPER, SOFT, escaped, line, put};
use crate::band::{Band, Part};
use crate::notation::{Clef, Mark, RangeNote, RangeStave, range_stave};
use std::fmt::Write as _;

/// Distance of two lines of a stave, in units of the drawing; half of it is a step.
const SPACE: f64 = 10.0;
/// Width of one part.
const CELL: f64 = 240.0;
/// Width of its stave.
pub(super) const WIDTH: f64 = 208.0;
/// Staves side by side.
const BESIDE: usize = 4;
/// Around everything.
const MARGIN: f64 = 28.0;

const LIMIT: &str = ACCENT;

/// The ranges of all parts as the text of an SVG file.
#[must_use]
pub fn range_svg(band: &Band) -> String {
    let mut body = String::new();
    let mut y = MARGIN + 64.0;
    for row in band.parts.chunks(BESIDE) {
        y = draw_row(&mut body, row, y);
    }
    let height = y + MARGIN;
    let width = MARGIN.mul_add(2.0, CELL * BESIDE as f64);
    let title = escaped(&format!("{}: written ranges", band.name));
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" \
         width=\"{width:.0}\" height=\"{height:.0}\" viewBox=\"0 0 {width:.0} {height:.0}\" \
         role=\"img\" font-family=\"Georgia, 'Times New Roman', serif\" fill=\"{INK}\">\n\
         <title>{title}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"{PAPER}\"/>\n\
         <text x=\"{MARGIN}\" y=\"{:.0}\" font-size=\"22\">{}</text>\n",
        MARGIN + 18.0,
        escaped(&band.name)
    );
    legend(&mut text, MARGIN + 44.0);
    text.push_str(&body);
    text.push_str("</svg>\n");
    text
}

/// Draws some parts beside each other; answers where the next row begins.
fn draw_row(body: &mut String, parts: &[Part], y: f64) -> f64 {
    let staves: Vec<RangeStave> = parts.iter().map(range_stave).collect();
    let steps = || staves.iter().map(RangeStave::steps);
    let top = steps().map(|(high, _)| high).max().unwrap_or_default();
    let bottom = steps().map(|(_, low)| low).min().unwrap_or_default();
    let first_line = y.floor() + 62.5;
    let step_y = |step: i16| f64::from(top - step).mul_add(SPACE / 2.0, first_line);
    for (i, (part, stave)) in parts.iter().zip(&staves).enumerate() {
        let x = CELL.mul_add(i as f64, MARGIN);
        put(body, x, y + 22.0, 15.0, INK, &part.name);
        put(body, x, y + 39.0, 11.0, SOFT, &players(part));
        draw_stave(body, stave, x, &step_y);
        let names = step_y(bottom) + 26.0;
        put(body, x, names, 11.5, INK, &names_of(stave));
        put(body, x, names + 15.0, 11.5, LIMIT, &limits_of(stave));
    }
    step_y(bottom) + 54.0
}

fn players(part: &Part) -> String {
    let levels = part.players.levels();
    let words: Vec<String> = levels.map(|(l, n)| format!("{n} {l}")).collect();
    words.join(", ")
}

/// The names of what the players have: `C4 (E4 to G5) Bb5`.
fn names_of(stave: &RangeStave) -> String {
    let name = |mark, upper| {
        let note = stave.note(mark, upper);
        note.map_or_else(String::new, |n| pretty(&n.written.to_string()))
    };
    format!(
        "{} ({} to {}) {}",
        name(Mark::Stretch, false),
        name(Mark::Comfortable, false),
        name(Mark::Comfortable, true),
        name(Mark::Stretch, true)
    )
}

/// What the remarks rule out; empty where they rule out nothing.
fn limits_of(stave: &RangeStave) -> String {
    let limit = |upper, way: &str| {
        let note = stave.note(Mark::Limit, upper);
        note.map(|n| format!("{way} {}", pretty(&n.written.to_string())))
    };
    let both = [limit(false, "not below"), limit(true, "not above")];
    let said: Vec<String> = both.into_iter().flatten().collect();
    said.join(", ")
}

/// A note name with the signs of music.
fn pretty(name: &str) -> String {
    name.replace('b', "♭").replace('#', "♯")
}

/// The stave with the ends of the ranges; `step_y` is the height of a step.
pub(super) fn draw_stave(
    body: &mut String,
    stave: &RangeStave,
    x: f64,
    step_y: &impl Fn(i16) -> f64,
) {
    for clef in &stave.clefs {
        for step in (clef.bottom_line()..=clef.top_line()).step_by(2) {
            line(body, (x, step_y(step)), (x + WIDTH, step_y(step)), 0.9);
        }
        draw_clef(body, *clef, x + 16.0, step_y(clef.named_line()));
    }
    let between: Vec<(f64, f64)> = [false, true]
        .into_iter()
        .filter_map(|upper| stave.note(Mark::Comfortable, upper))
        .map(|n| (x + column(n), step_y(n.place.step)))
        .collect();
    if let [from, to] = between[..] {
        line(body, from, to, 1.4);
    }
    for note in &stave.notes {
        draw_note(body, stave, note, x, step_y);
    }
}

/// Where the end of a range stands on the stave, from the left.
const fn column(note: &RangeNote) -> f64 {
    match (note.mark, note.upper) {
        (Mark::Stretch, false) => 54.0,
        (Mark::Limit, false) => 84.0,
        (Mark::Comfortable, false) => 110.0,
        (Mark::Comfortable, true) => 138.0,
        (Mark::Limit, true) => 166.0,
        (Mark::Stretch, true) => 190.0,
    }
}

fn draw_note(
    body: &mut String,
    stave: &RangeStave,
    note: &RangeNote,
    x: f64,
    step_y: &impl Fn(i16) -> f64,
) {
    let (x, y) = (x + column(note), step_y(note.place.step));
    for step in note.place.ledger_lines(&stave.clefs) {
        line(body, (x - 9.0, step_y(step)), (x + 9.0, step_y(step)), 0.9);
    }
    let (fill, ink) = match note.mark {
        Mark::Comfortable => (INK, INK),
        Mark::Stretch => (PAPER, INK),
        Mark::Limit => (LIMIT, LIMIT),
    };
    // Writing to a string cannot fail, here and below.
    let _ = if note.mark == Mark::Limit {
        let beyond = if note.upper { -6.0 } else { 3.5 };
        writeln!(
            body,
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"15\" height=\"2.5\" fill=\"{ink}\"/>\
             <rect x=\"{:.1}\" y=\"{:.1}\" width=\"7\" height=\"7\" fill=\"{fill}\" \
             transform=\"rotate(45 {x:.1} {y:.1})\"/>",
            x - 7.5,
            y + beyond * 1.35,
            x - 3.5,
            y - 3.5
        )
    } else {
        writeln!(
            body,
            "<ellipse cx=\"{x:.1}\" cy=\"{y:.1}\" rx=\"5.6\" ry=\"4.1\" fill=\"{fill}\" \
             stroke=\"{ink}\" stroke-width=\"1.3\" transform=\"rotate(-18 {x:.1} {y:.1})\"/>"
        )
    };
    match note.place.accidental {
        1 => put(body, x - 16.0, y + 5.0, 15.0, ink, "♯"),
        -1 => put(body, x - 15.0, y + 4.0, 16.0, ink, "♭"),
        _ => {}
    }
}

/// A clef of our own drawing, its named line at a height.
fn draw_clef(body: &mut String, clef: Clef, x: f64, y: f64) {
    let (path, dots): (&str, &[(f64, f64)]) = match clef {
        Clef::Treble => (
            "M.25.05C-.5.25-.75-.75.15-.95C1.25-1.15 1.5.65.35.98C-.95 1.25-1.35-.15-.65-1.2\
             C-.15-2 .85-2.6.85-3.75C.85-4.6.35-4.75.1-4.2C-.2-3.5.05-2.7.2-1.9L.72 1.5\
             C.95 2.6.05 2.8-.4 2.45",
            &[(-0.3, 2.2)],
        ),
        Clef::Bass => (
            "M-.6.1C-.7-1.15 1.3-1.35 1.3.15C1.3 1.5.35 2.45-.9 2.95",
            &[(-0.35, 0.1), (1.9, -0.5), (1.9, 0.5)],
        ),
        Clef::Tenor => (
            "M-1-2L-1 2M-.5-2L-.5 2M-.5 0C.1-.1.3-.5.4-.9C.9-.2 1.4-.8 1.2-1.4C1-2 .2-2 .1-1.5\
             M-.5 0C.1.1.3.5.4.9C.9.2 1.4.8 1.2 1.4C1 2 .2 2 .1 1.5",
            &[],
        ),
    };
    let _ = writeln!(
        body,
        "<g transform=\"translate({x:.1} {y:.1}) scale({SPACE})\"><path d=\"{path}\" fill=\"none\" \
         stroke=\"{INK}\" stroke-width=\".2\" stroke-linecap=\"round\"/>"
    );
    for (i, (dx, dy)) in dots.iter().enumerate() {
        let radius = if i == 0 { 0.27 } else { 0.16 };
        let _ = writeln!(body, "<circle cx=\"{dx}\" cy=\"{dy}\" r=\"{radius}\"/>");
    }
    body.push_str("</g>\n");
}

fn legend(text: &mut String, y: f64) {
    let _ = writeln!(
        text,
        "<ellipse cx=\"{:.0}\" cy=\"{:.1}\" rx=\"5.6\" ry=\"4.1\"/>\
         <ellipse cx=\"{:.0}\" cy=\"{:.1}\" rx=\"5.6\" ry=\"4.1\" fill=\"{PAPER}\" stroke=\"{INK}\" stroke-width=\"1.3\"/>\
         <rect x=\"{:.0}\" y=\"{:.1}\" width=\"7\" height=\"7\" fill=\"{LIMIT}\" transform=\"rotate(45 {:.1} {:.1})\"/>",
        MARGIN + 6.0,
        y - 4.0,
        MARGIN + 232.0,
        y - 4.0,
        MARGIN + 412.0,
        y - 7.5,
        MARGIN + 415.5,
        y - 4.0
    );
    for (x, words) in [
        (18.0, "comfortable: may be relied on"),
        (244.0, "stretch: can be reached"),
        (428.0, "hard limit after the director's remarks"),
        (712.0, "notes as the players read them"),
    ] {
        put(text, MARGIN + x, y, 12.0, SOFT, words);
    }
}
