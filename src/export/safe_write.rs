//! Writing a file so that it is there whole or not at all.

use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// What to do with a file that is there already.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Existing {
    /// Leave it and fail.
    Keep,
    /// Replace it.
    Replace,
}

/// Why a file was not written. What stood there before is untouched.
#[derive(Debug, Error)]
pub enum WriteError {
    /// A file is there already.
    #[error("{} is there already; choose another name, or replace it with --force", .0.display())]
    Exists(PathBuf),
    /// A folder is there.
    #[error("{} is a folder; name a file in it", .0.display())]
    IsFolder(PathBuf),
    /// The folder is missing.
    #[error("the folder {} does not exist; make it first or choose another place", .0.display())]
    NoFolder(PathBuf),
    /// The system refused.
    #[error("cannot write {path}: {error}; nothing was changed there")]
    System {
        /// Where.
        path: String,
        /// What it said.
        error: std::io::Error,
    },
}

/// Whether a file could be written: the folder is there, nothing is in the way.
///
/// # Errors
/// As [`safe_write`], before anything is done.
pub fn may_write(path: &Path, existing: Existing) -> Result<(), WriteError> {
    let folder = folder_of(path);
    if !folder.is_dir() {
        return Err(WriteError::NoFolder(folder.to_owned()));
    }
    if path.is_dir() {
        return Err(WriteError::IsFolder(path.to_owned()));
    }
    if existing == Existing::Keep && path.symlink_metadata().is_ok() {
        return Err(WriteError::Exists(path.to_owned()));
    }
    Ok(())
}

/// Writes a file through a temporary one in the same folder: written, synced, then renamed. A
/// device or pipe is written directly.
///
/// # Errors
/// Where the folder is missing, a file stands there and is to be kept, or the system refuses (no
/// permission, no space). What stood there before is untouched, and no temporary file stays.
pub fn safe_write(path: &Path, bytes: &[u8], existing: Existing) -> Result<(), WriteError> {
    safe_write_all(&[(path, bytes, existing)])
}

/// Writes several files as [`safe_write`] does; none takes its place before all are written.
///
/// # Errors
/// As [`safe_write`]. What stood there before is untouched.
pub fn safe_write_all(files: &[(&Path, &[u8], Existing)]) -> Result<(), WriteError> {
    let mut staged = Vec::with_capacity(files.len());
    for (path, bytes, existing) in files {
        may_write(path, *existing)?;
        if !is_device(path) {
            staged.push(Staged::write(path, bytes, *existing)?);
        }
    }
    for (path, bytes, _) in files.iter().filter(|(path, ..)| is_device(path)) {
        let file = std::fs::OpenOptions::new().write(true).open(path);
        file.and_then(|mut device| device.write_all(bytes).and_then(|()| device.flush()))
            .map_err(|e| refused(path, e))?;
    }
    staged.into_iter().try_for_each(Staged::rename)
}

fn is_device(path: &Path) -> bool {
    path.metadata().is_ok_and(|m| !m.is_file())
}

fn refused(path: &Path, error: std::io::Error) -> WriteError {
    WriteError::System {
        path: path.display().to_string(),
        error,
    }
}

/// A file that is written and synced but not yet in its place; dropped, it is gone.
struct Staged {
    temporary: tempfile::NamedTempFile,
    target: PathBuf,
    existing: Existing,
}

impl Staged {
    fn write(path: &Path, bytes: &[u8], existing: Existing) -> Result<Self, WriteError> {
        let system = |error| refused(path, error);
        // A link is followed, so that the file that it names is replaced and not the link.
        let target = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let mut temporary = tempfile::Builder::new()
            .prefix(".bandwright-")
            .tempfile_in(folder_of(&target))
            .map_err(system)?;
        temporary.write_all(bytes).map_err(system)?;
        set_permissions(temporary.as_file(), &target).map_err(system)?;
        temporary.as_file().sync_all().map_err(system)?;
        Ok(Self {
            temporary,
            target,
            existing,
        })
    }

    fn rename(self) -> Result<(), WriteError> {
        let persisted = match self.existing {
            Existing::Replace => self.temporary.persist(&self.target),
            Existing::Keep => self.temporary.persist_noclobber(&self.target),
        };
        persisted.map_err(|e| refused(&self.target, e.error))?;
        // The rename itself is safe only once the folder is synced; where a folder cannot be
        // opened for that, the file is whole all the same.
        if let Ok(folder) = File::open(folder_of(&self.target)) {
            let _ = folder.sync_all();
        }
        Ok(())
    }
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

/// Temporary files are private; the file gets the old one's rights, or the usual ones.
#[cfg(unix)]
fn set_permissions(file: &File, target: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    let mode = target.metadata().map_or(0o644, |m| m.permissions().mode());
    file.set_permissions(std::fs::Permissions::from_mode(mode))
}

#[cfg(not(unix))]
fn set_permissions(_: &File, _: &Path) -> std::io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_existing_file_stays_unless_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("draft.mid");
        safe_write(&path, b"one", Existing::Keep).unwrap();
        assert!(matches!(
            safe_write(&path, b"two", Existing::Keep),
            Err(WriteError::Exists(_))
        ));
        assert_eq!(std::fs::read(&path).unwrap(), b"one");
        safe_write(&path, b"two", Existing::Replace).unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"two");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_missing_folder_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("nowhere").join("draft.mid");
        let error = safe_write(&path, b"", Existing::Keep).unwrap_err();
        assert!(error.to_string().contains("nowhere"), "{error}");
    }
}
