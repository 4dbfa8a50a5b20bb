//! The dynamics that each level has (`presets/playing/dynamics.toml`).

use super::rows;
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::music::Dynamic;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/dynamics.toml");

/// The dynamics of a level.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct LevelDynamics {
    /// The softest that is reached.
    pub softest: Dynamic,
    /// The loudest that is reached.
    pub loudest: Dynamic,
    /// The softest and loudest that may be relied on.
    pub reliable: (Dynamic, Dynamic),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    level: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    level: Level,
    softest: Dynamic,
    loudest: Dynamic,
    reliable: [Dynamic; 2],
    #[serde(rename = "note")]
    _note: String,
    #[serde(rename = "source")]
    _source: String,
}

/// What a level can do.
///
/// # Errors
/// If the built-in table were unreadable or lacked a level (a test shows that it does not).
pub fn level_dynamics(level: Level) -> Result<LevelDynamics, TableError> {
    static READ: OnceLock<Result<Vec<(Level, LevelDynamics)>, TableError>> = OnceLock::new();
    let all = rows::cached(&READ, || {
        let table: Table = rows::read("dynamics.toml", TABLE)?;
        let of = |r: Row| {
            let dynamics = LevelDynamics {
                softest: r.softest,
                loudest: r.loudest,
                reliable: (r.reliable[0], r.reliable[1]),
            };
            (r.level, dynamics)
        };
        Ok(table.level.into_iter().map(of).collect())
    })?;
    let found = all.iter().find(|(l, _)| *l == level);
    found
        .map(|(_, d)| *d)
        .ok_or_else(|| TableError(format!("dynamics.toml: nothing of `{}`", level.word())))
}
