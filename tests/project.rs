//! The open document: edits, history, project file and journal.

pub mod build;
mod edits;
pub mod file;
mod held;
mod history;
mod killed;
mod standing;
mod torn;
mod with_band;
