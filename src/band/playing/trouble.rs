//! Notes that are harder or worse than their neighbours (`presets/playing/trouble-spots.toml`).

use super::rows;
use crate::band::instruments::TableError;
use crate::music::{Interval, Written};
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

impl TroubleSpot {
    /// Whether a note is one of them.
    #[must_use]
    pub fn holds(&self, note: Written) -> bool {
        self.low <= note && note <= self.high
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    spot: Vec<Row>,
    same: Vec<Same>,
}

/// An instrument that has the spots of another one.
#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Same {
    instrument: String,
    spots_of: String,
    /// Semitones that its player reads higher.
    higher: i16,
    #[serde(rename = "source")]
    _source: String,
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

/// Spots by instrument, and who has those of whom.
type Read = (Vec<(String, TroubleSpot)>, Vec<Same>);

fn table() -> Result<&'static Read, TableError> {
    static READ: OnceLock<Result<Read, TableError>> = OnceLock::new();
    rows::cached(&READ, || {
        let table: Table = rows::read("trouble-spots.toml", TABLE)?;
        let spots: Result<_, _> = table.spot.into_iter().map(spot).collect();
        Ok((spots?, table.same))
    })
}

pub(super) fn of(id: &str) -> Result<Vec<TroubleSpot>, TableError> {
    let (all, same) = table()?;
    let other = same.iter().find(|s| s.instrument == id);
    let (whose, higher) = other.map_or((id, 0), |s| (s.spots_of.as_str(), s.higher));
    let moved = |spot: &TroubleSpot| TroubleSpot {
        low: spot.low.up(Interval(higher)),
        high: spot.high.up(Interval(higher)),
        ..spot.clone()
    };
    let of = all.iter().filter(|(i, _)| i == whose);
    let mut spots: Vec<TroubleSpot> = of.map(|(_, s)| moved(s)).collect();
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
