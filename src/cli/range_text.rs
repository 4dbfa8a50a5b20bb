//! The written ranges of a band's parts on small staves of text.

use crate::band::Band;
use crate::notation::{Mark, RangeNote, RangeStave, range_stave};

/// Columns of one stave with the gap behind it.
const CELL: usize = 20;
/// Columns of its lines.
const LINES: usize = 17;
/// Staves side by side: they fill a terminal of 80 columns.
const BESIDE: usize = 4;

/// What the noteheads mean.
pub const LEGEND: &str = "\
●  comfortable: may be relied on    ○  stretch: can be reached
◆  hard limit after the director's remarks
Notes as the players read them. G and F stand on the lines that the clefs name.";

/// All parts of a band, four staves beside each other.
#[must_use]
pub fn range_text(band: &Band) -> String {
    let staves: Vec<RangeStave> = band.parts.iter().map(range_stave).collect();
    let mut text = String::new();
    for row in staves.chunks(BESIDE) {
        text.push_str(&one_row(row));
        text.push('\n');
    }
    text.push_str(LEGEND);
    text.push('\n');
    text
}

fn one_row(row: &[RangeStave]) -> String {
    let drawn: Vec<Drawing> = row.iter().map(draw).collect();
    let top = drawn.iter().map(|d| d.top).max().unwrap_or_default();
    let bottom = drawn.iter().map(|d| d.bottom).min().unwrap_or_default();
    let mut lines = vec![joined(row.iter().map(|s| shortened(&s.name)))];
    lines.extend(
        (bottom..=top)
            .rev()
            .map(|step| joined(drawn.iter().map(|d| d.line(step)))),
    );
    lines.push(joined(row.iter().map(|s| ends(s, false))));
    lines.push(joined(row.iter().map(|s| ends(s, true))));
    lines.concat()
}

fn joined(cells: impl Iterator<Item = String>) -> String {
    let cells: Vec<String> = cells.map(|c| format!("{c:CELL$}")).collect();
    format!("{}\n", cells.concat().trim_end())
}

fn shortened(name: &str) -> String {
    if name.chars().count() < CELL {
        return name.to_owned();
    }
    let kept: String = name.chars().take(CELL - 3).collect();
    format!("{kept}…")
}

/// The names of the lower or the upper ends, from the outside inwards.
fn ends(stave: &RangeStave, upper: bool) -> String {
    let named = |mark, sign: &str| {
        let note = stave.note(mark, upper);
        note.map(|n| format!("{sign}{}", n.written))
    };
    let mut names: Vec<String> = [
        named(Mark::Stretch, "○"),
        named(Mark::Limit, "◆"),
        named(Mark::Comfortable, "●"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if upper {
        names.reverse();
    }
    let way = if upper { "up to" } else { "from" };
    format!("{way:<6}{}", names.join(" "))
}

/// One stave as characters: rows from `top` down to `bottom`.
struct Drawing {
    top: i16,
    bottom: i16,
    rows: Vec<Vec<char>>,
}

impl Drawing {
    fn line(&self, step: i16) -> String {
        let row = usize::try_from(self.top - step).ok();
        row.and_then(|r| self.rows.get(r))
            .map(|r| r.iter().collect())
            .unwrap_or_default()
    }

    fn put(&mut self, step: i16, column: usize, sign: char) {
        let row = usize::try_from(self.top - step).ok();
        let cell = row
            .and_then(|r| self.rows.get_mut(r))
            .and_then(|r| r.get_mut(column));
        if let Some(cell) = cell {
            *cell = sign;
        }
    }
}

fn draw(stave: &RangeStave) -> Drawing {
    let (top, bottom) = stave.steps();
    let height = usize::try_from(top - bottom + 1).unwrap_or_default();
    let mut drawing = Drawing {
        top,
        bottom,
        rows: vec![vec![' '; LINES]; height],
    };
    for clef in &stave.clefs {
        for step in (clef.bottom_line()..=clef.top_line()).step_by(2) {
            (0..LINES).for_each(|c| drawing.put(step, c, '─'));
        }
        drawing.put(clef.named_line(), 0, clef.letter());
    }
    for note in &stave.notes {
        draw_note(&mut drawing, stave, note);
    }
    drawing
}

fn draw_note(drawing: &mut Drawing, stave: &RangeStave, note: &RangeNote) {
    let (column, sign) = match (note.mark, note.upper) {
        (Mark::Stretch, false) => (3, '○'),
        (Mark::Limit, false) => (5, '◆'),
        (Mark::Comfortable, false) => (7, '●'),
        (Mark::Comfortable, true) => (10, '●'),
        (Mark::Limit, true) => (12, '◆'),
        (Mark::Stretch, true) => (14, '○'),
    };
    for ledger in note.place.ledger_lines(&stave.clefs) {
        drawing.put(ledger, column - 1, '─');
        drawing.put(ledger, column, '─');
        drawing.put(ledger, column + 1, '─');
    }
    drawing.put(note.place.step, column, sign);
    match note.place.accidental {
        1 => drawing.put(note.place.step, column - 1, '♯'),
        -1 => drawing.put(note.place.step, column - 1, '♭'),
        _ => {}
    }
}
