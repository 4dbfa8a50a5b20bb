//! An edit: a named step of the arranger, as a value with an inverse.

use super::between::changes_between;
use super::change::Change;
use super::document::Document;
use thiserror::Error;

/// Why an edit cannot be made on a document.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("{what} is not as this step left it, so the step cannot be made here")]
pub struct EditError {
    /// What of the document does not fit.
    pub what: String,
}

impl EditError {
    /// Names that a file may hold stand in it: nothing of theirs may steer a terminal.
    pub(super) fn new(what: impl Into<String>) -> Self {
        let what = what.into().replace(char::is_control, "\u{fffd}");
        Self { what }
    }
}

/// A step of the arranger.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Edit {
    /// What was done, in a few words, as the arranger is told of it.
    pub name: String,
    /// What it changes, in order.
    pub changes: Vec<Change>,
}

impl Edit {
    /// The step from one document to another. Applied to the first it gives the second, its inverse
    /// applied to the second gives the first, both exactly.
    #[must_use]
    pub fn between(name: impl Into<String>, before: &Document, after: &Document) -> Self {
        Self {
            name: name.into(),
            changes: changes_between(before, after),
        }
    }

    /// Whether it changes nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty()
    }

    /// The document after the step.
    ///
    /// # Errors
    /// Where something that the step takes away or changes is not as it was when it was made.
    pub fn apply(&self, document: &Document) -> Result<Document, EditError> {
        let mut changed = document.clone();
        for change in &self.changes {
            change.apply(&mut changed)?;
        }
        Ok(changed)
    }

    /// The step that takes this one back, under the same name.
    #[must_use]
    pub fn inverse(&self) -> Self {
        Self {
            name: self.name.clone(),
            changes: self.changes.iter().rev().map(Change::inverse).collect(),
        }
    }
}
