//! The project file: a project as JSON with a version, and back.

pub(super) mod v1;
pub(super) mod v1_read;
pub(super) mod v1_write;

use crate::project::project::Project;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::path::Path;
use thiserror::Error;
use v1::FileV1;
use v1_read::Reader;

/// The end of a project file's name, without the dot.
pub const EXTENSION: &str = "bandwright";

/// Whether a path is named like a project file.
#[must_use]
pub fn is_project(path: &Path) -> bool {
    path.extension()
        .is_some_and(|e| e.eq_ignore_ascii_case(EXTENSION))
}

/// The word by which a project file is known.
const FORMAT: &str = "bandwright project";
/// The newest version of the file that this program reads, and the one that it writes.
pub const VERSION: u32 = 1;

/// Why bytes cannot be opened as a project.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum ProjectError {
    /// Written by a newer program.
    #[error(
        "it is a project of version {version} and this program reads up to version {VERSION}; renew the program to open it (the file stays as it is)"
    )]
    Newer {
        /// The version of the file.
        version: u64,
    },
    /// Not a project at all.
    #[error(
        "it is no project of bandwright; a sketch or roster is read into a new project instead"
    )]
    NotAProject,
    /// A project that something happened to.
    #[error(
        "the project is damaged, {place}; open a copy of it from before, or mend it there (it stays as it is)"
    )]
    Damaged {
        /// Where and what.
        place: String,
    },
    /// The steps do not fit the document.
    #[error(
        "the history of the project is damaged, {place}; open a copy from before, or take `history` out of the file to open it without undo (it stays as it is)"
    )]
    History {
        /// Where and what.
        place: String,
    },
}

/// What is known of any version.
#[derive(Deserialize)]
struct Head {
    format: Option<Value>,
    version: Option<Value>,
}

/// A project as the bytes of its file: document and history, one revision a line.
#[must_use]
pub fn project_bytes(project: &Project) -> Vec<u8> {
    let document = text(&v1_write::document(project.document()));
    let history = v1_write::history(project.history());
    let revisions: Vec<String> = history.revisions.iter().map(text).collect();
    let revisions = match &revisions[..] {
        [] => String::new(),
        all => format!("\n{}\n", all.join(",\n")),
    };
    let (now, next) = (history.now, text(&history.next));
    format!(
        "{{\"format\":\"{FORMAT}\",\"version\":{VERSION},\n\"document\":{document},\n\"history\":{{\"now\":{now},\"next\":{next},\"revisions\":[{revisions}]}}}}\n"
    )
    .into_bytes()
}

/// Twins of the file hold strings, numbers and lists alone, of which JSON can always be made.
pub(super) fn text(value: &impl Serialize) -> String {
    serde_json::to_string(value).unwrap_or_default()
}

/// Reads a project from the bytes of its file. It counts as saved.
///
/// # Errors
/// Where the bytes are of a newer version, no project, or damaged: with the place and what to do.
///
/// ```
/// use bandwright::project::{ProjectError, read_project};
/// let newer = br#"{ "format": "bandwright project", "version": 7, "sheets": [] }"#;
/// assert_eq!(read_project(newer), Err(ProjectError::Newer { version: 7 }));
/// assert_eq!(read_project(b"MThd"), Err(ProjectError::NotAProject));
/// ```
pub fn read_project(bytes: &[u8]) -> Result<Project, ProjectError> {
    let head = head(bytes)?;
    if head.format.and_then(|f| f.as_str().map(|f| f == FORMAT)) != Some(true) {
        return Err(ProjectError::NotAProject);
    }
    match head.version.as_ref().and_then(Value::as_u64) {
        Some(1) => {}
        Some(version) if version > u64::from(VERSION) => {
            return Err(ProjectError::Newer { version });
        }
        _ => {
            return Err(damaged("its version is no number that there is"));
        }
    }
    let file: FileV1 = serde_json::from_slice(bytes).map_err(|e| damaged(plainly(&e)))?;
    read_file(file)
}

pub(super) fn read_file(file: FileV1) -> Result<Project, ProjectError> {
    let mut reader = Reader::default();
    let document = reader.document(file.document).map_err(damaged)?;
    let Some(history) = file.history else {
        return Ok(Project::new(document));
    };
    let broken = |place| ProjectError::History { place };
    let history = reader.history(history).map_err(broken)?;
    history
        .check(&document)
        .map_err(|(at, error)| broken(format!("revision {at}: {error}")))?;
    Ok(Project::kept(document, history))
}

fn damaged(place: impl Into<String>) -> ProjectError {
    ProjectError::Damaged {
        place: place.into(),
    }
}

/// What a reader of JSON says, with nothing in it that could steer a terminal.
pub(super) fn plainly(error: &serde_json::Error) -> String {
    v1_read::plain(&error.to_string())
}

fn head(bytes: &[u8]) -> Result<Head, ProjectError> {
    serde_json::from_slice(bytes).map_err(|error| {
        if looks_like_a_project(bytes) {
            damaged(plainly(&error))
        } else {
            ProjectError::NotAProject
        }
    })
}

/// Whether the word for a project stands near the beginning, in whatever is left of the file.
fn looks_like_a_project(bytes: &[u8]) -> bool {
    let start = bytes.get(..256).unwrap_or(bytes);
    start
        .windows(FORMAT.len())
        .any(|part| part == FORMAT.as_bytes())
}
