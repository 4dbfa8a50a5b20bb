//! `bandwright shape`: the shape of a show, in words, as JSON and as a picture.

use super::failure::{Failure, no_notes_hint};
use super::files::{self, JsonTarget};
use super::how_played::HowPlayed;
use super::json_shape::ShapeAnswer;
use super::progress::Progress;
use super::shape_report::{report, under};
use super::times::TimesWord;
use super::with_timeline::WithTimeline;
use crate::band::Band;
use crate::export::safe_write::may_write;
use crate::export::{Existing, safe_write_all, shape_svg};
use crate::plan::timeline::Show;
use crate::project::file::is_project;
use crate::project::given::Given;
use crate::project::shape::{Shaped, ToShape, picture, shapes};
use crate::sketch::{Note, Song, quantise};
use clap::Args;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Arguments of `shape`.
#[derive(Args, Debug)]
pub struct Shape {
    /// The piano sketch, a MIDI or MusicXML file; several are the movements of one show, in order; or one show (.bandwright)
    /// with the notes that it has [default: the built-in demo]
    sketches: Vec<PathBuf>,
    /// The band: a roster file (TOML or CSV) or the name of a preset; a show has its own [default: demo]
    #[arg(long)]
    band: Option<String>,
    #[command(flatten)]
    away: files::Away,
    #[command(flatten)]
    timeline: WithTimeline,
    /// Seconds between movements, where the timeline does not say
    #[arg(long, value_name = "N", default_value_t = 20.0, allow_negative_numbers = true, value_parser = pause)]
    pause: f64,
    /// Which times count where a sketch was played in: those that would be written, or those played
    #[arg(long, value_enum, default_value_t)]
    times: TimesWord,
    #[command(flatten)]
    how: HowPlayed,
    /// Draw the shape into a file (SVG), to print and pin up
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// Also write all figures as JSON to a file (replaced if it is there), or to standard output with `-`
    #[arg(long)]
    json: Option<PathBuf>,
    /// Replace the picture if it is there already
    #[arg(long, requires = "svg")]
    force: bool,
}

impl Shape {
    /// Runs the command.
    ///
    /// # Errors
    /// On bad input, or where an answer cannot be written; then nothing was written.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let json = self.json.clone().map(JsonTarget::from);
        self.refuse_output_on_input(json.as_ref())?;
        if self.sketches.iter().any(|path| is_project(path)) {
            return self.run_on_show(json.as_ref());
        }
        let songs = self.songs()?;
        let band = self.band.as_deref().unwrap_or(files::DEMO_BAND);
        let band = files::band_without(band, &self.away)?;
        let show = self.timeline.show(songs.len())?;
        let title = title(&songs, show.as_ref());
        let existing = self.existing()?;
        let given = Given {
            conditions: self.how.conditions(&band),
            ..Given::default()
        };
        let shaped = {
            let mut progress = Progress::default();
            let all = to_shape(&songs, show, self.pause);
            shapes(all, &band, &given, &mut |share| progress.tell(share))
        };
        self.answer(&title, (&band, &shaped), existing, json.as_ref())?;
        for movement in &shaped {
            files::notes(&movement.warnings);
        }
        Ok(ExitCode::SUCCESS)
    }

    /// Whether a picture may take the place of what is there; `None` where none is wanted.
    fn existing(&self) -> Result<Option<Existing>, Failure> {
        let of = |path: &Path| {
            let existing = files::ask_to_replace(path, self.force);
            may_write(path, existing).map(|()| existing)
        };
        Ok(self.svg.as_deref().map(of).transpose()?)
    }

    /// A show with band, timeline and notes of its own.
    fn run_on_show(&self, json: Option<&JsonTarget>) -> Result<ExitCode, Failure> {
        let [path] = &self.sketches[..] else {
            return Err(Failure::ShowNotAlone);
        };
        if self.band.is_some() || self.timeline.is_given() || self.away.is_given() {
            return Err(Failure::ShowHasItsOwn);
        }
        let existing = self.existing()?;
        let standing = files::show(path)?;
        let look = standing.look();
        let shaped = [Shaped::of_show(look)];
        let title = &look.document.title;
        self.answer(title, (&look.document.band, &shaped), existing, json)?;
        files::notes(&shaped[0].warnings);
        Ok(ExitCode::SUCCESS)
    }

    fn answer(
        &self,
        title: &str,
        (band, shaped): (&Band, &[Shaped<'_>]),
        existing: Option<Existing>,
        json: Option<&JsonTarget>,
    ) -> Result<(), Failure> {
        let drawn = self.svg.as_deref().zip(existing).map(|(path, existing)| {
            let under = under(band, shaped);
            (path, shape_svg(&picture(title, &under, shaped)), existing)
        });
        let answer = || ShapeAnswer::of(band, shaped);
        let bytes = match json {
            Some(JsonTarget::File(_)) => Some(files::json_bytes(&answer())?),
            _ => None,
        };
        let mut outputs: Vec<(&Path, &[u8], Existing)> = Vec::new();
        if let Some((path, text, existing)) = &drawn {
            outputs.push((path, text.as_bytes(), *existing));
        }
        if let (Some(JsonTarget::File(path)), Some(bytes)) = (json, &bytes) {
            outputs.push((path, bytes, Existing::Replace));
        }
        // What may fail comes first: where the answer cannot be printed, nothing is written.
        if json == Some(&JsonTarget::Output) {
            files::write_json(&JsonTarget::Output, &answer())?;
        }
        safe_write_all(&outputs)?;
        if json != Some(&JsonTarget::Output) {
            let mut text = report(title, band, shaped);
            if let Some((path, ..)) = &drawn {
                text.push_str(&format!("\npicture written to {}", path.display()));
            }
            files::say(&text)?;
        }
        Ok(())
    }

    /// The sketches as music, each with its name.
    fn songs(&self) -> Result<Vec<(String, Song)>, Failure> {
        if self.sketches.is_empty() {
            let song = quantise(&files::demo_song()?, self.times.into()).song;
            return Ok(vec![("the demo".to_owned(), song)]);
        }
        let one = |path: &PathBuf| {
            let song = quantise(&files::song(path)?, self.times.into()).song;
            let mut notes = song.tracks.iter().flat_map(|t| &t.notes);
            if notes.all(Note::is_percussion) {
                return Err(Failure::NoNotes {
                    path: path.display().to_string(),
                    hint: no_notes_hint(&song, "name a file with notes"),
                });
            }
            let name = path.file_stem().map(|n| n.to_string_lossy().into_owned());
            Ok((name.unwrap_or_default(), song))
        };
        self.sketches.iter().map(one).collect()
    }

    fn refuse_output_on_input(&self, json: Option<&JsonTarget>) -> Result<(), Failure> {
        let mut inputs: Vec<Option<&Path>> =
            self.sketches.iter().map(|p| Some(p.as_path())).collect();
        let roster = self.band.as_deref().and_then(files::roster_file);
        inputs.extend([roster, self.timeline.file()]);
        let json = match json {
            Some(JsonTarget::File(path)) => Some(path.as_path()),
            _ => None,
        };
        let svg = self.svg.as_deref();
        for output in [svg, json].into_iter().flatten() {
            files::refuse_over_inputs(output, &inputs)?;
        }
        if let Some((svg, _)) = svg.zip(json).filter(|(a, b)| files::is_same(a, b)) {
            return Err(Failure::OutputIsInput(svg.display().to_string()));
        }
        Ok(())
    }
}

/// The sketches as movements. Those that a show names have its names and pauses; else `pause` is between them.
fn to_shape<'a>(songs: &'a [(String, Song)], show: Option<Show>, pause: f64) -> Vec<ToShape<'a>> {
    let several = show.as_ref().is_some_and(is_a_show);
    let mut movements = show.map_or_else(Vec::new, |s| s.movements).into_iter();
    let one = |(i, (name, song)): (usize, &'a (String, Song))| {
        let movement = movements.next();
        let planned = movement.as_ref().filter(|_| several);
        let pause_after = planned.map_or(pause, |m| m.pause_after);
        let planned = planned.map(|m| m.timeline.name().to_owned());
        ToShape {
            name: planned.unwrap_or_else(|| name.clone()),
            song,
            timeline: movement.map(|m| m.timeline),
            pause_after: if i + 1 == songs.len() {
                0.0
            } else {
                pause_after
            },
        }
    };
    songs.iter().enumerate().map(one).collect()
}

/// Whether a show has movements that differ: one timeline for all sketches is no such show.
fn is_a_show(show: &Show) -> bool {
    show.movements
        .windows(2)
        .any(|pair| pair.first() != pair.last())
}

/// What stands over the report: a show's own name, or the sketches and what they follow.
fn title(songs: &[(String, Song)], show: Option<&Show>) -> String {
    let names: Vec<&str> = songs.iter().map(|(name, _)| name.as_str()).collect();
    let names = names.join(", ");
    match show {
        Some(show) if is_a_show(show) => show.name.clone(),
        Some(show) => format!("{names}: {}", show.name),
        None => names,
    }
}

/// Seconds from nothing to an hour.
fn pause(text: &str) -> Result<f64, String> {
    let number: Option<f64> = text.parse().ok();
    let usable = number.filter(|n| (0.0..=3600.0).contains(n));
    usable.ok_or_else(|| "give a number of seconds from 0 to 3600".to_owned())
}
