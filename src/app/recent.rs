//! The shows that were open last, kept beside the journals.

use crate::export::{Existing, safe_write};
use std::path::{Path, PathBuf};

/// So many are kept.
const MOST: usize = 8;

/// The shows that were open last, the last one first.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Recent {
    file: PathBuf,
    paths: Vec<PathBuf>,
}

impl Recent {
    /// As they were kept in a folder; none where nothing readable is there.
    #[must_use]
    pub fn in_folder(folder: &Path) -> Self {
        let file = folder.join("recent.json");
        let kept = std::fs::read(&file).ok();
        let paths = kept.and_then(|bytes| serde_json::from_slice(&bytes).ok());
        Self {
            file,
            paths: paths.unwrap_or_default(),
        }
    }

    /// Those that are still there.
    pub fn paths(&self) -> impl Iterator<Item = &PathBuf> {
        self.paths.iter().filter(|p| p.exists())
    }

    /// A show was opened or saved. What cannot be kept is forgotten: it is a convenience.
    pub fn opened(&mut self, path: &Path) {
        let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        self.paths.retain(|p| *p != path);
        self.paths.insert(0, path);
        self.paths.truncate(MOST);
        if let Ok(bytes) = serde_json::to_vec_pretty(&self.paths) {
            let _ = safe_write(&self.file, &bytes, Existing::Replace);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_show_comes_first_and_only_once() {
        let folder = tempfile::tempdir().unwrap();
        let show = |name: &str| {
            let path = folder.path().join(name);
            std::fs::write(&path, "x").unwrap();
            path
        };
        let (a, b) = (show("a.bandwright"), show("b.bandwright"));
        let mut recent = Recent::in_folder(folder.path());
        assert_eq!(recent.paths().count(), 0);
        recent.opened(&a);
        recent.opened(&b);
        recent.opened(&a);
        let again = Recent::in_folder(folder.path());
        let kept: Vec<&PathBuf> = again.paths().collect();
        assert_eq!(kept, [&a, &b]);
        std::fs::remove_file(&a).unwrap();
        assert_eq!(again.paths().count(), 1);
    }
}
