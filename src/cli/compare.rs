//! `bandwright compare`: what was changed in a draft that came back.

use super::Failure;
use super::files::{self, JsonTarget};
use crate::band::Band;
use crate::score::returned::{Change, PlainNote, Returned, returned};
use clap::Args;
use serde::Serialize;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `compare`.
#[derive(Args, Debug)]
pub struct Compare {
    /// The draft as it was sent out
    sent: PathBuf,
    /// The draft as it came back
    back: PathBuf,
    /// The band: a roster file (TOML or CSV) or the name of a preset
    #[arg(long, default_value = files::DEMO_BAND)]
    band: String,
    #[command(flatten)]
    away: files::Away,
    /// Write the changes as JSON to a file, or to standard output with `-`
    #[arg(long)]
    json: Option<PathBuf>,
}

impl Compare {
    /// Runs the command. The status is 0 also where something was changed.
    ///
    /// # Errors
    /// Where an input cannot be used, or neither has a track named like a part.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let json = self.json.clone().map(JsonTarget::from);
        if let Some(JsonTarget::File(path)) = &json {
            let inputs = [
                Some(self.sent.as_path()),
                Some(self.back.as_path()),
                files::roster_file(&self.band),
            ];
            files::refuse_over_inputs(path, &inputs)?;
        }
        let (sent, back) = (files::song(&self.sent)?, files::song(&self.back)?);
        let band = files::band_without(&self.band, &self.away)?;
        let found = returned(&back, &sent, &band)?;
        if found.sent.tracks.is_empty() {
            return Err(Failure::NoParts {
                path: self.sent.display().to_string(),
                band: band.name,
            });
        }
        match json {
            Some(target) => files::write_json(&target, &CompareAnswer::of(&found, &band))?,
            None => files::say(&text(&found, &band))?,
        }
        Ok(ExitCode::SUCCESS)
    }
}

/// What was changed, for people.
#[must_use]
pub fn text(found: &Returned, band: &Band) -> String {
    let told = found.in_words(band);
    if found.is_unchanged() {
        return "nothing was changed".to_owned();
    }
    told.join("\n")
}

/// The answer of `compare`.
#[derive(Serialize, Debug)]
struct CompareAnswer {
    unchanged: bool,
    inserted_bars: Vec<u32>,
    cut_bars: Vec<u32>,
    sketch_bars: Vec<u32>,
    changes: Vec<ChangeJson>,
}

#[derive(Serialize, Debug)]
struct ChangeJson {
    part: String,
    bar: u32,
    how: &'static str,
    was: Option<NoteJson>,
    is: Option<NoteJson>,
}

#[derive(Serialize, Debug)]
struct NoteJson {
    quarters: f64,
    length: f64,
    pitch: u8,
}

impl CompareAnswer {
    fn of(found: &Returned, band: &Band) -> Self {
        let change = |c: &Change| ChangeJson {
            part: band.part(c.part).name.clone(),
            bar: c.bar.0,
            how: c.how.word(),
            was: c.was.map(|n| NoteJson::of(&n)),
            is: c.is.map(|n| NoteJson::of(&n)),
        };
        Self {
            unchanged: found.is_unchanged(),
            inserted_bars: found.bars.inserted().map(|b| b.0).collect(),
            cut_bars: found.bars.cut().map(|b| b.0).collect(),
            sketch_bars: found.sketch.iter().map(|b| b.0).collect(),
            changes: found.changes.iter().map(change).collect(),
        }
    }
}

impl NoteJson {
    fn of(note: &PlainNote) -> Self {
        Self {
            quarters: note.quarters(),
            length: note.length_in_quarters(),
            pitch: note.pitch.midi(),
        }
    }
}
