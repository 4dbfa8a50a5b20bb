//! `bandwright read`: what is found in a sketch.

use super::failure::{Failure, no_notes_hint};
use super::files::{self, JsonTarget};
use super::json_read::{ReadAnswer, signature};
use super::why::why_report;
use crate::music::Tick;
use crate::sketch::{Line, ReadOptions, Reading, Song, read_sketch_with};
use clap::Args;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `read`.
#[derive(Args, Debug)]
pub struct Read {
    /// The piano sketch, a MIDI file
    sketch: PathBuf,
    /// A file that says which notes are melody, bass and so on (TOML)
    #[arg(long)]
    tags: Option<PathBuf>,
    /// Write what is found as JSON to a file, or to standard output with `-`
    #[arg(long)]
    json: Option<PathBuf>,
    /// Tell why each note is melody, or not
    #[arg(long)]
    why: bool,
}

impl Read {
    /// Runs the command.
    ///
    /// # Errors
    /// Where the sketch cannot be used or the answer cannot be written.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let json = self.json.map(JsonTarget::from);
        if let Some(JsonTarget::File(path)) = &json {
            let mut inputs = [Some(&self.sketch), self.tags.as_ref()]
                .into_iter()
                .flatten();
            if inputs.any(|i| files::is_same(i, path)) {
                return Err(Failure::OutputIsInput(path.display().to_string()));
            }
        }
        let song = files::song(&self.sketch)?;
        let options = ReadOptions {
            tags: files::tags(self.tags.as_deref())?,
            why: self.why,
            ..ReadOptions::default()
        };
        let reading = read_sketch_with(&song, &options);
        let warnings: Vec<String> = song
            .warnings
            .iter()
            .chain(&reading.warnings)
            .map(ToString::to_string)
            .collect();
        if reading.notes.is_empty() {
            let usual = "there is nothing to read in it; check that the right tracks were exported";
            let hint = no_notes_hint(&song, usual);
            return Err(Failure::NoNotes {
                path: self.sketch.display().to_string(),
                hint,
            });
        }
        match json {
            Some(target) => {
                files::write_json(&target, &ReadAnswer::of(&song, &reading, &warnings))?;
            }
            None => {
                files::say(&report(&song, &reading))?;
                if self.why {
                    files::say(&why_report(&song, &reading))?;
                }
            }
        }
        files::notes(&warnings);
        Ok(ExitCode::SUCCESS)
    }
}

/// What was found, for people: a few lines and the chords bar by bar.
fn report(song: &Song, reading: &Reading) -> String {
    let count = |line| reading.line(line).count();
    let bars = song.meters.bar(Tick(song.end().0.saturating_sub(1))).0;
    let tempo = song.tempo.changes().iter().map(|c| {
        let place = song.meters.place(c.at);
        let at = if place.beat > 1.0 {
            place.to_string()
        } else {
            format!("bar {}", place.bar)
        };
        format!("{:.0} from {at}", song.tempo.quarters_per_minute(c.at))
    });
    let meters = song
        .meters
        .changes()
        .iter()
        .map(|c| format!("{} from bar {}", c.meter, song.meters.bar(c.at)));
    let keys = reading.keys.iter().map(|k| {
        let how = if k.given { "" } else { " (found)" };
        format!("{}{how} from bar {}", k.signature, song.meters.bar(k.start))
    });
    let mut lines = vec![
        format!("{bars} bars, {} notes", reading.notes.len()),
        format!("tempo   {}", tempo.collect::<Vec<_>>().join("; ")),
        format!("meter   {}", meters.collect::<Vec<_>>().join(", ")),
        format!("key     {}", keys.collect::<Vec<_>>().join(", ")),
        format!(
            "lines   melody {}, counterline {}, harmony {}, bass {}, figure {} notes",
            count(Line::Melody),
            count(Line::Counterline),
            count(Line::Harmony),
            count(Line::Bass),
            count(Line::Figure)
        ),
        format!(
            "phrases {}",
            reading
                .phrases
                .iter()
                .map(|p| format!("bar {}", song.meters.bar(p.start)))
                .collect::<Vec<_>>()
                .join(", ")
        ),
        String::new(),
    ];
    lines.extend(chord_rows(song, reading));
    lines.join("\n")
}

/// Chords, four bars a row; `%` where the chord of the bar before goes on.
fn chord_rows(song: &Song, reading: &Reading) -> Vec<String> {
    let last = song.meters.bar(Tick(song.end().0.saturating_sub(1))).0;
    let mut labels: Vec<Vec<String>> = vec![Vec::new(); last as usize];
    for span in &reading.chords {
        let bar = song.meters.bar(span.start).0 as usize;
        let label = span.chord.label(signature(reading, span.start));
        if let Some(cell) = labels.get_mut(bar.saturating_sub(1)) {
            cell.push(label);
        }
    }
    let cells: Vec<String> = labels
        .into_iter()
        .map(|l| {
            if l.is_empty() {
                "%".to_owned()
            } else {
                l.join(" ")
            }
        })
        .collect();
    let width = cells
        .iter()
        .map(|c| c.chars().count())
        .max()
        .unwrap_or(0)
        .min(24);
    let row = |(i, four): (usize, &[String])| {
        let cells: Vec<String> = four.iter().map(|c| format!("{c:<width$}")).collect();
        format!("{:>4} | {}", 4 * i + 1, cells.join(" | "))
            .trim_end()
            .to_owned()
    };
    cells.chunks(4).enumerate().map(row).collect()
}
