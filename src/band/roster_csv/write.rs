//! A band as a table.

use super::cells::guarded;
use crate::band::people::{Seat, Section, Split};
use crate::band::remark_words::{Kind, said};
use crate::band::remarks::Remarks;
use crate::band::roster::Band;
use crate::band::roster_write::alike;
use std::collections::BTreeMap;

/// The columns, in the order in which they are written.
pub const HEADER: [&str; 19] = [
    "section",
    "part",
    "instrument",
    "parts",
    "count",
    "level",
    "name",
    "absent",
    "lowest",
    "highest",
    "below_the_break",
    "no_leaps_over",
    "no_faster_than",
    "rests_every",
    "accidentals_at_most",
    "exposed",
    "doubles",
    "go_easy",
    "note",
];

type Cells = BTreeMap<&'static str, String>;

/// The roster of a band as comma-separated values with a header, in UTF-8, lines ended by CR LF as
/// RFC 4180 has them. It reads back as the same band. No cell begins like a formula.
#[must_use]
pub fn write_csv(band: &Band) -> String {
    let roster = &band.roster;
    let mut rows = vec![Cells::from([
        ("name", roster.name.clone()),
        ("note", roster.note.clone()),
    ])];
    for section in &roster.sections {
        rows.extend(section_rows(section));
    }
    let mut text = line(HEADER.map(str::to_owned).iter());
    for row in &rows {
        let cell = |column| guarded(row.get(column).map_or("", String::as_str));
        text.push_str(&line(HEADER.map(cell).iter()));
    }
    text
}

/// A row about the whole, where there is something to say, then one for each player or for several
/// alike.
fn section_rows(section: &Section) -> Vec<Cells> {
    let whole = whole(section);
    let seats = alike(&section.seats).filter_map(|row| Some((row.first()?, row.len())));
    let seats = seats.map(|(seat, count)| seat_row(section, seat, count));
    whole.into_iter().chain(seats).collect()
}

fn start(section: &Section) -> Cells {
    let column = match section.split {
        Split::One => "part",
        Split::Into(_) | Split::Proposed => "section",
    };
    Cells::from([
        (column, section.name.clone()),
        ("instrument", section.instrument.id.clone()),
    ])
}

fn whole(section: &Section) -> Option<Cells> {
    let mut cells = start(section);
    let named = cells.len();
    if let Split::Into(parts) = section.split {
        cells.insert("parts", parts.to_string());
    }
    put_remarks(&mut cells, &section.remarks);
    (cells.len() > named).then_some(cells)
}

fn seat_row(section: &Section, seat: &Seat, count: usize) -> Cells {
    let mut cells = start(section);
    cells.insert("count", count.to_string());
    cells.insert("level", seat.level.word().to_owned());
    cells.insert("name", seat.name.clone());
    if let Some(part) = seat.part {
        cells.insert("part", part.to_string());
    }
    if seat.absent {
        cells.insert("absent", "yes".to_owned());
    }
    put_remarks(&mut cells, &seat.remarks);
    cells
}

fn put_remarks(cells: &mut Cells, remarks: &Remarks) {
    for (word, value) in said(remarks) {
        let value = match word.kind {
            Kind::Flag => "yes".to_owned(),
            Kind::Text | Kind::Whole | Kind::Number => value,
        };
        cells.insert(word.word, value);
    }
}

/// A record with its line end; cells are quoted where they must be.
fn line<'a>(cells: impl Iterator<Item = &'a String>) -> String {
    let cells: Vec<String> = cells.map(|cell| quoted(cell)).collect();
    format!("{}\r\n", cells.join(","))
}

fn quoted(cell: &str) -> String {
    let plain = |c: char| !matches!(c, ',' | ';' | '\t' | '"' | '\r' | '\n');
    let blanks = cell.trim() != cell;
    if cell.chars().all(plain) && !blanks {
        return cell.to_owned();
    }
    format!("\"{}\"", cell.replace('"', "\"\""))
}
