//! `bandwright keys`: how clean the band plays a sketch in every key near its own.

use super::failure::{Failure, no_notes_hint};
use super::files::{self, JsonTarget};
use super::how_played::HowPlayed;
use super::json_keys::KeysAnswer;
use super::key_choice::{InKey, SectionInKey, cleanest, key_choice};
use super::progress::Progress;
use super::times::TimesWord;
use super::with_timeline::WithTimeline;
use crate::music::KeySignature;
use crate::project::given::Given;
use crate::sketch::{Note, quantise};
use clap::Args;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `keys`.
#[derive(Args, Debug)]
pub struct Keys {
    /// The piano sketch, a MIDI or MusicXML file [default: the built-in demo]
    sketch: Option<PathBuf>,
    /// The band: a roster file (TOML or CSV) or the name of a preset
    #[arg(long, default_value = files::DEMO_BAND)]
    band: String,
    #[command(flatten)]
    away: files::Away,
    /// A MIDI or MusicXML file whose tracks named like parts are kept as they are; it goes along into each key
    #[arg(long)]
    locks: Option<PathBuf>,
    /// A file that says which notes are melody, bass and so on (TOML)
    #[arg(long)]
    tags: Option<PathBuf>,
    /// Which times count where a sketch was played in: those that would be written, or those played
    #[arg(long, value_enum, default_value_t)]
    times: TimesWord,
    #[command(flatten)]
    how: HowPlayed,
    #[command(flatten)]
    timeline: WithTimeline,
    /// Also write all figures as JSON to a file (replaced if it is there), or to standard output with `-`
    #[arg(long)]
    json: Option<PathBuf>,
}

impl Keys {
    /// Runs the command.
    ///
    /// # Errors
    /// On bad input.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let json = self.json.clone().map(JsonTarget::from);
        self.refuse_output_on_input(json.as_ref())?;
        let song = files::sketch(self.sketch.as_deref())?;
        let song = quantise(&song, self.times.into()).song;
        if song
            .tracks
            .iter()
            .all(|t| t.notes.iter().all(Note::is_percussion))
        {
            return Err(Failure::NoNotes {
                path: self.sketch_name(),
                hint: no_notes_hint(&song, "name a file with notes"),
            });
        }
        let band = files::band_without(&self.band, &self.away)?;
        let locks = self.locks.as_deref().map(files::song).transpose()?;
        let given = Given {
            locks: locks.as_ref(),
            tags: files::tags(self.tags.as_deref())?,
            conditions: self.how.conditions(&band),
            timeline: self.timeline.read()?,
            ..Given::default()
        };
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let mut progress = Progress::default();
        let keys = key_choice(&song, &band, &given, threads, &mut |share| {
            progress.tell(share);
        });
        drop(progress);
        if let Some(target) = &json {
            files::write_json(target, &KeysAnswer::of(&band, &keys))?;
        }
        if json != Some(JsonTarget::Output) {
            files::say(report(&self.sketch_name(), &band.name, &keys).trim_end())?;
        }
        Ok(ExitCode::SUCCESS)
    }

    fn sketch_name(&self) -> String {
        let path = self.sketch.as_ref();
        path.map_or_else(|| "the demo".to_owned(), |p| p.display().to_string())
    }

    fn refuse_output_on_input(&self, json: Option<&JsonTarget>) -> Result<(), Failure> {
        let Some(JsonTarget::File(output)) = json else {
            return Ok(());
        };
        let inputs = [
            self.sketch.as_deref(),
            self.locks.as_deref(),
            self.tags.as_deref(),
            files::roster_file(&self.band),
            self.timeline.file(),
        ];
        files::refuse_over_inputs(output, &inputs)
    }
}

/// The report for a terminal: a line for each key, then what the cleanest one changes.
#[must_use]
pub fn report(sketch: &str, band: &str, keys: &[InKey]) -> String {
    let best = cleanest(keys);
    let mut text = format!("{sketch}, {band}: of 100 notes, so many come out clean\n\n");
    text.push_str("           Key          Total   Tune  Tune notes lost  Players read\n");
    for key in keys {
        text.push_str(&line(key, best.is_some_and(|b| b.shift == key.shift)));
    }
    text.push_str(
        "\nTotal: all notes, those of the tune counted twice; a lost one counts as missed.\n",
    );
    let here = keys.iter().find(|k| k.shift == 0);
    match (here, best) {
        (Some(here), Some(best)) if best.shift != 0 => {
            text.push_str(&comparison(here, best));
        }
        _ => text.push_str("\nNo other key comes out cleaner.\n"),
    }
    text
}

fn line(key: &InKey, best: bool) -> String {
    let line = format!(
        "{}{:>9}  {:<11} {:>6.1} {:>6} {:>16}  {}",
        if best { "> " } else { "  " },
        way(key.shift),
        key.key.map_or_else(String::new, |k| k.to_string()),
        100.0 * key.total,
        hundredths(key.tune.share()),
        key.tune_lost,
        signatures(key)
    );
    format!("{}\n", line.trim_end())
}

fn hundredths(share: Option<f64>) -> String {
    share.map_or_else(|| "-".to_owned(), |s| format!("{:.1}", 100.0 * s))
}

/// A shift as musicians say it.
fn way(shift: i16) -> String {
    match shift {
        0 => "as it is".to_owned(),
        s if s < 0 => format!("{} lower", -s),
        s => format!("{s} higher"),
    }
}

/// The signatures that players read, as numbers of sharps and flats from the flat side up.
fn signatures(key: &InKey) -> String {
    let mut fifths: Vec<i8> = key
        .sections
        .iter()
        .filter_map(|s| Some(s.written?.fifths()))
        .collect();
    fifths.sort_unstable();
    fifths.dedup();
    let words: Vec<String> = fifths.into_iter().map(signature).collect();
    words.join(" ")
}

fn signature(fifths: i8) -> String {
    match fifths {
        0 => "0".to_owned(),
        f if f < 0 => format!("{}b", -f),
        f => format!("{f}#"),
    }
}

/// What gets better and worse by section, most first.
fn comparison(here: &InKey, best: &InKey) -> String {
    let mut changes: Vec<(f64, String)> = here
        .sections
        .iter()
        .zip(&best.sections)
        .map(|(a, b)| (difference(a, b), change(a, b)))
        .collect();
    changes.sort_by(|a, b| b.0.total_cmp(&a.0));
    let name = |k: Option<KeySignature>| k.map_or_else(String::new, |k| format!(", in {k}"));
    let mut text = format!("\nCleanest: {}{}\n", way(best.shift), name(best.key));
    let worth = |d: f64| (d.abs() * 1000.0).round() >= 1.0;
    for (title, sign) in [("better", 1.0), ("worse", -1.0)] {
        let mut of_sign: Vec<&(f64, String)> = changes
            .iter()
            .filter(|(d, _)| d * sign > 0.0 && worth(*d))
            .collect();
        if sign < 0.0 {
            of_sign.reverse();
        }
        for (i, (_, words)) in of_sign.iter().enumerate() {
            text.push_str(&format!(
                "  {:<8}{words}\n",
                if i == 0 { title } else { "" }
            ));
        }
    }
    text
}

/// By how much a section is cleaner in the second key. A section that plays in one of them alone
/// is neither better nor worse.
fn difference(a: &SectionInKey, b: &SectionInKey) -> f64 {
    match (a.clean.share(), b.clean.share()) {
        (Some(a), Some(b)) => b - a,
        _ => 0.0,
    }
}

fn change(a: &SectionInKey, b: &SectionInKey) -> String {
    let reads = b
        .written
        .map_or_else(String::new, |w| format!(", reads {w}"));
    format!(
        "{}: {} to {} of 100{reads}",
        a.section,
        hundredths(a.clean.share()),
        hundredths(b.clean.share())
    )
}
