//! `bandwright read`: what is found in a sketch.

use super::failure::{Failure, no_notes_hint};
use super::files::{self, JsonTarget};
use super::json_read::ReadAnswer;
use super::read_report::report;
use super::times::TimesWord;
use super::why::why_report;
use crate::sketch::{ReadOptions, bar_ranges, quantise, read_sketch_with};
use clap::Args;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `read`.
#[derive(Args, Debug)]
pub struct Read {
    /// The piano sketch, a MIDI or MusicXML file
    sketch: PathBuf,
    /// A file that says which notes are melody, bass and so on (TOML)
    #[arg(long)]
    tags: Option<PathBuf>,
    /// Write what is found as JSON to a file, or to standard output with `-`
    #[arg(long)]
    json: Option<PathBuf>,
    /// Which times count where a sketch was played in: those that would be written, or those played
    #[arg(long, value_enum, default_value_t)]
    times: TimesWord,
    /// Tell what spoke for each note of the melody and against it, and which chords were near
    #[arg(long)]
    why: bool,
    /// With --why: only in these bars, as "5-8, 13"
    #[arg(long, requires = "why", conflicts_with = "json")]
    bars: Option<String>,
}

impl Read {
    /// Runs the command.
    ///
    /// # Errors
    /// Where the sketch cannot be used or the answer cannot be written.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let json = self.json.map(JsonTarget::from);
        if let Some(JsonTarget::File(path)) = &json {
            let inputs = [Some(self.sketch.as_path()), self.tags.as_deref()];
            files::refuse_over_inputs(path, &inputs)?;
        }
        let bars = match &self.bars {
            None => Vec::new(),
            Some(text) => bar_ranges(text).ok_or_else(|| Failure::Bars(text.clone()))?,
        };
        let file = files::song(&self.sketch)?;
        let quantised = quantise(&file, self.times.into());
        let song = &quantised.song;
        let options = ReadOptions {
            tags: files::tags(self.tags.as_deref())?,
            why: self.why,
            ..ReadOptions::default()
        };
        let reading = read_sketch_with(song, &options);
        let warnings: Vec<String> = song
            .warnings
            .iter()
            .chain(&reading.warnings)
            .map(ToString::to_string)
            .collect();
        if reading.notes.is_empty() {
            let usual = "there is nothing to read in it; check that the right tracks were exported";
            let hint = no_notes_hint(song, usual);
            return Err(Failure::NoNotes {
                path: self.sketch.display().to_string(),
                hint,
            });
        }
        match json {
            Some(target) => {
                let answer = ReadAnswer::of(&file, &quantised, &reading, &warnings);
                let answer = if self.why {
                    answer.with_why(&quantised, &reading)
                } else {
                    answer
                };
                files::write_json(&target, &answer)?;
            }
            None => {
                files::say(&report(&quantised, &reading))?;
                if self.why {
                    files::say(&why_report(song, &reading, &bars))?;
                }
            }
        }
        files::notes(&warnings);
        Ok(ExitCode::SUCCESS)
    }
}
