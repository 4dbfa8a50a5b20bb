//! The written keys that each level reads (`presets/playing/keys.toml`).

use super::rows::{self, LevelRow, OfLevels};
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
struct Row {
    level: Level,
    comfortable: u8,
    stretch: u8,
    #[serde(rename = "source")]
    _source: String,
}

impl LevelRow for Row {
    type Says = LevelKeys;

    fn says(self) -> (Level, LevelKeys) {
        let says = LevelKeys {
            comfortable: self.comfortable,
            stretch: self.stretch,
        };
        (self.level, says)
    }
}

/// The keys of a level.
///
/// # Errors
/// If the built-in table were unreadable or lacked a level (a test shows that it does not).
pub fn level_keys(level: Level) -> Result<LevelKeys, TableError> {
    static READ: OfLevels<LevelKeys> = OnceLock::new();
    rows::of_level::<Row>(&READ, ("keys.toml", TABLE), level)
}
