//! The cells of a table: which character parts them, which columns they stand in, on which row.

use crate::band::nearest::suggestion;
use csv::{ReaderBuilder, StringRecord};
use std::collections::BTreeMap;
use thiserror::Error;

use super::write::HEADER;

/// Most rows that are read: far over any band.
const MOST_ROWS: usize = 20_000;

/// What is wrong with a table, and where.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum CsvError {
    /// In a cell.
    #[error("row {row}, column `{column}`: {text}")]
    Cell {
        /// The row as a spreadsheet counts, the header being one too.
        row: usize,
        /// The column's name.
        column: &'static str,
        /// What is wrong there and what to do.
        text: String,
    },
    /// In a row.
    #[error("row {row}: {text}")]
    Row {
        /// The row as a spreadsheet counts.
        row: usize,
        /// What is wrong there and what to do.
        text: String,
    },
}

impl CsvError {
    pub(super) fn row(row: usize, text: impl Into<String>) -> Self {
        let text = harmless(&text.into());
        Self::Row { row, text }
    }
}

/// Words of the file are quoted in errors: nothing of theirs may steer a terminal.
fn harmless(text: &str) -> String {
    text.replace(char::is_control, "\u{fffd}")
}

/// A row that is not empty.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Row {
    /// Its number as a spreadsheet counts.
    pub number: usize,
    cells: BTreeMap<&'static str, String>,
}

impl Row {
    /// A cell without blanks at its ends; empty where the table has no such column.
    pub fn cell(&self, column: &str) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }

    pub fn fail(&self, column: &'static str, text: impl Into<String>) -> CsvError {
        CsvError::Cell {
            row: self.number,
            column,
            text: harmless(&text.into()),
        }
    }
}

/// The rows of a table, by the names of its header; empty rows are left out.
pub(super) fn rows(text: &str) -> Result<Vec<Row>, CsvError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut records = records(text)?.into_iter();
    // Some spreadsheets write what parts the cells on a line of its own.
    let first = records.find(|(_, r)| !is_empty(r) && !r[0].starts_with("sep="));
    let Some((at, header)) = first else {
        let empty = "the table is empty; its first row names the columns";
        return Err(CsvError::row(1, empty));
    };
    let columns = columns(at, &header)?;
    let filled = records.filter(|(_, r)| !is_empty(r));
    filled
        .map(|(number, r)| row(number, &r, &columns))
        .collect()
}

fn is_empty(record: &StringRecord) -> bool {
    record.iter().all(|cell| cell.trim().is_empty())
}

/// All records with their rows. The row is counted here, since the reader leaves out empty lines and
/// counts lines inside of cells.
fn records(text: &str) -> Result<Vec<(usize, StringRecord)>, CsvError> {
    let mut reader = ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter(text))
        .from_reader(text.as_bytes());
    let (mut records, mut record) = (Vec::new(), StringRecord::new());
    let (mut at, mut last_end, mut row) = (0, 0, 1);
    let is_end = |c| matches!(c, '\n' | '\r');
    loop {
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => return Ok(records),
            Err(e) => return Err(CsvError::row(row, format!("it cannot be read: {e}"))),
        }
        let end = usize::try_from(reader.position().byte()).unwrap_or(text.len());
        let passed = text.get(at..end).unwrap_or_default();
        let start = end - passed.trim_start_matches(is_end).len();
        row += line_ends(text.get(last_end..start).unwrap_or_default());
        records.push((row, record.clone()));
        last_end = at + passed.trim_end_matches(is_end).len();
        at = end;
        if records.len() > MOST_ROWS {
            return Err(CsvError::row(row, format!("more than {MOST_ROWS} rows")));
        }
    }
}

/// How many lines end in a text of nothing but line ends.
fn line_ends(text: &str) -> usize {
    text.replace("\r\n", "\n").chars().count()
}

/// What parts the cells: of comma, semicolon and tabulator the one that stands oftenest in the first
/// line with any, outside quotes.
fn delimiter(text: &str) -> u8 {
    let mut quoted = false;
    let mut counts = [(b',', 0_usize), (b';', 0), (b'\t', 0)];
    for byte in text.bytes() {
        match byte {
            b'"' => quoted = !quoted,
            b'\n' | b'\r' if counts.iter().any(|(_, n)| *n > 0) => break,
            _ if quoted => {}
            _ => {
                if let Some((_, n)) = counts.iter_mut().find(|(d, _)| *d == byte) {
                    *n += 1;
                }
            }
        }
    }
    let most = counts.iter().map(|(_, n)| *n).max();
    let found = counts.iter().find(|(_, n)| Some(*n) == most);
    found.map_or(b',', |(d, _)| *d)
}

/// The known columns of a header, in its order; `None` for an empty cell.
fn columns(row: usize, header: &StringRecord) -> Result<Vec<Option<&'static str>>, CsvError> {
    let mut columns: Vec<Option<&'static str>> = Vec::with_capacity(header.len());
    for cell in header {
        let word = cell.trim().to_lowercase().replace([' ', '-'], "_");
        if word.is_empty() {
            columns.push(None);
            continue;
        }
        let Some(known) = HEADER.into_iter().find(|h| *h == word) else {
            let near = match suggestion(&word, HEADER) {
                near if near.is_empty() => format!("; there are `{}`", HEADER.join("`, `")),
                near => near,
            };
            let unknown = format!("unknown column `{}`{near}", cell.trim());
            return Err(CsvError::row(row, unknown));
        };
        if columns.contains(&Some(known)) {
            return Err(CsvError::row(
                row,
                format!("two columns are named `{known}`"),
            ));
        }
        columns.push(Some(known));
    }
    for needed in ["level", "instrument"] {
        if !columns.contains(&Some(needed)) {
            let missing =
                format!("the column `{needed}` is missing; the first row names the columns");
            return Err(CsvError::row(row, missing));
        }
    }
    Ok(columns)
}

fn row(
    number: usize,
    record: &StringRecord,
    columns: &[Option<&'static str>],
) -> Result<Row, CsvError> {
    let mut cells = BTreeMap::new();
    for (i, cell) in record.iter().enumerate() {
        let cell = plain(cell);
        match columns.get(i).copied().flatten() {
            Some(column) => {
                cells.insert(column, cell.to_owned());
            }
            None if cell.is_empty() => {}
            None => {
                let text = format!("`{cell}` stands in a column without a name");
                return Err(CsvError::row(number, text));
            }
        }
    }
    Ok(Row { number, cells })
}

/// Characters at the start of a cell that a spreadsheet may take for a formula, and the mark itself.
const TAKEN: [char; 7] = ['=', '+', '-', '@', '\t', '\r', '\''];

/// A cell as it is meant: without blanks at its ends, and without the mark that keeps it from being a
/// formula.
fn plain(cell: &str) -> &str {
    let cell = cell.trim();
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(TAKEN) => rest,
        _ => cell,
    }
}

/// A cell that no spreadsheet takes for a formula; [`plain`] gives it back.
pub(super) fn guarded(cell: &str) -> String {
    if cell.starts_with(TAKEN) {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}
