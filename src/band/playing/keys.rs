//! The written keys that each level reads (`presets/playing/keys.toml`).

use super::rows;
use crate::band::instruments::TableError;
use crate::band::level::Level;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/keys.toml");

/// Sharps or flats of written keys.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct LevelKeys {
    /// So many are read with ease.
    pub comfortable: u8,
    /// So many at the most.
    pub stretch: u8,
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
    comfortable: u8,
    stretch: u8,
    #[serde(rename = "source")]
    _source: String,
}

/// The keys of a level.
///
/// # Errors
/// If the built-in table were unreadable or lacked a level (a test shows that it does not).
pub fn level_keys(level: Level) -> Result<LevelKeys, TableError> {
    static READ: OnceLock<Result<Vec<(Level, LevelKeys)>, TableError>> = OnceLock::new();
    let all = rows::cached(&READ, || {
        let table: Table = rows::read("keys.toml", TABLE)?;
        let of = |r: Row| {
            let keys = LevelKeys {
                comfortable: r.comfortable,
                stretch: r.stretch,
            };
            (r.level, keys)
        };
        Ok(table.level.into_iter().map(of).collect())
    })?;
    let found = all.iter().find(|(l, _)| *l == level);
    found
        .map(|(_, k)| *k)
        .ok_or_else(|| TableError(format!("keys.toml: nothing of `{}`", level.word())))
}
