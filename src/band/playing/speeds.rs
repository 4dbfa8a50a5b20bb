//! How fast each level plays (`presets/playing/speeds.toml`).

use super::by_level::ByLevel;
use super::rows::{self, For};
use crate::band::instruments::TableError;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/speeds.toml");

/// Notes a second that each level keeps up for two bars or more, mezzo forte, in the comfortable
/// range.
#[derive(Clone, Copy, PartialEq, Debug, Deserialize)]
pub struct Speeds {
    /// The same note again.
    pub repeated: ByLevel<f64>,
    /// From note to note in one breath or stroke.
    pub slurred: ByLevel<f64>,
    /// From note to note, each with the tongue.
    pub tongued: ByLevel<f64>,
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    speed: Vec<For<Row>>,
    burst: Vec<Burst>,
}

#[derive(Clone, Deserialize)]
struct Row {
    #[serde(flatten)]
    speeds: Speeds,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Burst {
    #[serde(rename = "length")]
    _length: String,
    factor: f64,
    #[serde(rename = "source")]
    _source: String,
}

fn table() -> Result<&'static Table, TableError> {
    static READ: OnceLock<Result<Table, TableError>> = OnceLock::new();
    rows::cached(&READ, || rows::read("speeds.toml", TABLE))
}

pub(super) fn of(id: &str) -> Result<Speeds, TableError> {
    let row = rows::row_of(&table()?.speed, id);
    row.map(|r| r.speeds)
        .ok_or_else(|| TableError(format!("speeds.toml: nothing of `{id}`")))
}

/// By how much a short run may be faster than what is kept up: for a run of so many beats. The
/// factors are ratios of one teacher's tempos (source in the table); 1 from two bars on, and where
/// the table cannot be read.
#[must_use]
pub fn burst_factor(beats: f64, beats_in_a_bar: f64) -> f64 {
    let Ok(table) = table() else {
        return 1.0;
    };
    let row = match beats {
        b if b <= 1.0 => 0,
        b if b <= 2.0 => 1,
        b if b <= beats_in_a_bar => 2,
        _ => 3,
    };
    table.burst.get(row).map_or(1.0, |b| b.factor)
}
