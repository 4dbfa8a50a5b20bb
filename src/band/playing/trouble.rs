//! Notes that are harder or worse than their neighbours (`presets/playing/trouble-spots.toml`).

use super::rows;
use crate::band::instruments::TableError;
use crate::music::Written;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/trouble-spots.toml");

/// Some neighbouring notes with one trouble.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TroubleSpot {
    /// Lowest note.
    pub low: Written,
    /// Highest note.
    pub high: Written,
    /// What is wrong with them, in the trade's words.
    pub issue: String,
    /// 1 care with colour or tuning, 2 risky below advanced, 3 avoid below all-state.
    pub severity: u8,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    spot: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    instrument: String,
    low: String,
    high: String,
    issue: String,
    severity: u8,
    #[serde(rename = "source")]
    _source: String,
}

pub(super) fn of(id: &str) -> Result<Vec<TroubleSpot>, TableError> {
    static READ: OnceLock<Result<Vec<(String, TroubleSpot)>, TableError>> = OnceLock::new();
    let all = rows::cached(&READ, || {
        let table: Table = rows::read("trouble-spots.toml", TABLE)?;
        table.spot.into_iter().map(spot).collect()
    })?;
    let mut spots: Vec<TroubleSpot> = all
        .iter()
        .filter(|(i, _)| i == id)
        .map(|(_, s)| s.clone())
        .collect();
    spots.sort_by_key(|s| s.low);
    Ok(spots)
}

fn spot(row: Row) -> Result<(String, TroubleSpot), TableError> {
    let (low, high) = rows::span("trouble-spots.toml", &[row.low, row.high])?;
    let spot = TroubleSpot {
        low,
        high,
        issue: row.issue,
        severity: row.severity,
    };
    Ok((row.instrument, spot))
}
