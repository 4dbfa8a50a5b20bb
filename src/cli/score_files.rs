//! The draft as notation, in files beside the MIDI file.

use super::{Failure, files};
use crate::band::Band;
use crate::export::safe_write::{may_write, safe_write_all};
use crate::export::{
    Existing, ScoreInput, musicxml_bytes, mxl_bytes, single_part_names, single_parts,
};
use clap::Args;
use std::fs;
use std::path::{Path, PathBuf};

/// Which notation files are wanted.
#[derive(Args, Clone, PartialEq, Eq, Debug, Default)]
pub struct ScoreFiles {
    /// Also write the draft as a score in MusicXML 4.0, for a notation program: .musicxml or .xml, or compressed as .mxl
    #[arg(long, value_name = "FILE")]
    musicxml: Option<PathBuf>,
    /// Also write every part by itself, as MIDI and as MusicXML, into a folder (made if it is not there)
    #[arg(long, value_name = "FOLDER")]
    single_parts: Option<PathBuf>,
    /// With --musicxml or --single-parts: leave out remarks for the arranger (brackets over locks, changed notes of the
    /// tune, letters of sections that were found)
    #[arg(long)]
    plain: bool,
}

/// A file with its bytes.
type Written = (PathBuf, Vec<u8>);

impl ScoreFiles {
    /// A score alone.
    #[must_use]
    pub fn score(path: &Path) -> Self {
        Self {
            musicxml: Some(path.to_owned()),
            ..Self::default()
        }
    }

    /// Every part by itself, in a folder.
    #[must_use]
    pub fn parts(folder: &Path) -> Self {
        Self {
            single_parts: Some(folder.to_owned()),
            ..Self::default()
        }
    }

    /// Writes all of them, or none.
    ///
    /// # Errors
    /// Where the draft fits into none of them, or one cannot be written.
    pub fn write(&self, input: &ScoreInput<'_>, existing: Existing) -> Result<(), Failure> {
        self.check(input.band, existing)?;
        let written = self.written(input)?;
        let all = written.iter();
        let all: Vec<_> = all.map(|(p, b)| (p.as_path(), &b[..], existing)).collect();
        self.in_folder(|| Ok(safe_write_all(&all)?))
    }

    /// Whether remarks are left out.
    #[must_use]
    pub const fn is_plain(&self) -> bool {
        self.plain
    }

    /// Whether any is wanted.
    #[must_use]
    pub const fn is_any(&self) -> bool {
        self.musicxml.is_some() || self.single_parts.is_some()
    }

    /// All files that will be written for a band.
    #[must_use]
    pub fn paths(&self, band: &Band) -> Vec<PathBuf> {
        let folder = self.single_parts.iter();
        let parts = folder.flat_map(|folder| {
            let names = single_part_names(band).into_iter();
            names.flat_map(|(_, name)| both(folder, &name))
        });
        self.musicxml.iter().cloned().chain(parts).collect()
    }

    /// Says before the work is done what cannot be written.
    ///
    /// # Errors
    /// On an ending that is none of MusicXML, on `--plain` without a file, where a folder is missing or something is in
    /// the way.
    pub fn check(&self, band: &Band, existing: Existing) -> Result<(), Failure> {
        if self.plain && !self.is_any() {
            return Err(Failure::PlainOfNothing);
        }
        if let Some(path) = &self.musicxml {
            if !is_packed(path) && !["musicxml", "xml"].iter().any(|e| ends_with(path, e)) {
                return Err(Failure::NoMusicXml(path.display().to_string()));
            }
            may_write(path, existing)?;
        }
        if let Some(folder) = &self.single_parts {
            if !folder.is_dir() {
                // The folder will be made: where it stands, a file could be written.
                return Ok(may_write(folder, Existing::Keep)?);
            }
            for path in self.paths(band) {
                may_write(&path, existing)?;
            }
        }
        Ok(())
    }

    /// What the files hold.
    ///
    /// # Errors
    /// Where the draft fits into none of them.
    pub fn written(&self, input: &ScoreInput<'_>) -> Result<Vec<Written>, Failure> {
        let mut written = Vec::new();
        if let Some(path) = &self.musicxml {
            let text = musicxml_bytes(input)?;
            let bytes = if is_packed(path) {
                mxl_bytes(&text)?
            } else {
                text
            };
            written.push((path.clone(), bytes));
        }
        if let Some(folder) = &self.single_parts {
            for part in single_parts(input)? {
                let [midi, musicxml] = both(folder, &part.name);
                written.push((midi, part.midi));
                written.push((musicxml, part.musicxml));
            }
        }
        Ok(written)
    }

    /// Writes what `write` writes into a folder for single parts, which is made if need be and not left behind where
    /// that fails.
    ///
    /// # Errors
    /// Where the folder cannot be made, and as `write`.
    pub fn in_folder(&self, write: impl FnOnce() -> Result<(), Failure>) -> Result<(), Failure> {
        let missing = self.single_parts.as_ref().filter(|f| !f.is_dir());
        if let Some(folder) = missing {
            fs::create_dir(folder).map_err(|e| Failure::NoFolder {
                path: folder.display().to_string(),
                reason: e.to_string(),
            })?;
        }
        let done = write();
        if let (Some(folder), Err(_)) = (missing, &done) {
            // It is empty, or it stays.
            let _ = fs::remove_dir(folder);
        }
        done
    }

    /// What was written, a line each.
    #[must_use]
    pub fn told(&self) -> Vec<String> {
        let score = self.musicxml.iter();
        let score = score.map(|path| format!("score written to {}", path.display()));
        let parts = self.single_parts.iter();
        let parts =
            parts.map(|path| format!("single parts written to the folder {}", path.display()));
        score.chain(parts).collect()
    }

    /// The title of a sketch: its file's name without the ending.
    #[must_use]
    pub fn title(sketch: Option<&Path>) -> String {
        let stem = sketch.map(|path| path.file_stem().unwrap_or_default());
        stem.map_or(files::DEMO_TITLE.to_owned(), |s| {
            s.to_string_lossy().into_owned()
        })
    }
}

/// The two files of a part.
fn both(folder: &Path, name: &str) -> [PathBuf; 2] {
    [".mid", ".musicxml"].map(|ending| folder.join(format!("{name}{ending}")))
}

fn is_packed(path: &Path) -> bool {
    ends_with(path, "mxl")
}

fn ends_with(path: &Path, ending: &str) -> bool {
    path.extension()
        .is_some_and(|e| e.eq_ignore_ascii_case(ending))
}
