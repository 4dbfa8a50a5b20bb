//! A band as the text of a roster.

use super::level::Level;
use super::overrides_write::override_texts;
use super::people::{Seat, Section, Split};
use super::remark_words::{Kind, said};
use super::remarks::Remarks;
use super::roster::Band;
use std::fmt::Write as _;

/// The roster of a band; it reads back as the same band.
#[must_use]
pub fn write_band(band: &Band) -> String {
    let roster = &band.roster;
    let mut text = format!("name = {}\n", quoted(&roster.name));
    if !roster.note.is_empty() {
        text.push_str(&format!("note = {}\n", quoted(&roster.note)));
    }
    for section in &roster.sections {
        text.push_str(&section_text(section));
    }
    text + &override_texts(&roster.overrides)
}

fn section_text(section: &Section) -> String {
    let table = match section.split {
        Split::One => "part",
        Split::Into(_) | Split::Proposed => "section",
    };
    let mut text = format!(
        "\n[[{table}]]\nname = {}\ninstrument = {}\n",
        quoted(&section.name),
        quoted(&section.instrument.id),
    );
    if let Split::Into(parts) = section.split {
        text.push_str(&format!("parts = {parts}\n"));
    }
    let plain = section.seats.iter().take_while(|s| s.is_plain()).count();
    let (plain, named) = section.seats.split_at(plain);
    if !plain.is_empty() {
        text.push_str(&format!("players = {}\n", players(plain)));
    }
    text.push_str(&remarks_line(&section.remarks));
    for row in alike(named) {
        text.push_str(&format!("\n[[{table}.player]]\n"));
        text.push_str(&seat_text(row));
    }
    text
}

/// Plain seats by level where they stand weakest first, else in words.
fn players(seats: &[Seat]) -> String {
    let groups = seats.chunk_by(|a, b| a.level == b.level);
    let groups: Vec<(Level, usize)> = groups
        .filter_map(|g| Some((g.first()?.level, g.len())))
        .collect();
    if groups.is_sorted() {
        let texts: Vec<_> = groups
            .iter()
            .map(|(level, n)| format!("{} = {n}", level.word()))
            .collect();
        format!("{{ {} }}", texts.join(", "))
    } else {
        let texts: Vec<_> = groups
            .iter()
            .map(|(level, n)| format!("{n} {level}"))
            .collect();
        format!("\"{}\"", texts.join(", "))
    }
}

/// Seats in a row that differ in nothing; players with a name stand each in a row of their own.
pub(super) fn alike(seats: &[Seat]) -> impl Iterator<Item = &[Seat]> {
    seats.chunk_by(|a, b| a == b && a.name.is_empty())
}

fn seat_text(row: &[Seat]) -> String {
    let Some(seat) = row.first() else {
        return String::new();
    };
    let mut text = String::new();
    if !seat.name.is_empty() {
        text.push_str(&format!("name = {}\n", quoted(&seat.name)));
    }
    text.push_str(&format!("level = \"{}\"\n", seat.level.word()));
    if row.len() > 1 {
        text.push_str(&format!("count = {}\n", row.len()));
    }
    if seat.absent {
        text.push_str("absent = true\n");
    }
    if let Some(part) = seat.part {
        text.push_str(&format!("part = {part}\n"));
    }
    text.push_str(&remarks_line(&seat.remarks));
    text
}

/// `remarks = { … }` with its line end; nothing where nothing was said.
fn remarks_line(remarks: &Remarks) -> String {
    let texts = said(remarks).into_iter().map(|(word, value)| {
        let value = match word.kind {
            Kind::Text => quoted(&value),
            Kind::Whole | Kind::Number | Kind::Flag => value,
        };
        format!("{} = {value}", word.word)
    });
    let texts: Vec<String> = texts.collect();
    if texts.is_empty() {
        return String::new();
    }
    format!("remarks = {{ {} }}\n", texts.join(", "))
}

/// A basic string of TOML.
#[must_use]
pub(crate) fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            '\n' => quoted.push_str("\\n"),
            '\t' => quoted.push_str("\\t"),
            c if c.is_control() => {
                // Writing to a string cannot fail.
                let _ = write!(quoted, "\\u{:04X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}
