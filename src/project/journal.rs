//! The journal as a file: held by one program at a time, written to at its end.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read as _, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// What the names of journals end in.
const ENDING: &str = ".journal";
/// What the journals of shows that were never saved begin with.
const UNTITLED: &str = "untitled-";
/// So many names are tried before giving up.
const MOST_NAMES: u32 = 10_000;

/// Why a journal cannot be held.
#[derive(Debug)]
pub(super) enum Refused {
    /// Another program, or another window, holds it.
    Elsewhere,
    /// The system refused.
    System(io::Error),
}

impl From<io::Error> for Refused {
    fn from(error: io::Error) -> Self {
        Self::System(error)
    }
}

/// A journal that is held. The system lets go of it when the program ends, in whatever way.
#[derive(Debug)]
pub(super) struct Journal {
    file: File,
    path: PathBuf,
    /// How much of the file is written, in bytes.
    length: u64,
    /// What could not be written yet.
    pending: Vec<u8>,
    /// Whether something was written that is not synced.
    unsynced: bool,
}

/// Where the journal of a project file stands: beside it.
pub(super) fn beside(project: &Path) -> PathBuf {
    let name = project.file_name().unwrap_or_default().to_string_lossy();
    project.with_file_name(format!(".{name}{ENDING}"))
}

/// The journals in a folder that are of shows never saved, by name.
pub(super) fn untitled_in(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if name.starts_with(UNTITLED) && name.ends_with(ENDING) {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

impl Journal {
    /// Takes hold of a journal, which is made if it is not there, with what is in it.
    pub(super) fn take(path: &Path) -> Result<(Self, Vec<u8>), Refused> {
        // A journal that its holder removes as we open it is gone once we hold it: then once more.
        for _ in 0..100 {
            let mut options = OpenOptions::new();
            let options = options.read(true).write(true).create(true).truncate(false);
            let file = options.open(path)?;
            if let Some(held) = Self::hold(file, path)? {
                return Ok(held);
            }
        }
        Err(Refused::Elsewhere)
    }

    /// The same for one that must be there.
    pub(super) fn take_there(path: &Path) -> Result<(Self, Vec<u8>), Refused> {
        let file = OpenOptions::new().read(true).write(true).open(path)?;
        Self::hold(file, path)?.ok_or(Refused::Elsewhere)
    }

    /// A new journal in a folder, for a show that was never saved.
    pub(super) fn untitled(folder: &Path) -> io::Result<Self> {
        for number in 1..=MOST_NAMES {
            let path = folder.join(format!("{UNTITLED}{number}{ENDING}"));
            let mut options = OpenOptions::new();
            let options = options.read(true).write(true).create_new(true);
            let file = match options.open(&path) {
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => continue,
                opened => opened?,
            };
            // Somebody who looks through the folder may have it for a moment: then another name.
            match Self::hold(file, &path) {
                Ok(Some((held, _))) => return Ok(held),
                Ok(None) | Err(Refused::Elsewhere) => {}
                Err(Refused::System(error)) => return Err(error),
            }
        }
        Err(io::Error::other("too many unsaved shows are in it"))
    }

    fn hold(mut file: File, path: &Path) -> Result<Option<(Self, Vec<u8>)>, Refused> {
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(Refused::Elsewhere),
            Err(TryLockError::Error(error)) => return Err(Refused::System(error)),
        }
        if !is_at(&file, path) {
            return Ok(None);
        }
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes)?;
        let journal = Self {
            file,
            path: path.to_owned(),
            length: bytes.len() as u64,
            pending: Vec::new(),
            unsynced: false,
        };
        Ok(Some((journal, bytes)))
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Writes lines at the end. What could not be written is tried again the next time.
    pub(super) fn append(&mut self, lines: &[u8]) -> io::Result<()> {
        self.pending.extend_from_slice(lines);
        if self.pending.is_empty() {
            return Ok(());
        }
        let written = self.file.seek(SeekFrom::Start(self.length));
        let written = written.and_then(|_| self.file.write_all(&self.pending));
        if let Err(error) = written {
            // No half line stays, as far as the system lets us.
            let _ = self.file.set_len(self.length);
            return Err(error);
        }
        self.length += self.pending.len() as u64;
        self.pending.clear();
        self.unsynced = true;
        Ok(())
    }

    /// Sees to it that all that was appended is on the disk.
    pub(super) fn sync(&mut self) -> io::Result<()> {
        self.append(&[])?;
        if self.unsynced {
            self.file.sync_data()?;
            self.unsynced = false;
        }
        Ok(())
    }

    /// Leaves so many bytes and drops the rest.
    pub(super) fn cut(&mut self, length: usize) -> io::Result<()> {
        self.file.set_len(length as u64)?;
        self.length = length as u64;
        self.unsynced = true;
        self.sync()
    }

    /// Begins anew with a first line. What was in it is gone.
    pub(super) fn restart(&mut self, first: &[u8]) -> io::Result<()> {
        self.pending.clear();
        self.cut(0)?;
        self.append(first)?;
        self.sync()?;
        // A new file is safe only once its folder is synced; where a folder cannot be opened for
        // that, the journal stands all the same.
        if let Some(folder) = self.path.parent().and_then(|f| File::open(f).ok()) {
            let _ = folder.sync_all();
        }
        Ok(())
    }

    /// Puts a copy of what was in it under a name of its own, in the same folder.
    pub(super) fn keep_aside(&self, bytes: &[u8]) -> io::Result<PathBuf> {
        let name = self.path.file_name().unwrap_or_default().to_string_lossy();
        let name = name.trim_start_matches('.');
        for number in 1..=MOST_NAMES {
            let path = self.path.with_file_name(format!("{name}-{number}"));
            let mut file = match OpenOptions::new().write(true).create_new(true).open(&path) {
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => continue,
                opened => opened?,
            };
            file.write_all(bytes)?;
            file.sync_all()?;
            return Ok(path);
        }
        Err(io::Error::other("too many journals were kept aside"))
    }

    /// Removes the journal: nothing in it is needed any more.
    pub(super) fn remove(self) -> io::Result<()> {
        self.unlink()
    }

    /// Takes the journal's file away; it stays held until it is let go of.
    pub(super) fn unlink(&self) -> io::Result<()> {
        // Removed while it is held, so that nobody can take hold of it in between.
        fs::remove_file(&self.path)
    }
}

/// Let go of at once: a program that is just being started may have the file open for a moment longer.
impl Drop for Journal {
    fn drop(&mut self) {
        let _ = self.file.unlock();
    }
}

/// Whether an open file is the one that stands at a path.
#[cfg(unix)]
fn is_at(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let (Ok(open), Ok(there)) = (file.metadata(), fs::metadata(path)) else {
        return false;
    };
    (open.dev(), open.ino()) == (there.dev(), there.ino())
}

/// Whether an open file is the one that stands at a path. A file that is open cannot be replaced here.
#[cfg(not(unix))]
fn is_at(_: &File, path: &Path) -> bool {
    path.exists()
}
