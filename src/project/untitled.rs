//! Shows that were never saved: which a crash left behind, and taking one up again.

use super::held::{OpenError, OpenProject, Opened, replayed};
use super::journal::{Journal, Refused, untitled_in};
use super::journal_lines::{self as lines, Begins, Entry, Lines, Read};
use std::io;
use std::path::{Path, PathBuf};

/// A show that was never saved and is open nowhere.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Unsaved {
    /// Its journal, for [`OpenProject::recover`].
    pub journal: PathBuf,
    /// The title that it began with.
    pub title: String,
    /// How many steps were made since.
    pub steps: usize,
}

impl OpenProject {
    /// The shows in a folder of journals that a crash left unsaved, and sentences on journals there
    /// that cannot be read. Those that are open are left out.
    ///
    /// # Errors
    /// Where the folder cannot be read; one that is not there holds nothing.
    pub fn unsaved_in(journal_folder: &Path) -> io::Result<(Vec<Unsaved>, Vec<String>)> {
        let (mut found, mut warnings) = (Vec::new(), Vec::new());
        let journals = match untitled_in(journal_folder) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
            read => read?,
        };
        for path in journals {
            let Ok((_, kept)) = Journal::take_there(&path) else {
                continue;
            };
            match lines::read(&kept) {
                Read::Lines(all) => found.extend(unsaved(path, &all)),
                Read::Nothing => {}
                Read::Newer(_) => warnings.push(format!(
                    "{} is of a newer program; renew this one to recover it",
                    path.display()
                )),
                Read::Unreadable(why) => warnings.push(format!(
                    "the unsaved show in {} cannot be read: {why}; it stays as it is",
                    path.display()
                )),
            }
        }
        Ok((found, warnings))
    }

    /// Takes up a show that was never saved.
    ///
    /// # Errors
    /// Where its journal is not there, open elsewhere, newer or damaged.
    pub fn recover(journal: &Path) -> Result<(Self, Opened), OpenError> {
        let system = |error: &io::Error| OpenError::System {
            path: journal.to_owned(),
            reason: error.to_string(),
        };
        let unreadable = |reason: String| OpenError::Unreadable {
            path: journal.to_owned(),
            reason,
        };
        let (mut held, kept) = Journal::take_there(journal).map_err(|e| match e {
            Refused::Elsewhere => OpenError::Elsewhere(journal.to_owned()),
            Refused::System(error) => system(&error),
        })?;
        let all = match lines::read(&kept) {
            Read::Lines(all) => all,
            Read::Newer(version) => {
                return Err(OpenError::NewerJournal {
                    path: journal.to_owned(),
                    version,
                });
            }
            Read::Nothing => return Err(unreadable("it was not written to its end".to_owned())),
            Read::Unreadable(reason) => return Err(unreadable(reason)),
        };
        let Begins::Starts(start) = &all.begins else {
            return Err(unreadable("it belongs to a project file".to_owned()));
        };
        let mut project = start.as_ref().clone();
        let opened = replayed(&mut project, &mut held, &kept, &all, 0);
        let opened = opened.map_err(|e| system(&e))?;
        let open = Self {
            project,
            journal: held,
            file: None,
        };
        Ok((open, opened))
    }
}

/// `None` for the journal of a project file.
fn unsaved(journal: PathBuf, all: &Lines) -> Option<Unsaved> {
    let Begins::Starts(project) = &all.begins else {
        return None;
    };
    let steps = all.entries.iter();
    Some(Unsaved {
        journal,
        title: project.document().title.clone(),
        steps: steps.filter(|(e, _)| matches!(e, Entry::Step(_))).count(),
    })
}
