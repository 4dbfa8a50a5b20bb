//! How many parts a section of so many players usually has (`presets/section-parts.toml`).

use crate::band::instruments::TableError;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/section-parts.toml");

/// Most parts of a section (published sets have up to 6 trumpet and cornet parts, S49).
pub const MOST_SECTION_PARTS: u8 = 6;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    section: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    instruments: Vec<String>,
    from: Vec<u32>,
    #[serde(rename = "source")]
    _source: String,
}

fn table() -> Result<&'static Table, TableError> {
    static READ: OnceLock<Result<Table, TableError>> = OnceLock::new();
    let read = READ.get_or_init(|| {
        let table: Table =
            toml::from_str(TABLE).map_err(|e| TableError(format!("section-parts.toml: {e}")))?;
        let grows = |row: &Row| row.from.is_sorted_by(|a, b| a < b) && row.from.len() < 6;
        match table.section.iter().find(|row| !grows(row)) {
            None => Ok(table),
            Some(row) => Err(TableError(format!(
                "section-parts.toml: {} must grow",
                row.instruments.join(", ")
            ))),
        }
    });
    read.as_ref().map_err(Clone::clone)
}

/// The number of parts that is usual for so many players of an instrument; 1 where the table does
/// not know the instrument.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
///
/// ```
/// use bandwright::band::division::usual_parts;
/// assert_eq!(usual_parts("trumpet", 9), Ok(3));
/// assert_eq!(usual_parts("tuba", 9), Ok(1));
/// ```
pub fn usual_parts(instrument: &str, players: u32) -> Result<u8, TableError> {
    let rows = &table()?.section;
    let row = rows
        .iter()
        .find(|r| r.instruments.iter().any(|i| i == instrument));
    let more = row.map_or(0, |r| {
        r.from.iter().filter(|from| **from <= players).count()
    });
    Ok(u8::try_from(1 + more).unwrap_or(MOST_SECTION_PARTS))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::instruments::find_instrument;

    #[test]
    fn the_table_reads_and_names_known_instruments() {
        let known = |id: &String| find_instrument(id).is_some();
        let rows = &table().unwrap().section;
        assert!(rows.iter().flat_map(|r| &r.instruments).all(known));
    }
}
