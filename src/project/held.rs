//! A project that is open: its file, its journal, and what is done with both so that nothing is lost.
//!
//! Every step goes into the journal beside the file. A save first writes into the journal which state
//! the file is about to get, then replaces the file, then begins the journal anew. So wherever the
//! program stops, file and journal together hold all that was synced: the journal continues either the
//! file as it was or the one that was being saved.

use super::document::Document;
use super::file::{ProjectError, project_bytes, read_project};
use super::journal::{Journal, Refused, beside};
use super::journal_lines::{self as lines, Begins, Entry, FileState, Lines, Read};
use super::project::{Project, Step};
use crate::export::safe_write::may_write;
use crate::export::{Existing, WriteError, safe_write};
use std::fs::File;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// The largest project file, in bytes: far over any show with a long history, so that a wrong file is
/// refused and does not fill the memory.
const MOST_BYTES: u64 = 1024 * 1024 * 1024;

/// Why a project cannot be opened. Nothing of it is changed.
#[derive(Debug, Error)]
pub enum OpenError {
    /// It is open already.
    #[error("{} is open elsewhere; close it there first", .0.display())]
    Elsewhere(PathBuf),
    /// The system refused.
    #[error("cannot open {}: {reason}", .path.display())]
    System {
        /// Where.
        path: PathBuf,
        /// What it said, and what to do.
        reason: String,
    },
    /// It is none that this program reads.
    #[error("cannot open {}: {error}", .path.display())]
    Project {
        /// Where.
        path: PathBuf,
        /// Why.
        error: ProjectError,
    },
    /// Its journal is of a newer program.
    #[error(
        "unsaved changes to {} were made with a newer program (journal version {version}); open it there and save, or renew this program",
        .path.display()
    )]
    NewerJournal {
        /// The project, or the journal of a show never saved.
        path: PathBuf,
        /// The version of the journal.
        version: u64,
    },
    /// The journal of a show that was never saved is damaged.
    #[error("the unsaved show in {} cannot be read: {reason}; it stays as it is", .path.display())]
    Unreadable {
        /// The journal.
        path: PathBuf,
        /// What is wrong with it.
        reason: String,
    },
}

/// What went wrong when a project was saved. But for [`SaveError::Journal`] it was not saved, and what
/// stood there before is untouched.
#[derive(Debug, Error)]
pub enum SaveError {
    /// It has no file yet.
    #[error("the show has no file yet; save it under a name")]
    Untitled,
    /// A file is there already.
    #[error("{} is there already; choose another name, or agree to replace it", .0.display())]
    Exists(PathBuf),
    /// The project at that place is open.
    #[error("{} is open elsewhere; choose another name or close it there first", .0.display())]
    Elsewhere(PathBuf),
    /// Another program changed the file since it was opened.
    #[error("{} was changed by something else since it was opened; save under another name to keep both", .0.display())]
    ChangedOutside(PathBuf),
    /// The file would not open again as the same project.
    #[error(
        "the show cannot be saved so that it opens again ({0}); change that and save once more"
    )]
    NotWhole(String),
    /// The file cannot be written.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// The show is saved, but its journal cannot be written: what is done from now on is safe only
    /// once it is saved again.
    #[error("saved, but {0}")]
    Journal(#[from] JournalError),
}

/// Why a step is not in the journal.
#[derive(Debug, Error)]
pub enum JournalError {
    /// The system refused.
    #[error("cannot write the journal {}: {error}; save the show elsewhere soon", .path.display())]
    System {
        /// The journal.
        path: PathBuf,
        /// What it said.
        error: io::Error,
    },
    /// The step would not be read back, so it was dropped.
    #[error("\"{name}\" cannot be kept in a project ({reason}), so it was not done")]
    Refused {
        /// The name of the step.
        name: String,
        /// Why.
        reason: String,
    },
    /// The step would not be read back, and others were made on it.
    #[error(
        "the step \"{name}\" cannot be kept in the journal ({reason}); it will not outlive a crash"
    )]
    Step {
        /// The name of the step.
        name: String,
        /// Why.
        reason: String,
    },
}

/// What was found when a project was opened.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Opened {
    /// How many steps were recovered that no save had kept.
    pub recovered: usize,
    /// What the arranger should know, a sentence each.
    pub warnings: Vec<String>,
}

/// A project that is open.
#[derive(Debug)]
pub struct OpenProject {
    /// The project. What is done to it is kept safe by [`OpenProject::record`] and
    /// [`OpenProject::sync`].
    pub project: Project,
    pub(super) journal: Journal,
    /// The file and what it holds; `None` for a show that was never saved.
    pub(super) file: Option<(PathBuf, FileState)>,
}

impl OpenProject {
    /// Opens a project and recovers what its journal holds beyond it.
    ///
    /// # Errors
    /// Where it is not there or not to be read, is open elsewhere, newer, damaged or no project. Then
    /// nothing was changed.
    pub fn open(path: &Path) -> Result<(Self, Opened), OpenError> {
        let system = |error: &io::Error| OpenError::System {
            path: path.to_owned(),
            reason: said(error),
        };
        let real = path.canonicalize().map_err(|e| system(&e))?;
        if !real.is_file() {
            return Err(OpenError::System {
                path: path.to_owned(),
                reason: "it is no file; name a project in it".to_owned(),
            });
        }
        let (mut journal, kept) = Journal::take(&beside(&real)).map_err(|e| match e {
            Refused::Elsewhere => OpenError::Elsewhere(path.to_owned()),
            Refused::System(error) => OpenError::System {
                path: path.to_owned(),
                reason: format!(
                    "its journal cannot be written beside it ({error}); copy the show to a folder of your own"
                ),
            },
        })?;
        let read = read_real(&real, path).and_then(|(mut project, state)| {
            let opened = continued(&mut project, &mut journal, &kept, state, path)?;
            Ok((project, state, opened))
        });
        match read {
            Ok((project, state, opened)) => {
                let file = Some((real, state));
                let open = Self {
                    project,
                    journal,
                    file,
                };
                Ok((open, opened))
            }
            Err(error) => {
                if kept.is_empty() {
                    // We made it; a journal beside what is no project would puzzle.
                    let _ = journal.remove();
                }
                Err(error)
            }
        }
    }

    /// The file of the project; `None` for a show that was never saved.
    #[must_use]
    pub fn path(&self) -> Option<&Path> {
        self.file.as_ref().map(|(path, _)| path.as_path())
    }

    /// The journal.
    #[must_use]
    pub fn journal(&self) -> &Path {
        self.journal.path()
    }

    /// Writes into the journal what was done since the last time, and returns how many steps that
    /// were. It is safe from a crash of the program then, and from one of the system after
    /// [`Self::sync`].
    ///
    /// # Errors
    /// Where the journal takes nothing; what is to be written is tried again the next time. Where a
    /// step would not be read back from it, for it holds what no file can: the last step is then
    /// dropped, as if it had never been made.
    pub fn record(&mut self) -> Result<usize, JournalError> {
        let steps = self.project.take_steps();
        let count = steps.len();
        let (mut written, mut wrong) = (Vec::new(), None);
        for (index, step) in steps.into_iter().enumerate() {
            let entry = Entry::Step(step);
            let line = lines::line(&entry);
            if let Err(reason) = lines::check(&line, &entry) {
                let name = name(&entry);
                let last = index + 1 == count && matches!(entry, Entry::Step(Step::Change(_)));
                if last && self.project.drop_last() {
                    wrong.get_or_insert(JournalError::Refused { name, reason });
                    break;
                }
                wrong.get_or_insert(JournalError::Step { name, reason });
            }
            written.extend(line);
        }
        let appended = self.journal.append(&written);
        appended.map_err(|e| self.not_written(e))?;
        wrong.map_or(Ok(count), Err)
    }

    /// Records, and sees to it that all is on the disk.
    ///
    /// # Errors
    /// As [`Self::record`].
    pub fn sync(&mut self) -> Result<usize, JournalError> {
        let recorded = self.record();
        let synced = self.journal.sync();
        synced.map_err(|e| self.not_written(e))?;
        recorded
    }

    fn not_written(&self, error: io::Error) -> JournalError {
        JournalError::System {
            path: self.journal.path().to_owned(),
            error,
        }
    }

    /// Saves the project to its file.
    ///
    /// # Errors
    /// Where it has no file, the file was changed by something else, or it cannot be written. The file
    /// and the journal are then as they were.
    pub fn save(&mut self) -> Result<(), SaveError> {
        let (path, state) = self.file.clone().ok_or(SaveError::Untitled)?;
        let bytes = self.whole_bytes()?;
        if bytes_at(&path).is_some_and(|there| FileState::of(&there) != state) {
            return Err(SaveError::ChangedOutside(path));
        }
        let state = FileState::of(&bytes);
        // Where the journal takes nothing, the file is all the more wanted; a kill would then leave a
        // journal that is taken for another file's and put aside.
        let about_to = self.journal.append(&lines::line(&Entry::Saving(state)));
        let _ = about_to.and_then(|()| self.journal.sync());
        safe_write(&path, &bytes, Existing::Replace)?;
        self.file = Some((path, state));
        self.project.mark_saved();
        let restarted = self.journal.restart(&lines::continues(state));
        restarted.map_err(|e| self.not_written(e).into())
    }

    /// Saves the project to another file, which is its own from then on. What a journal there held
    /// that no save had kept is put aside; the answer says where.
    ///
    /// # Errors
    /// As [`Self::save`]; where a file is there and is to stay, and where it is open elsewhere.
    pub fn save_as(
        &mut self,
        path: &Path,
        existing: Existing,
    ) -> Result<Option<PathBuf>, SaveError> {
        let refused = |e| match e {
            WriteError::Exists(path) => SaveError::Exists(path),
            other => SaveError::Write(other),
        };
        may_write(path, existing).map_err(refused)?;
        let real = real_path(path);
        if self.file.as_ref().is_some_and(|(own, _)| *own == real) {
            return self.save().map(|()| None);
        }
        let bytes = self.whole_bytes()?;
        let (mut journal, kept) = Journal::take(&beside(&real)).map_err(|e| match e {
            Refused::Elsewhere => SaveError::Elsewhere(path.to_owned()),
            Refused::System(error) => SaveError::Write(WriteError::System {
                path: beside(&real).display().to_string(),
                error,
            }),
        })?;
        if let Err(error) = safe_write(&real, &bytes, existing) {
            if kept.is_empty() {
                let _ = journal.remove();
            }
            return Err(refused(error));
        }
        let state = FileState::of(&bytes);
        let aside = keep_steps_aside(&journal, &kept);
        let begun = aside.and_then(|aside| {
            journal.restart(&lines::continues(state))?;
            Ok(aside)
        });
        let old = std::mem::replace(&mut self.journal, journal);
        self.file = Some((real, state));
        self.project.mark_saved();
        // All of it is in the new file. If it stays, it is only offered once more.
        let _ = old.remove();
        begun.map_err(|e| self.not_written(e).into())
    }

    /// The bytes of the file, held against the project that they are to hold. What was done is recorded
    /// first; a journal that takes nothing does not keep the show from being saved.
    fn whole_bytes(&mut self) -> Result<Vec<u8>, SaveError> {
        if let Err(refused @ JournalError::Refused { .. }) = self.record() {
            return Err(SaveError::NotWhole(refused.to_string()));
        }
        let bytes = project_bytes(&self.project);
        if bytes.len() as u64 > MOST_BYTES {
            return Err(SaveError::NotWhole("it is over 1 GB".to_owned()));
        }
        let read = read_project(&bytes).map_err(|e| SaveError::NotWhole(e.to_string()))?;
        if read != self.project {
            let other = "something of it would come back differently";
            return Err(SaveError::NotWhole(other.to_owned()));
        }
        Ok(bytes)
    }

    /// Closes the project. What is not saved stays in the journal and is there when it is opened
    /// again; the journal of a saved project is removed.
    ///
    /// # Errors
    /// Where the journal cannot be written or removed.
    pub fn close(mut self) -> Result<(), JournalError> {
        self.end(true)
    }

    /// Ends the work on the project: as [`Self::close`] where unsaved work is to be kept, else as
    /// [`Self::discard`]. Nothing may be recorded after it.
    ///
    /// # Errors
    /// Where the journal cannot be written or removed.
    pub fn end(&mut self, keep: bool) -> Result<(), JournalError> {
        if keep {
            self.sync()?;
        }
        if keep && !self.project.is_saved() {
            return Ok(());
        }
        let removed = self.journal.unlink();
        removed.map_err(|error| JournalError::System {
            path: self.journal.path().to_owned(),
            error,
        })
    }

    /// Closes the project and drops what is not saved, as the arranger wants it.
    ///
    /// # Errors
    /// Where the journal cannot be removed.
    pub fn discard(mut self) -> Result<(), JournalError> {
        self.end(false)
    }

    /// Opens a new show that has no file yet. Its journal stands in a folder that is made if it is not
    /// there; it holds the whole show.
    ///
    /// # Errors
    /// Where the journal cannot be written.
    pub fn untitled(document: Document, journal_folder: &Path) -> Result<Self, JournalError> {
        let project = Project::new(document);
        let begun = std::fs::create_dir_all(journal_folder).and_then(|()| {
            let mut journal = Journal::untitled(journal_folder)?;
            journal.restart(&lines::starts(&project))?;
            Ok(journal)
        });
        let journal = begun.map_err(|error| JournalError::System {
            path: journal_folder.to_owned(),
            error,
        })?;
        Ok(Self {
            project,
            journal,
            file: None,
        })
    }
}

/// What a step is called, for people.
fn name(entry: &Entry) -> String {
    match entry {
        Entry::Step(Step::Change(edit) | Step::Join(edit)) => edit.name.clone(),
        Entry::Step(Step::Undo) => "Undo".to_owned(),
        Entry::Step(Step::Redo) => "Redo".to_owned(),
        Entry::Saving(_) => "Save".to_owned(),
    }
}

fn said(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file; check the name".to_owned(),
        io::ErrorKind::PermissionDenied => "you have no permission to read it".to_owned(),
        _ => error.to_string(),
    }
}

fn read_real(real: &Path, path: &Path) -> Result<(Project, FileState), OpenError> {
    let system = |reason: String| OpenError::System {
        path: path.to_owned(),
        reason,
    };
    let mut bytes = Vec::new();
    let read = File::open(real).and_then(|f| f.take(MOST_BYTES + 1).read_to_end(&mut bytes));
    read.map_err(|e| system(said(&e)))?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(system("it is over 1 GB, far too large".to_owned()));
    }
    let project = read_project(&bytes).map_err(|error| OpenError::Project {
        path: path.to_owned(),
        error,
    })?;
    Ok((project, FileState::of(&bytes)))
}

/// The bytes of a file; `None` where it cannot be read or is far too large.
fn bytes_at(path: &Path) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let file = File::open(path).ok()?;
    file.take(MOST_BYTES + 1).read_to_end(&mut bytes).ok()?;
    Some(bytes)
}

/// A path without links and detours, also where no file is there yet.
fn real_path(path: &Path) -> PathBuf {
    if let Ok(real) = path.canonicalize() {
        return real;
    }
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty());
    let folder = folder.unwrap_or(Path::new(".")).canonicalize();
    match (folder, path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => path.to_owned(),
    }
}

/// Puts what a journal holds aside if there is any step in it.
fn keep_steps_aside(journal: &Journal, kept: &[u8]) -> io::Result<Option<PathBuf>> {
    let empty = match lines::read(kept) {
        Read::Nothing => true,
        Read::Lines(all) => {
            let none = all
                .entries
                .iter()
                .all(|(e, _)| matches!(e, Entry::Saving(_)));
            none && all.broken.is_none() && matches!(all.begins, Begins::Continues(_))
        }
        Read::Newer(_) | Read::Unreadable(_) => false,
    };
    if empty {
        return Ok(None);
    }
    journal.keep_aside(kept).map(Some)
}

/// Takes up the journal of a file that was opened: what it holds beyond the file is done again.
fn continued(
    project: &mut Project,
    journal: &mut Journal,
    kept: &[u8],
    state: FileState,
    path: &Path,
) -> Result<Opened, OpenError> {
    let system = |error: io::Error| OpenError::System {
        path: path.to_owned(),
        reason: format!("its journal cannot be written beside it: {error}"),
    };
    let all = match lines::read(kept) {
        Read::Newer(version) => {
            return Err(OpenError::NewerJournal {
                path: path.to_owned(),
                version,
            });
        }
        Read::Lines(all) => all,
        Read::Nothing | Read::Unreadable(_) => {
            return fresh(journal, kept, state).map_err(system);
        }
    };
    match start_of(&all, state) {
        None => fresh(journal, kept, state).map_err(system),
        Some(start) => replayed(project, journal, kept, &all, start).map_err(system),
    }
}

/// From which entry on a journal continues a state of a file.
fn start_of(all: &Lines, state: FileState) -> Option<usize> {
    let saving = |(entry, _): &(Entry, usize)| *entry == Entry::Saving(state);
    if let Some(at) = all.entries.iter().rposition(saving) {
        return Some(at + 1);
    }
    matches!(all.begins, Begins::Continues(of) if of == state).then_some(0)
}

/// Begins a journal anew; one that held steps of another state of the file is put aside.
fn fresh(journal: &mut Journal, kept: &[u8], state: FileState) -> io::Result<Opened> {
    let aside = keep_steps_aside(journal, kept)?;
    journal.restart(&lines::continues(state))?;
    let warning = aside.map(|aside| {
        format!(
            "a journal was here that does not continue this file; it is kept as {}",
            aside.display()
        )
    });
    Ok(Opened {
        recovered: 0,
        warnings: warning.into_iter().collect(),
    })
}

/// Does the steps of a journal again from an entry on, as far as they fit.
pub(super) fn replayed(
    project: &mut Project,
    journal: &mut Journal,
    kept: &[u8],
    all: &Lines,
    start: usize,
) -> io::Result<Opened> {
    let mut opened = Opened::default();
    let before = start.checked_sub(1).and_then(|i| all.entries.get(i));
    let mut whole = before.map_or(all.first, |(_, end)| *end);
    let mut broken = all.broken.clone();
    for (number, (entry, end)) in all.entries.iter().enumerate().skip(start) {
        if let Entry::Step(step) = entry {
            if let Err(error) = project.replay(step.clone()) {
                broken = Some(format!("line {}: {error}", number + 2));
                break;
            }
            opened.recovered += 1;
        }
        whole = *end;
    }
    if let Some(why) = broken {
        let aside = journal.keep_aside(kept)?;
        opened.warnings.push(format!(
            "the journal is damaged ({why}); what comes before was recovered, and all of it is kept as {}",
            aside.display()
        ));
    }
    journal.cut(whole)?;
    Ok(opened)
}
