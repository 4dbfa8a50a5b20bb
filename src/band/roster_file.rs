//! Rosters: a band as a TOML file (form: `presets/README.md`).

use super::division::MOST_SECTION_PARTS;
use super::override_file::overrides;
use super::people::{Roster, Section, Split, same_name};
use super::remark_file::remarks;
use super::remark_words::instrument_of;
use super::remarks::Remarks;
use super::roster::Band;
use super::seat_file::seats;
use super::toml_lines::{Lines, TableAt};
use std::collections::BTreeSet;
use thiserror::Error;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Most parts and sections of a band.
const MOST_PARTS: usize = 200;
/// Most characters of a name.
const LONGEST_NAME: usize = 60;

const BAND_KEYS: [&str; 5] = ["name", "note", "part", "section", "override"];
const PART_KEYS: [&str; 5] = ["name", "instrument", "players", "player", "remarks"];
const SECTION_KEYS: [&str; 6] = [
    "name",
    "instrument",
    "parts",
    "players",
    "player",
    "remarks",
];

/// What is wrong with a roster, and on which line.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("line {line}: {text}")]
pub struct RosterError {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong there and what to do.
    pub text: String,
}

impl RosterError {
    pub(super) fn new(line: usize, text: impl Into<String>) -> Self {
        // Words of the file are quoted in it: nothing of theirs may steer a terminal.
        let text = text.into().replace(char::is_control, "\u{fffd}");
        Self { line, text }
    }
}

/// Reads a roster. The parts of the band come out in score order, those of one instrument in
/// the order of the file; their limits are worked out.
///
/// # Errors
/// On the first thing that is not as the roster's form wants it, with its line and, for a
/// misspelt word, the nearest known one.
///
/// ```
/// use bandwright::band::read_band;
/// let text = "name = \"Duo\"\n[[part]]\nname = \"Flute\"\ninstrument = \"flut\"\n";
/// let error = read_band(text).unwrap_err().to_string();
/// assert_eq!(error, "line 4: unknown instrument `flut`; did you mean `flute`?");
/// ```
pub fn read_band(text: &str) -> Result<Band, RosterError> {
    let lines = Lines(text);
    let document = DeTable::parse(text).map_err(|e| {
        let at = e.span().map_or(1, |span| lines.line(span.start));
        RosterError::new(at, e.message().replace('\n', "; "))
    })?;
    let top = TableAt {
        table: document.get_ref(),
        line: 1,
    };
    lines.only(top, &BAND_KEYS, "key")?;
    let name = name(lines, top.need("name")?)?;
    let note = match top.get("note") {
        Some(value) => lines.text(value, "note")?.trim().to_owned(),
        None => String::new(),
    };
    let (overrides, own) = overrides(lines, top)?;
    let (lines_of, mut sections): (Vec<usize>, Vec<Section>) =
        sections(lines, top)?.into_iter().unzip();
    own.give(&mut sections);
    let roster = Roster {
        name,
        note,
        sections,
        overrides,
    };
    roster.band().map_err(|e| {
        let line = e.section.and_then(|s| lines_of.get(s).copied());
        RosterError::new(line.unwrap_or(1), e.text)
    })
}

/// The rows of `[[part]]` or of `[[section]]`; none where the key is not there.
fn rows<'a, 't>(
    lines: Lines<'t>,
    top: TableAt<'a, 't>,
    key: &str,
) -> Result<&'a [Spanned<DeValue<'t>>], RosterError> {
    let Some(value) = top.get(key) else {
        return Ok(&[]);
    };
    let what = format!("{key}s are written `[[{key}]]`, in double brackets");
    let rows = value.get_ref().as_array();
    let rows = rows.ok_or_else(|| lines.fail(value, what))?;
    if rows.is_empty() {
        return Err(lines.fail(value, NO_PARTS));
    }
    Ok(rows)
}

const NO_PARTS: &str = "the band has no parts; write a `[[part]]` or `[[section]]` for each";

/// Parts and sections in the order of the file, with the line that remarks on them begin on.
fn sections(lines: Lines<'_>, top: TableAt<'_, '_>) -> Result<Vec<(usize, Section)>, RosterError> {
    let parts = rows(lines, top, "part")?.iter().map(|row| (row, false));
    let sections = rows(lines, top, "section")?.iter().map(|row| (row, true));
    let mut all: Vec<_> = parts.chain(sections).collect();
    all.sort_by_key(|(row, _)| row.span().start);
    let Some((first, _)) = all.first() else {
        return Err(RosterError::new(1, NO_PARTS));
    };
    if all.len() > MOST_PARTS {
        return Err(lines.fail(first, format!("more than {MOST_PARTS} parts")));
    }
    let mut names = BTreeSet::new();
    let mut read = Vec::with_capacity(all.len());
    for (row, divided) in all {
        let what = if divided { "section" } else { "part" };
        let at = lines.table(row, what)?;
        let section = section(lines, at, divided)?;
        if !names.insert(same_name(&section.1.name)) {
            let again = format!("two parts are named `{}`", section.1.name);
            return Err(lines.fail(at.need("name")?, again));
        }
        read.push(section);
    }
    Ok(read)
}

fn section(
    lines: Lines<'_>,
    at: TableAt<'_, '_>,
    divided: bool,
) -> Result<(usize, Section), RosterError> {
    let known: &[&str] = if divided { &SECTION_KEYS } else { &PART_KEYS };
    lines.only(at, known, "key")?;
    let name = name(lines, at.need("name")?)?;
    let value = at.need("instrument")?;
    let instrument = instrument_of(lines.text(value, "instrument")?);
    let instrument = instrument.map_err(|e| lines.fail(value, e))?;
    let split = match at.get("parts") {
        _ if !divided => Split::One,
        None => Split::Proposed,
        Some(value) => Split::Into(parts(lines, value)?),
    };
    let section = Section {
        seats: seats(lines, at, &name, &instrument, split)?,
        remarks: match at.get("remarks") {
            Some(value) => remarks(lines, lines.table(value, "remarks")?, &instrument)?,
            None => Remarks::default(),
        },
        name,
        instrument,
        split,
    };
    let line = at.get("remarks").map_or(at.line, |value| lines.of(value));
    Ok((line, section))
}

fn parts(lines: Lines<'_>, value: &Spanned<DeValue<'_>>) -> Result<u8, RosterError> {
    let parts = u8::try_from(lines.number(value, "parts")?).ok();
    let parts = parts.filter(|n| (1..=MOST_SECTION_PARTS).contains(n));
    let most = format!("`parts` must be from 1 to {MOST_SECTION_PARTS}");
    parts.ok_or_else(|| lines.fail(value, most))
}

fn name(lines: Lines<'_>, value: &Spanned<DeValue<'_>>) -> Result<String, RosterError> {
    let text = lines.text(value, "name")?;
    checked_name(text).map_err(|e| lines.fail(value, e))
}

/// A name without blanks at its ends.
///
/// # Errors
/// Why it is none, as the end of a sentence about this place.
pub(in crate::band) fn checked_name(text: &str) -> Result<String, String> {
    let name = text.trim();
    if name.is_empty() {
        return Err("the name is empty".to_owned());
    }
    if same_name(name).is_empty() {
        return Err("the name has no letter or digit".to_owned());
    }
    if name.chars().any(char::is_control) {
        return Err("the name holds a control character".to_owned());
    }
    if name.chars().count() > LONGEST_NAME {
        return Err(format!("the name is longer than {LONGEST_NAME} characters"));
    }
    Ok(name.to_owned())
}
