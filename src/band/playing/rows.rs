//! Reading the tables of `presets/playing`.

use crate::band::instruments::TableError;
use crate::music::Written;
use serde::Deserialize;
use serde::de::DeserializeOwned;

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
    cache: &'static std::sync::OnceLock<Result<T, TableError>>,
    fill: impl FnOnce() -> Result<T, TableError>,
) -> Result<&'static T, TableError> {
    cache.get_or_init(fill).as_ref().map_err(Clone::clone)
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
