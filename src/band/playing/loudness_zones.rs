//! Where an instrument cannot be soft, cannot be loud, or is loud only
//! (`presets/playing/loudness-zones.toml`).

use super::rows;
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::music::Written;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/loudness-zones.toml");

/// What some notes cannot do.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LoudnessRule {
    /// Not piano or softer.
    NotSoft,
    /// Not forte or louder.
    NotLoud,
    /// They come out only when played strongly: nothing below mezzo forte.
    LoudOnly,
}

/// Some neighbouring notes that cannot be played at every dynamic.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct LoudnessZone {
    /// Lowest note.
    pub low: Written,
    /// Highest note.
    pub high: Written,
    /// What they cannot do.
    pub rule: LoudnessRule,
    /// Whether the trouble spot of the same notes is about nothing else.
    pub is_the_spot: bool,
}

/// Brass players below a level play nothing soft near their comfortable top.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HighAndSoft {
    /// Players below this level.
    pub below: Level,
    /// So many semitones below the comfortable top and all above are not soft.
    pub semitones: u8,
    #[serde(rename = "source")]
    _source: HasSource,
}

/// A source that is there and not read on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct HasSource;

impl<'de> Deserialize<'de> for HasSource {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        String::deserialize(from).map(|_| Self)
    }
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    zone: Vec<Row>,
    high_and_soft: HighAndSoft,
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    instrument: String,
    low: String,
    high: String,
    rule: LoudnessRule,
    is_the_spot: bool,
    #[serde(rename = "source")]
    _source: String,
}

type Read = (Vec<(String, LoudnessZone)>, HighAndSoft);

fn table() -> Result<&'static Read, TableError> {
    static READ: OnceLock<Result<Read, TableError>> = OnceLock::new();
    rows::cached(&READ, || {
        let table: Table = rows::read("loudness-zones.toml", TABLE)?;
        let zones: Result<_, _> = table.zone.into_iter().map(zone).collect();
        Ok((zones?, table.high_and_soft))
    })
}

fn zone(row: Row) -> Result<(String, LoudnessZone), TableError> {
    let (low, high) = rows::span("loudness-zones.toml", &[row.low, row.high])?;
    let zone = LoudnessZone {
        low,
        high,
        rule: row.rule,
        is_the_spot: row.is_the_spot,
    };
    Ok((row.instrument, zone))
}

pub(super) fn of(id: &str) -> Result<Vec<LoudnessZone>, TableError> {
    let own = table()?.0.iter().filter(|(i, _)| i == id);
    Ok(own.map(|(_, zone)| *zone).collect())
}

/// The rule for high brass at soft dynamics.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn high_and_soft() -> Result<HighAndSoft, TableError> {
    Ok(table()?.1)
}
