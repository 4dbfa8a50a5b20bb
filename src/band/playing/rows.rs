//! Reading the tables of `presets/playing`.

use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::music::Written;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::sync::OnceLock;

/// A table of a type.
pub(super) fn read<T: DeserializeOwned>(name: &str, text: &str) -> Result<T, TableError> {
    toml::from_str(text).map_err(|e| TableError(format!("{name}: {e}")))
}

/// A note of a table.
pub(super) fn note(table: &str, name: &str) -> Result<Written, TableError> {
    name.parse()
        .map_err(|e| TableError(format!("{table}: {e}")))
}

/// Two notes of a table, the lower one first.
pub(super) fn span(table: &str, ends: &[String; 2]) -> Result<(Written, Written), TableError> {
    let (low, high) = (note(table, &ends[0])?, note(table, &ends[1])?);
    if low > high {
        return Err(TableError(format!("{table}: {low} is above {high}")));
    }
    Ok((low, high))
}

/// The rows of a table for one instrument, taken from a cache of the whole table.
pub(super) fn cached<T: Clone>(
    cache: &'static OnceLock<Result<T, TableError>>,
    fill: impl FnOnce() -> Result<T, TableError>,
) -> Result<&'static T, TableError> {
    cache.get_or_init(fill).as_ref().map_err(Clone::clone)
}

/// A table with a row for each level.
#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Levels<R> {
    /// The rows.
    level: Vec<R>,
}

/// A row of a table with a row for each level.
pub(super) trait LevelRow {
    /// What the row says.
    type Says: Copy;

    /// The level, and what the row says of it.
    fn says(self) -> (Level, Self::Says);
}

/// What a table with a row for each level says, read once.
pub(super) type OfLevels<S> = OnceLock<Result<Vec<(Level, S)>, TableError>>;

/// What a table with rows of a kind says of a level.
pub(super) fn of_level<R: LevelRow + DeserializeOwned>(
    cache: &'static OfLevels<R::Says>,
    (name, text): (&str, &str),
    level: Level,
) -> Result<R::Says, TableError> {
    let all = cached(cache, || {
        let table: Levels<R> = read(name, text)?;
        Ok(table.level.into_iter().map(R::says).collect())
    })?;
    let found = all.iter().find(|(l, _)| *l == level);
    found
        .map(|(_, says)| *says)
        .ok_or_else(|| TableError(format!("{name}: nothing of `{}`", level.word())))
}

/// A table in which each row names the instruments that it holds for.
#[derive(Clone, Deserialize)]
pub(super) struct For<R> {
    /// Ids of instruments.
    pub instruments: Vec<String>,
    /// What the row says of them.
    #[serde(flatten)]
    pub row: R,
}

/// The row for an instrument; `None` if the table has none.
pub(super) fn row_of<'a, R>(rows: &'a [For<R>], id: &str) -> Option<&'a R> {
    let of = rows.iter().find(|r| r.instruments.iter().any(|i| i == id));
    of.map(|r| &r.row)
}
