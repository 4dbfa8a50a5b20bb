//! A draft for commands that tell of it: a MIDI file with tracks named like the band's parts, or a show.

use super::Failure;
use super::files::{self, Away};
use super::how_played::HowPlayed;
use super::made_from::MadeFrom;
use super::review::{Reviewed, clean, keys_of, review};
use crate::band::Band;
use crate::band::load::Conditions;
use crate::music::{KeySignature, Tick};
use crate::project::drafted::Drafted;
use crate::project::file::is_project;
use crate::project::judged::Judged;
use crate::project::standing::Standing;
use crate::score::{DraftNote, PartLine, TuneRules, whole_tracks};
use crate::sketch::{Reading, Song, Warning};
use clap::Args;
use std::path::{Path, PathBuf};

/// A draft, and what it was made from.
#[derive(Args, Debug)]
pub struct DraftOf {
    /// The draft: a MIDI file with tracks named like the band's parts, or a show (.bandwright)
    draft: PathBuf,
    /// The band: a roster file (TOML or CSV) or the name of a preset; a show has its own
    #[arg(long)]
    band: Option<String>,
    #[command(flatten)]
    away: Away,
    #[command(flatten)]
    from: MadeFrom,
    #[command(flatten)]
    how: HowPlayed,
    /// What is played, for the head of the page [default: the name of the file; a show has its own]
    #[arg(long)]
    title: Option<String>,
}

/// A draft with all that is known of it.
#[derive(Debug)]
pub enum Taken {
    /// A show where it stands.
    Show(Box<Standing>),
    /// A file.
    File(Box<DraftFile>),
}

/// A draft that came as a file, as `bandwright review` sees it.
#[derive(Debug)]
pub struct DraftFile {
    title: String,
    band: Band,
    song: Song,
    lines: Vec<PartLine>,
    keys: Vec<(Tick, KeySignature)>,
    has_sketch: bool,
    reading: Option<Reading>,
    conditions: Conditions,
    judged: Judged,
    warnings: Vec<Warning>,
}

impl DraftOf {
    /// Reads it.
    ///
    /// # Errors
    /// Where an input cannot be used, or a draft or a show is told what it cannot take.
    pub fn take(&self) -> Result<Taken, Failure> {
        if is_project(&self.draft) {
            let given = self.band.is_some()
                || self.from.is_given()
                || self.away.is_given()
                || self.title.is_some();
            if given {
                return Err(Failure::ShowIsWhole);
            }
            return Ok(Taken::Show(Box::new(files::show(&self.draft)?)));
        }
        let name = self.band.as_deref().ok_or(Failure::NoBandForDraft)?;
        self.take_file(name).map(|f| Taken::File(Box::new(f)))
    }

    fn take_file(&self, name: &str) -> Result<DraftFile, Failure> {
        let song = files::song(&self.draft)?;
        let band = files::band_without(name, &self.away)?;
        let sketch = self.from.read(&band)?;
        let conditions = self.how.conditions(&band);
        let rules = TuneRules::default();
        let held = sketch.as_ref().map(|s| (s, &rules));
        let reviewed = review(&song, &band, held, conditions).ok_or_else(|| Failure::NoParts {
            path: self.draft.display().to_string(),
            band: band.name.clone(),
        })?;
        let Reviewed {
            findings,
            weighed,
            warnings,
            lines,
            breathing,
            reading,
        } = reviewed;
        let of_sketch = sketch.as_ref().map(|s| &s.song);
        let judged = Judged {
            findings,
            clean: clean(&song, &band, of_sketch, conditions),
            weighed,
            breathing,
        };
        let stem = self
            .draft
            .file_stem()
            .map(|t| t.to_string_lossy().into_owned());
        let title = self.title.clone().or(stem).unwrap_or_default();
        Ok(DraftFile {
            title,
            keys: keys_of(&whole_tracks(&song), of_sketch),
            has_sketch: sketch.is_some(),
            band,
            song,
            lines,
            reading,
            conditions,
            judged,
            warnings,
        })
    }

    /// Refuses an output that is one of the inputs.
    ///
    /// # Errors
    /// If the output names the file of an input.
    pub fn refuse_over_inputs(&self, output: &Path) -> Result<(), Failure> {
        let roster = self.band.as_deref().and_then(files::roster_file);
        let inputs = [
            &[Some(self.draft.as_path()), roster],
            &self.from.files()[..],
        ]
        .concat();
        files::refuse_over_inputs(output, &inputs)
    }
}

impl Taken {
    /// The draft with all that is known of it.
    #[must_use]
    pub fn drafted(&self) -> Drafted<'_> {
        match self {
            Self::Show(standing) => Drafted::of(standing.look()),
            Self::File(file) => file.drafted(),
        }
    }

    /// What was malformed or had to be decided.
    #[must_use]
    pub fn warnings(&self) -> &[Warning] {
        match self {
            Self::Show(standing) => &standing.look().song.warnings,
            Self::File(file) => &file.warnings,
        }
    }
}

impl DraftFile {
    fn drafted(&self) -> Drafted<'_> {
        let ends = self.lines.iter().flat_map(|l| &l.notes);
        let markers = self.song.markers.iter();
        Drafted {
            title: self.title.clone(),
            band: &self.band,
            lines: &self.lines,
            changes: None,
            has_sketch: self.has_sketch,
            reading: self.reading.as_ref(),
            quarter: self.song.quarter,
            meters: &self.song.meters,
            tempo: &self.song.tempo,
            keys: self.keys.clone(),
            end: ends.map(DraftNote::end).max().unwrap_or(Tick::ZERO),
            marks: markers.map(|m| (m.at, m.text.clone())).collect(),
            conditions: self.conditions,
            judged: &self.judged,
            aside: &[],
        }
    }
}
