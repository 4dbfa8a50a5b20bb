//! A band as the text of a roster.

use super::remarks::{Exposure, Remarks};
use super::roster::{Band, Part};
use std::fmt::Write as _;

/// The roster of a band; it reads back as the same band.
#[must_use]
pub fn write_band(band: &Band) -> String {
    let mut text = format!("name = {}\n", quoted(&band.name));
    if !band.note.is_empty() {
        text.push_str(&format!("note = {}\n", quoted(&band.note)));
    }
    for part in &band.parts {
        text.push_str(&part_text(part));
    }
    text
}

fn part_text(part: &Part) -> String {
    let levels = part.players.levels();
    let players: Vec<_> = levels.map(|(l, n)| format!("{} = {n}", l.word())).collect();
    let mut text = format!(
        "\n[[part]]\nname = {}\ninstrument = {}\nplayers = {{ {} }}\n",
        quoted(&part.name),
        quoted(&part.instrument.id),
        players.join(", ")
    );
    let remarks = remark_texts(&part.remarks);
    if !remarks.is_empty() {
        text.push_str(&format!("remarks = {{ {} }}\n", remarks.join(", ")));
    }
    text
}

/// The remarks as `key = value`, in the order of [`Remarks`].
fn remark_texts(remarks: &Remarks) -> Vec<String> {
    let mut texts = Vec::new();
    if let Some(low) = remarks.lowest {
        texts.push(format!("lowest = \"{low}\""));
    }
    if let Some(high) = remarks.highest {
        texts.push(format!("highest = \"{high}\""));
    }
    if remarks.below_the_break {
        texts.push("below_the_break = true".to_owned());
    }
    if let Some(leap) = remarks.no_leaps_over {
        texts.push(format!("no_leaps_over = {}", leap.0));
    }
    match remarks.exposure {
        Exposure::Unsaid => {}
        Exposure::May => texts.push("exposed = \"may\"".to_owned()),
        Exposure::Never => texts.push("exposed = \"never\"".to_owned()),
    }
    if !remarks.note.is_empty() {
        texts.push(format!("note = {}", quoted(&remarks.note)));
    }
    texts
}

/// A basic string of TOML.
fn quoted(text: &str) -> String {
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
