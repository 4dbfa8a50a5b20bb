//! The dynamics that each level has (`presets/playing/dynamics.toml`).

use super::rows::{self, LevelRow, OfLevels};
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

impl LevelRow for Row {
    type Says = LevelDynamics;

    fn says(self) -> (Level, LevelDynamics) {
        let says = LevelDynamics {
            softest: self.softest,
            loudest: self.loudest,
            reliable: (self.reliable[0], self.reliable[1]),
        };
        (self.level, says)
    }
}

/// What a level can do.
///
/// # Errors
/// If the built-in table were unreadable or lacked a level (a test shows that it does not).
pub fn level_dynamics(level: Level) -> Result<LevelDynamics, TableError> {
    static READ: OfLevels<LevelDynamics> = OnceLock::new();
    rows::of_level::<Row>(&READ, ("dynamics.toml", TABLE), level)
}
