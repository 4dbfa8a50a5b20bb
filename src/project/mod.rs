//! The open document: one show with all that was done to it, its file, and the journal that keeps
//! unsaved work safe; and the whole way of the data from a sketch to a draft.

pub mod aside;
mod between;
pub mod breath_words;
pub mod change;
pub mod directors_sheet;
pub mod document;
pub mod drafted;
pub mod edit;
pub mod file;
pub mod fingerprint;
pub mod given;
pub mod held;
pub mod history;
mod journal;
mod journal_lines;
pub mod judged;
pub mod locked;
pub mod made_ready;
pub mod other_bars;
pub mod other_key;
pub mod practice_page;
#[expect(
    clippy::module_inception,
    reason = "the project is what this folder is about"
)]
pub mod project;
pub mod score_out;
pub mod shape;
pub mod solve_again;
pub mod splice;
pub mod standing;
mod untitled;
pub mod weighed;
pub mod whole_way;
pub mod why;
pub mod work;

pub use change::Change;
pub use document::{Document, PutAside, SketchFile};
pub use edit::{Edit, EditError};
pub use file::{ProjectError, project_bytes, read_project};
pub use held::{OpenError, OpenProject, Opened, SaveError};
pub use history::History;
pub use project::{Project, Step};
pub use splice::Splice;
pub use untitled::Unsaved;
