//! The remarks of a part in a roster.

use super::instrument::Instrument;
use super::remarks::{Exposure, Remarks};
use super::roster_file::RosterError;
use super::toml_lines::{Lines, TableAt};
use crate::music::{Interval, Written};

const REMARKS: [&str; 6] = [
    "lowest",
    "highest",
    "below_the_break",
    "no_leaps_over",
    "exposed",
    "note",
];

/// Reads the remarks of a part; refuses what does not go with its instrument.
pub(super) fn remarks(
    lines: Lines<'_>,
    at: TableAt<'_, '_>,
    instrument: &Instrument,
) -> Result<Remarks, RosterError> {
    lines.only(at, &REMARKS, "remark")?;
    let flag = |key| at.get(key).map_or(Ok(false), |v| lines.flag(v, key));
    let remarks = Remarks {
        lowest: pitch(lines, at, "lowest")?,
        highest: pitch(lines, at, "highest")?,
        below_the_break: flag("below_the_break")?,
        no_leaps_over: leap(lines, at)?,
        exposure: exposure(lines, at)?,
        note: match at.get("note") {
            Some(value) => lines.text(value, "note")?.to_owned(),
            None => String::new(),
        },
        ..Remarks::default()
    };
    if remarks.below_the_break && !instrument.id.starts_with("clarinet") {
        let only = format!(
            "`below_the_break` is for clarinets, not `{}`",
            instrument.id
        );
        return Err(lines.fail(at.need("below_the_break")?, only));
    }
    if let (Some(low), Some(high)) = (remarks.lowest, remarks.highest)
        && low > high
    {
        let crossed = format!("lowest {low} is above highest {high}");
        return Err(lines.fail(at.need("lowest")?, crossed));
    }
    Ok(remarks)
}

fn pitch(lines: Lines<'_>, at: TableAt<'_, '_>, key: &str) -> Result<Option<Written>, RosterError> {
    let Some(value) = at.get(key) else {
        return Ok(None);
    };
    let read = lines.text(value, key)?.parse::<Written>();
    read.map(Some).map_err(|e| lines.fail(value, e.to_string()))
}

fn exposure(lines: Lines<'_>, at: TableAt<'_, '_>) -> Result<Exposure, RosterError> {
    let Some(value) = at.get("exposed") else {
        return Ok(Exposure::Unsaid);
    };
    match lines.text(value, "exposed")? {
        "may" => Ok(Exposure::May),
        "never" => Ok(Exposure::Never),
        word => {
            let known = format!("`exposed` is \"may\" or \"never\", not `{word}`");
            Err(lines.fail(value, known))
        }
    }
}

fn leap(lines: Lines<'_>, at: TableAt<'_, '_>) -> Result<Option<Interval>, RosterError> {
    let Some(value) = at.get("no_leaps_over") else {
        return Ok(None);
    };
    let semitones = i16::try_from(lines.number(value, "no_leaps_over")?)
        .ok()
        .filter(|n| (1..=127).contains(n));
    semitones
        .map(|n| Some(Interval(n)))
        .ok_or_else(|| lines.fail(value, "`no_leaps_over` must be from 1 to 127 semitones"))
}
