//! Rosters as a table for a spreadsheet (columns: `presets/README.md`).

mod cells;
mod read;
mod rows;
mod write;

pub use cells::CsvError;
pub use read::read_csv;
pub use write::{HEADER, write_csv};
