//! The overrides of a roster file, `[[override]]` (form: `presets/README.md`).

use super::instrument::WrittenRange;
use super::level::Level;
use super::overrides::{Override, OwnInstruments, own_instruments};
use super::playing::TroubleSpot;
use super::remark_words::instrument_of;
use super::roster_file::RosterError;
use super::toml_lines::{Lines, TableAt};
use crate::music::Written;
use toml::Spanned;
use toml::de::DeValue;

/// Most overrides of a band.
const MOST: usize = 500;
/// The greatest speed, leap and breath that anybody could mean (ours, against slips of the pen).
const FASTEST: f64 = 30.0;
const WIDEST: f64 = 60.0;
const LONGEST: f64 = 120.0;

const KEYS: [&str; 12] = [
    "instrument",
    "level",
    "comfortable",
    "stretch",
    "repeated",
    "slurred",
    "tongued",
    "leap",
    "breath",
    "drop_trouble",
    "add_trouble",
    "why",
];
const SPOT_KEYS: [&str; 4] = ["low", "high", "issue", "severity"];

/// Reads the overrides, in the order of the file, and makes the band's own instruments.
pub(super) fn overrides(
    lines: Lines<'_>,
    top: TableAt<'_, '_>,
) -> Result<(Vec<Override>, OwnInstruments), RosterError> {
    let Some(value) = top.get("override") else {
        return Ok(<_>::default());
    };
    let how = "overrides are written `[[override]]`, in double brackets";
    let rows = array(lines, value, how)?;
    if rows.len() > MOST {
        return Err(lines.fail(value, format!("more than {MOST} overrides")));
    }
    let tables: Vec<TableAt<'_, '_>> = rows
        .iter()
        .map(|row| lines.table(row, "override"))
        .collect::<Result<_, _>>()?;
    let overrides: Vec<Override> = tables
        .iter()
        .map(|at| one(lines, *at))
        .collect::<Result<_, _>>()?;
    let own = own_instruments(&overrides).map_err(|e| {
        let at = tables.get(e.index);
        let key = at.and_then(|t| t.get(e.key)).map(|v| lines.of(v));
        let line = key.or(at.map(|t| t.line)).unwrap_or(1);
        RosterError::new(line, e.text)
    })?;
    Ok((overrides, own))
}

fn array<'a, 't>(
    lines: Lines<'t>,
    value: &'a Spanned<DeValue<'t>>,
    how: &str,
) -> Result<&'a [Spanned<DeValue<'t>>], RosterError> {
    let rows = value.get_ref().as_array();
    rows.map(|rows| -> &[_] { rows })
        .ok_or_else(|| lines.fail(value, how))
}

fn one(lines: Lines<'_>, at: TableAt<'_, '_>) -> Result<Override, RosterError> {
    lines.only(at, &KEYS, "key")?;
    let value = at.need("instrument")?;
    let instrument = instrument_of(lines.text(value, "instrument")?);
    let instrument = instrument.map_err(|e| lines.fail(value, e))?;
    let why = at.get("why").map(|v| lines.text(v, "why")).transpose()?;
    let read = Override {
        instrument: instrument.id.clone(),
        level: level(lines, at)?,
        comfortable: range(lines, at, "comfortable")?,
        stretch: range(lines, at, "stretch")?,
        repeated: positive(lines, at, "repeated", FASTEST)?,
        slurred: positive(lines, at, "slurred", FASTEST)?,
        tongued: positive(lines, at, "tongued", FASTEST)?,
        leap: leap(lines, at)?,
        breath: positive(lines, at, "breath", LONGEST)?,
        drop_trouble: dropped(lines, at)?,
        add_trouble: added(lines, at)?,
        why: why.unwrap_or_default().trim().to_owned(),
    };
    let nothing = Override {
        instrument: read.instrument.clone(),
        level: read.level,
        why: read.why.clone(),
        ..Override::default()
    };
    if read == nothing {
        let values = KEYS.get(2..11).unwrap_or_default().join("`, `");
        let text = format!("the override changes nothing; write one of `{values}`");
        return Err(RosterError::new(at.line, text));
    }
    Ok(read)
}

fn level(lines: Lines<'_>, at: TableAt<'_, '_>) -> Result<Option<Level>, RosterError> {
    let Some(value) = at.get("level") else {
        return Ok(None);
    };
    let word = lines.text(value, "level")?;
    let found = Level::ALL.into_iter().find(|l| l.word() == word);
    found.map(Some).ok_or_else(|| {
        let words = Level::ALL.map(Level::word);
        let near = match super::nearest::suggestion(word, words) {
            near if near.is_empty() => format!("; there are `{}`", words.join("`, `")),
            near => near,
        };
        lines.fail(value, format!("unknown level `{word}`{near}"))
    })
}

fn note(lines: Lines<'_>, value: &Spanned<DeValue<'_>>, key: &str) -> Result<Written, RosterError> {
    let read = lines.text(value, key)?.parse();
    read.map_err(|e: crate::music::NoteNameError| lines.fail(value, e.to_string()))
}

fn range(
    lines: Lines<'_>,
    at: TableAt<'_, '_>,
    key: &str,
) -> Result<Option<WrittenRange>, RosterError> {
    let Some(value) = at.get(key) else {
        return Ok(None);
    };
    let how = format!("`{key}` must be two notes, the lower first, such as [\"C4\", \"G5\"]");
    let [low, high] = array(lines, value, &how)? else {
        return Err(lines.fail(value, how));
    };
    let (low, high) = (note(lines, low, key)?, note(lines, high, key)?);
    if low > high {
        return Err(lines.fail(value, format!("`{key}`: {low} is above {high}")));
    }
    Ok(Some(WrittenRange { low, high }))
}

fn positive(
    lines: Lines<'_>,
    at: TableAt<'_, '_>,
    key: &str,
    most: f64,
) -> Result<Option<f64>, RosterError> {
    let Some(value) = at.get(key) else {
        return Ok(None);
    };
    let number = lines.decimal(value, key)?;
    if number > 0.0 && number <= most {
        return Ok(Some(number));
    }
    Err(lines.fail(value, format!("`{key}` must be over 0 and at most {most}")))
}

fn leap(lines: Lines<'_>, at: TableAt<'_, '_>) -> Result<Option<u8>, RosterError> {
    let Some(value) = at.get("leap") else {
        return Ok(None);
    };
    let number = u8::try_from(lines.number(value, "leap")?).ok();
    let number = number.filter(|n| f64::from(*n) <= WIDEST);
    let most = format!("`leap` must be from 0 to {WIDEST} semitones");
    number.map(Some).ok_or_else(|| lines.fail(value, most))
}

fn dropped(lines: Lines<'_>, at: TableAt<'_, '_>) -> Result<Vec<Written>, RosterError> {
    let Some(value) = at.get("drop_trouble") else {
        return Ok(Vec::new());
    };
    let how = "`drop_trouble` must be a list of notes, such as [\"C#4\"]";
    let notes = array(lines, value, how)?;
    notes
        .iter()
        .map(|v| note(lines, v, "drop_trouble"))
        .collect()
}

fn added(lines: Lines<'_>, at: TableAt<'_, '_>) -> Result<Vec<TroubleSpot>, RosterError> {
    let Some(value) = at.get("add_trouble") else {
        return Ok(Vec::new());
    };
    let how = "`add_trouble` must be a list of tables `{ low, high, issue, severity }`";
    let rows = array(lines, value, how)?;
    rows.iter().map(|row| spot(lines, row)).collect()
}

fn spot(lines: Lines<'_>, row: &Spanned<DeValue<'_>>) -> Result<TroubleSpot, RosterError> {
    let at = lines.table(row, "add_trouble")?;
    lines.only(at, &SPOT_KEYS, "key")?;
    let low = note(lines, at.need("low")?, "low")?;
    let high = note(lines, at.need("high")?, "high")?;
    if low > high {
        return Err(lines.fail(at.need("low")?, format!("{low} is above {high}")));
    }
    let value = at.need("severity")?;
    let severity = u8::try_from(lines.number(value, "severity")?).ok();
    let severity = severity.filter(|s| (1..=3).contains(s));
    let grades = "`severity` is 1 (care), 2 (risky) or 3 (to be avoided)";
    Ok(TroubleSpot {
        low,
        high,
        issue: lines.text(at.need("issue")?, "issue")?.trim().to_owned(),
        severity: severity.ok_or_else(|| lines.fail(value, grades))?,
    })
}
