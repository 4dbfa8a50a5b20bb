//! The players of a part or section in a roster: numbers by level, words, or one by one.

use super::instrument::Instrument;
use super::level::Level;
use super::level_words::{level_of, players_in_words};
use super::made_band::{MOST_PLAYERS, plain_seats};
use super::people::{Seat, Split, same_name};
use super::remark_file::remarks;
use super::remarks::Remarks;
use super::roster_file::{RosterError, checked_name};
use super::toml_lines::{Lines, TableAt};
use toml::Spanned;
use toml::de::DeValue;

const SEAT_KEYS: [&str; 6] = ["name", "level", "count", "absent", "part", "remarks"];

/// The seats of a part or section: those of `players`, then those of `[[….player]]`.
pub(super) fn seats(
    lines: Lines<'_>,
    at: TableAt<'_, '_>,
    name: &str,
    instrument: &Instrument,
    split: Split,
) -> Result<Vec<Seat>, RosterError> {
    let mut seats = match at.get("players") {
        Some(value) => players(lines, value)?,
        None => Vec::new(),
    };
    let rows = at
        .get("player")
        .map(|v| player_rows(lines, v))
        .transpose()?;
    for row in rows.into_iter().flatten() {
        seats.extend(player(lines, row, (name, instrument, split))?);
        if seats.len() > MOST_PLAYERS {
            return Err(lines.fail(row, format!("more than {MOST_PLAYERS} players")));
        }
    }
    if seats.is_empty() {
        let line = at.get("players").map_or(at.line, |v| lines.of(v));
        let how = "write `players = { first_year = 2 }`";
        return Err(RosterError::new(
            line,
            format!("`{name}` has no players; {how}"),
        ));
    }
    Ok(seats)
}

fn players(lines: Lines<'_>, value: &Spanned<DeValue<'_>>) -> Result<Vec<Seat>, RosterError> {
    let many = || lines.fail(value, format!("more than {MOST_PLAYERS} players"));
    let players = match value.get_ref().as_str() {
        Some(text) => players_in_words(text).map_err(|e| lines.fail(value, e))?,
        None if value.get_ref().as_table().is_some() => {
            by_level(lines, lines.table(value, "players")?)?
        }
        None => {
            let forms = "`players` is written `{ first_year = 2 }` or \"2 first-year\"";
            return Err(lines.fail(value, forms));
        }
    };
    let seats = plain_seats(players);
    if seats.len() > MOST_PLAYERS {
        return Err(many());
    }
    Ok(seats)
}

fn by_level(lines: Lines<'_>, at: TableAt<'_, '_>) -> Result<Vec<(u16, Level)>, RosterError> {
    lines.only(at, &Level::ALL.map(Level::word), "level")?;
    let mut players = Vec::new();
    for level in Level::ALL {
        if let Some(value) = at.get(level.word()) {
            players.push((count(lines, value, level.word(), 0)?, level));
        }
    }
    Ok(players)
}

fn count(
    lines: Lines<'_>,
    value: &Spanned<DeValue<'_>>,
    key: &str,
    least: u16,
) -> Result<u16, RosterError> {
    let number = u16::try_from(lines.number(value, key)?).ok();
    let number = number.filter(|n| *n >= least && usize::from(*n) <= MOST_PLAYERS);
    let most = format!("`{key}` must be from {least} to {MOST_PLAYERS}");
    number.ok_or_else(|| lines.fail(value, most))
}

fn player_rows<'a, 't>(
    lines: Lines<'t>,
    value: &'a Spanned<DeValue<'t>>,
) -> Result<&'a [Spanned<DeValue<'t>>], RosterError> {
    let how = "players are written one by one as `[[part.player]]` or `[[section.player]]`";
    let rows = value.get_ref().as_array();
    rows.map(|rows| &rows[..])
        .ok_or_else(|| lines.fail(value, how))
}

/// The seat of a row, or several alike.
fn player(
    lines: Lines<'_>,
    row: &Spanned<DeValue<'_>>,
    (section, instrument, split): (&str, &Instrument, Split),
) -> Result<Vec<Seat>, RosterError> {
    let at = lines.table(row, "player")?;
    lines.only(at, &SEAT_KEYS, "key")?;
    let value = at.need("level")?;
    let level = level_of(lines.text(value, "level")?).map_err(|e| lines.fail(value, e))?;
    let name = match at.get("name") {
        Some(value) => {
            let name = checked_name(lines.text(value, "name")?);
            name.map_err(|e| lines.fail(value, e))?
        }
        None => String::new(),
    };
    let number = match at.get("count") {
        Some(value) if !name.is_empty() => {
            return Err(lines.fail(value, "a player with a name is one; leave `count` out"));
        }
        Some(value) => count(lines, value, "count", 1)?,
        None => 1,
    };
    let seat = Seat {
        name,
        level,
        absent: match at.get("absent") {
            Some(value) => lines.flag(value, "absent")?,
            None => false,
        },
        part: match at.get("part") {
            Some(value) => Some(seat_part(lines, value, section, split)?),
            None => None,
        },
        remarks: match at.get("remarks") {
            Some(value) => remarks(lines, lines.table(value, "remarks")?, instrument)?,
            None => Remarks::default(),
        },
    };
    Ok(vec![seat; usize::from(number)])
}

fn seat_part(
    lines: Lines<'_>,
    value: &Spanned<DeValue<'_>>,
    section: &str,
    split: Split,
) -> Result<u8, RosterError> {
    let text = match value.get_ref().as_str() {
        Some(text) => text.to_owned(),
        None => lines.number(value, "part")?.to_string(),
    };
    part_number(&text, section, split).map_err(|e| lines.fail(value, e))
}

/// The number of a part of a section from `2` or `Trumpet 2`.
///
/// # Errors
/// What is allowed, as the end of a sentence about this place.
pub(super) fn part_number(text: &str, section: &str, split: Split) -> Result<u8, String> {
    let most = match split {
        Split::One => {
            return Err(format!(
                "`{section}` is one part; its players need no `part`"
            ));
        }
        Split::Into(parts) => parts,
        Split::Proposed => super::division::MOST_SECTION_PARTS,
    };
    let plain = same_name(text);
    let number = plain.strip_prefix(&same_name(section)).unwrap_or(&plain);
    let number = number.parse().ok().filter(|n| (1..=most).contains(n));
    number.ok_or_else(|| {
        format!("`part` must be from 1 to {most}, or the name of the part as `{section} 1`")
    })
}
