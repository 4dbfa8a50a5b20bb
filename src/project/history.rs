//! The history: a tree of steps, of which none is ever lost.

use super::document::Document;
use super::edit::{Edit, EditError};

/// A step that was made, and where from.
#[derive(Clone, PartialEq, Debug)]
pub struct Revision {
    /// The revision that it was made on.
    pub parent: usize,
    /// The step.
    pub edit: Edit,
    /// The revision that redo goes to: the child last left or made.
    pub next: Option<usize>,
}

/// All steps ever made. Revision 0 is the show as it began; every step makes a new one. Undo goes to
/// the parent, redo to the child last left, so what was undone stays there when something else is
/// done instead.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct History {
    /// Revision `i + 1` at index `i`; parents come before their children.
    revisions: Vec<Revision>,
    /// What redo goes to from revision 0.
    first: Option<usize>,
    now: usize,
}

impl History {
    /// A history in which nothing was done yet.
    #[must_use]
    pub const fn beginning() -> Self {
        Self {
            revisions: Vec::new(),
            first: None,
            now: 0,
        }
    }

    /// A history as it was kept.
    ///
    /// # Errors
    /// What is wrong with it, where its numbers make no tree.
    pub fn from_parts(
        revisions: Vec<Revision>,
        first: Option<usize>,
        now: usize,
    ) -> Result<Self, String> {
        let all = Self {
            revisions,
            first,
            now,
        };
        if now >= all.len() {
            return Err(format!("there is no revision {now} to be at"));
        }
        let parent = |at| all.revision(at).map(|r| r.parent);
        if let Some(at) = (1..all.len()).find(|at| parent(*at).is_none_or(|p| p >= *at)) {
            return Err(format!("revision {at} is made on a later one"));
        }
        let astray = |at| all.next(at).is_some_and(|next| parent(next) != Some(at));
        if let Some(at) = (0..all.len()).find(|at| astray(*at)) {
            return Err(format!("revision {at} is followed by none of its own"));
        }
        Ok(all)
    }

    /// How many revisions there are, the beginning among them.
    #[must_use]
    pub fn len(&self) -> usize {
        self.revisions.len() + 1
    }

    /// Whether no step was ever made.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.revisions.is_empty()
    }

    /// The revision that the document is at.
    #[must_use]
    pub const fn now(&self) -> usize {
        self.now
    }

    /// All steps in the order in which they were made: revisions 1, 2 and so on.
    #[must_use]
    pub fn revisions(&self) -> &[Revision] {
        &self.revisions
    }

    /// The step of a revision; `None` for the beginning, and for numbers that there are not.
    #[must_use]
    pub fn revision(&self, at: usize) -> Option<&Revision> {
        self.revisions.get(at.checked_sub(1)?)
    }

    /// What redo goes to from a revision.
    #[must_use]
    pub fn next(&self, at: usize) -> Option<usize> {
        match at {
            0 => self.first,
            _ => self.revision(at)?.next,
        }
    }

    fn set_next(&mut self, at: usize, next: Option<usize>) {
        match at.checked_sub(1) {
            None => self.first = next,
            Some(index) => {
                if let Some(revision) = self.revisions.get_mut(index) {
                    revision.next = next;
                }
            }
        }
    }

    /// Drops the last step as if it had never been made, where the document is at it; redo goes again
    /// where it went before.
    pub(super) fn drop_last(&mut self, next: Option<usize>) -> Option<Edit> {
        if self.now + 1 != self.len() {
            return None;
        }
        let revision = self.revisions.pop()?;
        self.now = revision.parent;
        self.set_next(revision.parent, next);
        Some(revision.edit)
    }

    /// Adds a step that was made on the document as it is.
    pub fn push(&mut self, edit: Edit) {
        let (parent, at) = (self.now, self.len());
        self.revisions.push(Revision {
            parent,
            edit,
            next: None,
        });
        self.set_next(parent, Some(at));
        self.now = at;
    }

    /// Puts another step in the place of the last; false where the last is not the one that the
    /// document is at.
    pub fn replace_last(&mut self, edit: Edit) -> bool {
        let last = self.now + 1 == self.len();
        match self.revisions.last_mut().filter(|_| last) {
            None => false,
            Some(revision) => {
                revision.edit = edit;
                true
            }
        }
    }

    /// Goes back a step: what is to be applied for that. `None` at the beginning.
    pub fn undo(&mut self) -> Option<Edit> {
        let revision = self.revision(self.now)?;
        let (parent, edit) = (revision.parent, revision.edit.inverse());
        self.set_next(parent, Some(self.now));
        self.now = parent;
        Some(edit)
    }

    /// Goes forward again: what is to be applied for that. `None` where nothing was undone.
    pub fn redo(&mut self) -> Option<Edit> {
        let next = self.next(self.now)?;
        let edit = self.revision(next)?.edit.clone();
        self.now = next;
        Some(edit)
    }

    /// The name of the step that undo would take back.
    #[must_use]
    pub fn undo_name(&self) -> Option<&str> {
        self.revision(self.now).map(|r| r.edit.name.as_str())
    }

    /// The name of the step that redo would make again.
    #[must_use]
    pub fn redo_name(&self) -> Option<&str> {
        let next = self.revision(self.next(self.now)?)?;
        Some(next.edit.name.as_str())
    }

    /// Goes through all steps, to see that each can be made where it was made.
    ///
    /// # Errors
    /// The number of a revision whose step does not fit, and why.
    pub fn check(&self, now: &Document) -> Result<(), (usize, EditError)> {
        let mut start = now.clone();
        let mut at = self.now;
        while let Some(revision) = self.revision(at) {
            start = revision.edit.inverse().apply(&start).map_err(|e| (at, e))?;
            at = revision.parent;
        }
        let mut children = vec![0_usize; self.len()];
        for revision in &self.revisions {
            children[revision.parent] += 1;
        }
        // A document is kept only until the last step on it was tried.
        let mut documents: Vec<Option<Document>> = vec![None; self.len()];
        documents[0] = Some(start);
        for (index, revision) in self.revisions.iter().enumerate() {
            let parent = revision.parent;
            if let Some(document) = &documents[parent] {
                let made = revision.edit.apply(document);
                let made = made.map_err(|e| (index + 1, e))?;
                documents[index + 1] = Some(made);
            }
            children[parent] -= 1;
            if children[parent] == 0 {
                documents[parent] = None;
            }
            if children[index + 1] == 0 {
                documents[index + 1] = None;
            }
        }
        Ok(())
    }
}
