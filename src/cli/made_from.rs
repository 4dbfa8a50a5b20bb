//! What a draft was made from: its sketch, and how it was read for it.

use super::times::TimesWord;
use super::{Failure, files};
use crate::band::Band;
use crate::project::other_key::{OtherKey, other_key};
use crate::sketch::quantise;
use clap::Args;
use std::path::{Path, PathBuf};

/// What a draft was made from.
#[derive(Args, Debug)]
pub struct MadeFrom {
    /// The piano sketch that the draft was made from
    #[arg(long)]
    sketch: Option<PathBuf>,
    /// The file of tags that the draft was made with (TOML)
    #[arg(long, requires = "sketch")]
    tags: Option<PathBuf>,
    /// By how many semitones the sketch was moved for the draft
    #[arg(long, requires = "sketch", default_value_t = 0, allow_negative_numbers = true, value_parser = clap::value_parser!(i16).range(-12..=12))]
    transpose: i16,
    /// Which times count where the sketch was played in: as they were taken for the draft
    #[arg(long, value_enum, default_value_t)]
    times: TimesWord,
}

impl MadeFrom {
    /// Whether a sketch is named.
    #[must_use]
    pub const fn is_given(&self) -> bool {
        self.sketch.is_some()
    }

    /// The files that are read for it.
    #[must_use]
    pub fn files(&self) -> [Option<&Path>; 2] {
        [self.sketch.as_deref(), self.tags.as_deref()]
    }

    /// The sketch as it was read for the draft, if one is named.
    ///
    /// # Errors
    /// Where sketch or tags cannot be used.
    pub fn read(&self, band: &Band) -> Result<Option<OtherKey>, Failure> {
        let sketch = self.sketch.as_deref().map(files::song).transpose()?;
        let sketch = sketch.map(|s| quantise(&s, self.times.into()).song);
        let tags = files::tags(self.tags.as_deref())?;
        Ok(sketch.map(|s| other_key(s, band, tags, self.transpose)))
    }
}
