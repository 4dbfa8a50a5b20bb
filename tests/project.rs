//! The open document: edits, history, project file and journal.

mod build;
mod edits;
mod file;
mod held;
mod history;
mod killed;
mod torn;
mod with_band;
