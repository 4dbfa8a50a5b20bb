//! Rosters: a band as a TOML file (form: `presets/README.md`).

use super::instrument::Instrument;
use super::instruments::{find_instrument, nearest_instrument};
use super::level::Level;
use super::limits::limits;
use super::remarks::Remarks;
use super::roster::{Band, Part, Players};
use super::roster_remarks::remarks;
use super::toml_lines::{Lines, TableAt};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use thiserror::Error;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Most players of a part.
const MOST_PLAYERS: u32 = 500;
/// Most parts of a band.
const MOST_PARTS: usize = 200;
/// Most characters of a name.
const LONGEST_NAME: usize = 60;

const BAND_KEYS: [&str; 3] = ["name", "note", "part"];
const PART_KEYS: [&str; 4] = ["name", "instrument", "players", "remarks"];

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
        Some(value) => lines.text(value, "note")?.to_owned(),
        None => String::new(),
    };
    let parts = parts(lines, top)?;
    Ok(Band { name, note, parts })
}

fn parts(lines: Lines<'_>, top: TableAt<'_, '_>) -> Result<Vec<Part>, RosterError> {
    let none = "the band has no parts; write a `[[part]]` for each";
    let value = top.get("part").ok_or_else(|| RosterError::new(1, none))?;
    let rows = value
        .get_ref()
        .as_array()
        .ok_or_else(|| lines.fail(value, "parts are written `[[part]]`, in double brackets"))?;
    if rows.is_empty() {
        return Err(lines.fail(value, none));
    }
    if rows.len() > MOST_PARTS {
        return Err(lines.fail(value, format!("more than {MOST_PARTS} parts")));
    }
    let mut names = BTreeSet::new();
    let mut ranks: BTreeMap<String, u8> = BTreeMap::new();
    let mut parts = Vec::with_capacity(rows.len());
    for row in rows {
        let at = lines.table(row, "part")?;
        let mut part = part(lines, at)?;
        if !names.insert(same_name(&part.name)) {
            let again = format!("two parts are named `{}`", part.name);
            return Err(lines.fail(at.need("name")?, again));
        }
        let rank = ranks.entry(part.instrument.id.clone()).or_insert(0);
        *rank = rank.saturating_add(1);
        part.rank = *rank;
        parts.push(part);
    }
    parts.sort_by_key(|p| p.instrument.score_order);
    Ok(parts)
}

/// A name without case, white space, `-`, `_` and `.`: equal for names that people take for the
/// same, and that tracks of a MIDI file could not tell apart.
fn same_name(name: &str) -> String {
    let lower = name.to_lowercase();
    lower
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '_' | '.'))
        .collect()
}

fn part(lines: Lines<'_>, at: TableAt<'_, '_>) -> Result<Part, RosterError> {
    lines.only(at, &PART_KEYS, "key")?;
    let name = name(lines, at.need("name")?)?;
    let instrument = instrument(lines, at.need("instrument")?)?;
    let no_players = format!("`{name}` has no players; write `players = {{ first_year = 2 }}`");
    let value = at
        .get("players")
        .ok_or_else(|| RosterError::new(at.line, no_players.clone()))?;
    let players = players(lines, lines.table(value, "players")?)?;
    if players.count() == 0 {
        return Err(lines.fail(value, no_players));
    }
    let (remarks, line) = match at.get("remarks") {
        Some(value) => {
            let table = lines.table(value, "remarks")?;
            (remarks(lines, table, &instrument)?, table.line)
        }
        None => (Remarks::default(), at.line),
    };
    let limits = limits(&instrument, players, &remarks)
        .map_err(|e| RosterError::new(line, format!("`{name}`: {e}")))?;
    Ok(Part {
        name,
        instrument,
        players,
        remarks,
        limits,
        rank: 1,
    })
}

fn name(lines: Lines<'_>, value: &Spanned<DeValue<'_>>) -> Result<String, RosterError> {
    let name = lines.text(value, "name")?.trim();
    if name.is_empty() {
        return Err(lines.fail(value, "the name is empty"));
    }
    if same_name(name).is_empty() {
        return Err(lines.fail(value, "the name has no letter or digit"));
    }
    if name.chars().any(char::is_control) {
        return Err(lines.fail(value, "the name holds a control character"));
    }
    if name.chars().count() > LONGEST_NAME {
        let long = format!("the name is longer than {LONGEST_NAME} characters");
        return Err(lines.fail(value, long));
    }
    Ok(name.to_owned())
}

fn instrument(
    lines: Lines<'_>,
    value: &Spanned<DeValue<'_>>,
) -> Result<Arc<Instrument>, RosterError> {
    let id = lines.text(value, "instrument")?;
    find_instrument(id).ok_or_else(|| {
        let near = nearest_instrument(id)
            .map_or_else(String::new, |known| format!("; did you mean `{known}`?"));
        lines.fail(value, format!("unknown instrument `{id}`{near}"))
    })
}

fn players(lines: Lines<'_>, at: TableAt<'_, '_>) -> Result<Players, RosterError> {
    lines.only(at, &Level::ALL.map(Level::word), "level")?;
    let mut players = Players::default();
    for level in Level::ALL {
        let Some(value) = at.get(level.word()) else {
            continue;
        };
        let count = u16::try_from(lines.number(value, level.word())?)
            .ok()
            .filter(|n| u32::from(*n) <= MOST_PLAYERS);
        let most = format!("`{}` must be from 0 to {MOST_PLAYERS}", level.word());
        players.0[level.index()] = count.ok_or_else(|| lines.fail(value, most))?;
    }
    if players.count() > MOST_PLAYERS {
        let many = format!("more than {MOST_PLAYERS} players");
        return Err(RosterError::new(at.line, many));
    }
    Ok(players)
}
