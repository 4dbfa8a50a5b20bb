//! How far each level leaps safely (`presets/playing/leaps.toml`).

use super::by_level::ByLevel;
use super::rows::{self, For};
use crate::band::instruments::TableError;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/leaps.toml");

/// The largest leaps, in semitones, that each level makes safely at moderate speed.
#[derive(Clone, Copy, PartialEq, Debug, Deserialize)]
pub struct Leaps {
    /// Inside the comfortable range.
    pub semitones: ByLevel<u8>,
    /// Clarinets: over the break.
    pub over_the_break: Option<ByLevel<u8>>,
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    leap: Vec<For<Row>>,
}

#[derive(Clone, Deserialize)]
struct Row {
    #[serde(flatten)]
    leaps: Leaps,
    #[serde(rename = "source")]
    _source: String,
}

/// `None` where any leap is alike (timpani, chimes).
pub(super) fn of(id: &str) -> Result<Option<Leaps>, TableError> {
    static READ: OnceLock<Result<Table, TableError>> = OnceLock::new();
    let table = rows::cached(&READ, || rows::read::<Table>("leaps.toml", TABLE))?;
    Ok(rows::row_of(&table.leap, id).map(|r| r.leaps))
}
