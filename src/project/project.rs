//! The project: a document with its history, and the steps that are yet to be kept safe.

use super::document::Document;
use super::edit::{Edit, EditError};
use super::history::History;

/// Something that was done to a project.
#[derive(Clone, PartialEq, Debug)]
pub enum Step {
    /// An edit was made.
    Change(Edit),
    /// The last edit became another.
    Join(Edit),
    /// The last edit was taken back.
    Undo,
    /// What was taken back was made again.
    Redo,
}

/// A document with its history.
#[derive(Clone, Debug)]
pub struct Project {
    document: Document,
    history: History,
    /// The revision that the file holds.
    saved: Option<usize>,
    /// Whether the last step was an edit to which another may be joined.
    open: bool,
    /// Where redo went before the last edit was made.
    next_before: Option<usize>,
    /// What was done since it was last asked.
    steps: Vec<Step>,
}

/// Projects are equal where document and history are; whether they are saved does not count.
impl PartialEq for Project {
    fn eq(&self, other: &Self) -> bool {
        (&self.document, &self.history) == (&other.document, &other.history)
    }
}

impl Project {
    /// A project that begins with a document; there is nothing in it to save yet.
    #[must_use]
    pub const fn new(document: Document) -> Self {
        Self {
            document,
            history: History::beginning(),
            saved: Some(0),
            open: false,
            next_before: None,
            steps: Vec::new(),
        }
    }

    /// A project as it was kept, with a history that was checked.
    pub(super) const fn kept(document: Document, history: History) -> Self {
        let saved = Some(history.now());
        Self {
            document,
            history,
            saved,
            open: false,
            next_before: None,
            steps: Vec::new(),
        }
    }

    /// The document as it is now.
    #[must_use]
    pub const fn document(&self) -> &Document {
        &self.document
    }

    /// All that was ever done to it.
    #[must_use]
    pub const fn history(&self) -> &History {
        &self.history
    }

    /// Makes the document another, as a step of its own; false if nothing is different.
    pub fn change(&mut self, name: impl Into<String>, after: Document) -> bool {
        let edit = Edit::between(name, &self.document, &after);
        if edit.is_empty() {
            return false;
        }
        self.steps.push(Step::Change(edit.clone()));
        self.next_before = self.history.next(self.history.now());
        self.history.push(edit);
        self.document = after;
        self.open = true;
        true
    }

    /// As [`Self::change`], joined to the last step where that has the same name and nothing came
    /// between: so a drag is one step, whatever it passes through. A drag that comes back to where it
    /// began is taken back. False if nothing is different.
    pub fn join(&mut self, name: impl Into<String>, after: Document) -> bool {
        let name = name.into();
        if !self.open || self.history.undo_name() != Some(&name) {
            return self.change(name, after);
        }
        if self.document == after {
            return false;
        }
        let last = self.history.revision(self.history.now());
        let before = last.and_then(|r| r.edit.inverse().apply(&self.document).ok());
        let Some(before) = before else {
            return self.change(name, after);
        };
        let edit = Edit::between(name, &before, &after);
        if edit.is_empty() {
            return self.undo().is_some();
        }
        self.joined(edit, after);
        true
    }

    /// Ends the last step: nothing more is joined to it, as when the hand lets a note go.
    pub const fn end_step(&mut self) {
        self.open = false;
    }

    fn joined(&mut self, edit: Edit, after: Document) {
        match self.steps.last_mut() {
            Some(Step::Change(last) | Step::Join(last)) => last.clone_from(&edit),
            _ => self.steps.push(Step::Join(edit.clone())),
        }
        if self.saved == Some(self.history.now()) {
            self.saved = None;
        }
        self.history.replace_last(edit);
        self.document = after;
    }

    /// Takes the last step back; its name, `None` where there is none.
    pub fn undo(&mut self) -> Option<String> {
        let edit = self.history.undo()?;
        let Ok(before) = edit.apply(&self.document) else {
            self.history.redo();
            return None;
        };
        Some(self.went(Step::Undo, edit.name, before))
    }

    /// Makes again what was last taken back; its name, `None` where there is nothing.
    pub fn redo(&mut self) -> Option<String> {
        let edit = self.history.redo()?;
        let Ok(after) = edit.apply(&self.document) else {
            self.history.undo();
            return None;
        };
        Some(self.went(Step::Redo, edit.name, after))
    }

    fn went(&mut self, step: Step, name: String, to: Document) -> String {
        self.document = to;
        self.open = false;
        self.steps.push(step);
        name
    }

    /// Whether there is a step to take back.
    #[must_use]
    pub fn can_undo(&self) -> bool {
        self.undo_name().is_some()
    }

    /// Whether there is a step to make again.
    #[must_use]
    pub fn can_redo(&self) -> bool {
        self.redo_name().is_some()
    }

    /// The name of the step that [`Self::undo`] takes back.
    #[must_use]
    pub fn undo_name(&self) -> Option<&str> {
        self.history.undo_name()
    }

    /// The name of the step that [`Self::redo`] makes again.
    #[must_use]
    pub fn redo_name(&self) -> Option<&str> {
        self.history.redo_name()
    }

    /// Whether the document is as its file has it.
    #[must_use]
    pub fn is_saved(&self) -> bool {
        self.saved == Some(self.history.now())
    }

    /// Tells that the file has the document as it is.
    pub const fn mark_saved(&mut self) {
        self.saved = Some(self.history.now());
    }

    /// What was done since this was last called.
    pub(super) fn take_steps(&mut self) -> Vec<Step> {
        std::mem::take(&mut self.steps)
    }

    /// Drops the last edit as if it had never been made, where nothing was done since; false where
    /// something was.
    pub(super) fn drop_last(&mut self) -> bool {
        let last = self.history.revision(self.history.now());
        let before = last.and_then(|r| r.edit.inverse().apply(&self.document).ok());
        let Some(before) = before.filter(|_| self.open) else {
            return false;
        };
        if self.is_saved() {
            self.saved = None;
        }
        self.history.drop_last(self.next_before);
        self.document = before;
        self.open = false;
        true
    }

    /// Does a step again that was done before, as the journal has it.
    ///
    /// # Errors
    /// Where it does not fit; the project is then as it was.
    pub(super) fn replay(&mut self, step: Step) -> Result<(), EditError> {
        let nothing = |what: &str| EditError::new(what);
        match step {
            Step::Change(edit) => {
                self.document = edit.apply(&self.document)?;
                self.history.push(edit);
            }
            Step::Join(edit) => self.replay_join(edit)?,
            Step::Undo => {
                let undone = self.undo();
                undone.ok_or_else(|| nothing("the step to be taken back"))?;
            }
            Step::Redo => {
                let redone = self.redo();
                redone.ok_or_else(|| nothing("the step to be made again"))?;
            }
        }
        self.open = false;
        self.steps.clear();
        Ok(())
    }

    fn replay_join(&mut self, edit: Edit) -> Result<(), EditError> {
        let history = &self.history;
        let last = history.revision(history.now());
        let last = last.filter(|_| history.now() + 1 == history.len());
        let last = last.ok_or_else(|| EditError::new("the step to be joined to"))?;
        let before = last.edit.inverse().apply(&self.document)?;
        let after = edit.apply(&before)?;
        self.joined(edit, after);
        Ok(())
    }
}
