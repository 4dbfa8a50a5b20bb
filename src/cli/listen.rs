//! `bandwright listen`: a draft or its sketch as a sound file.

use super::Failure;
use super::chance::find_part;
use super::draft_of::DraftOf;
use super::files;
use super::play_aloud::play_aloud;
use crate::band::{Band, PartId, TableError};
use crate::device::open_font::open_font;
use crate::export::safe_write::may_write;
use crate::export::{Existing, safe_write};
use crate::music::Tick;
use crate::plan::words::named_choirs;
use crate::project::drafted::Drafted;
use crate::score::PartLine;
use crate::sketch::{Line, bar_ranges};
use crate::sound::events::SoundScore;
use crate::sound::heard::{Heard, Only};
use crate::sound::of_draft::{Span, heard_lines, of_draft, of_sketch};
use crate::sound::render::{QUICKEST, Rendered, SLOWEST, SoundError};
use crate::sound::seating::Place;
use crate::sound::sounds::Sounds;
use crate::sound::tones::RATE;
use crate::sound::wav::wav;
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Arguments of `listen`.
#[derive(Args, Debug)]
pub struct Listen {
    #[command(flatten)]
    draft: DraftOf,
    /// Write a WAV file (stereo, 16 bits) in place of playing it on this machine's speakers
    #[arg(long, value_name = "FILE")]
    wav: Option<PathBuf>,
    /// Only these bars (5-8)
    #[arg(long)]
    bars: Option<String>,
    /// Only these parts and choirs ("Trumpet 1, trombones")
    #[arg(long, conflicts_with = "sketch_only")]
    parts: Option<String>,
    /// All but these parts and choirs
    #[arg(long, conflicts_with = "sketch_only")]
    without: Option<String>,
    /// Only this line, or only what is locked
    #[arg(long, value_enum)]
    only: Option<OnlyWord>,
    /// How quick, in percent of its own tempo, at the same pitch
    #[arg(long, value_name = "PERCENT", default_value_t = 100, value_parser = clap::value_parser!(u16).range(i64::from(PERCENT.0)..=i64::from(PERCENT.1)))]
    tempo: u16,
    /// A General MIDI SoundFont (.sf2) to play with, in place of the built-in sounds
    #[arg(long, value_name = "FILE")]
    sounds: Option<PathBuf>,
    /// Where the listener is
    #[arg(long, value_enum, default_value_t, conflicts_with = "sketch_only")]
    place: PlaceWord,
    /// The sketch on a piano instead of the draft
    #[arg(long)]
    sketch_only: bool,
    /// Replace the file if it is there already
    #[arg(long, requires = "wav")]
    force: bool,
}

/// The slowest and the quickest tempo, in percent.
const PERCENT: (u16, u16) = ((100.0 * SLOWEST) as u16, (100.0 * QUICKEST) as u16);

/// What is heard, in a word.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
enum OnlyWord {
    /// The tune
    Melody,
    /// The second tune
    Counterline,
    /// What fills the chord
    Harmony,
    /// The bass
    Bass,
    /// Piano patterns
    Figure,
    /// What is locked
    Locked,
}

impl From<OnlyWord> for Only {
    fn from(word: OnlyWord) -> Self {
        match word {
            OnlyWord::Melody => Self::Line(Line::Melody),
            OnlyWord::Counterline => Self::Line(Line::Counterline),
            OnlyWord::Harmony => Self::Line(Line::Harmony),
            OnlyWord::Bass => Self::Line(Line::Bass),
            OnlyWord::Figure => Self::Line(Line::Figure),
            OnlyWord::Locked => Self::Locked,
        }
    }
}

/// Where the listener is, in a word.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, ValueEnum)]
enum PlaceWord {
    /// Where the director stands
    Podium,
    /// A seat in the middle of the stands
    #[default]
    Stands,
    /// High up in the stands
    High,
}

impl From<PlaceWord> for Place {
    fn from(word: PlaceWord) -> Self {
        match word {
            PlaceWord::Podium => Self::Podium,
            PlaceWord::Stands => Self::Stands,
            PlaceWord::High => Self::High,
        }
    }
}

fn damaged(error: &TableError) -> Failure {
    Failure::BuiltIn {
        what: "table of loudness",
        reason: error.to_string(),
    }
}

fn no_sound(error: &SoundError) -> Failure {
    Failure::BuiltIn {
        what: "sounds",
        reason: error.to_string(),
    }
}

impl Listen {
    /// Runs the command.
    ///
    /// # Errors
    /// On bad input, or where the file cannot be written; then nothing was written.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let target = match &self.wav {
            Some(wav) => {
                self.draft.refuse_over_inputs(wav)?;
                let existing = files::ask_to_replace(wav, self.force);
                may_write(wav, existing)?;
                Some((wav.as_path(), existing))
            }
            None => None,
        };
        let taken = self.draft.take()?;
        let drafted = taken.drafted();
        let span = self.span(&drafted)?;
        let score = self.score(&drafted, span)?;
        let heard = self.heard(&drafted)?;
        let (sounds, notes) = self.with_sounds()?;
        files::notes(taken.warnings());
        for note in notes {
            files::tell(&format!("note: the SoundFont: {note}"));
        }
        let speed = f64::from(self.tempo) / 100.0;
        match target {
            Some(target) => write(target, sounds.render(&score, &heard, speed))?,
            None => play_aloud(&sounds, &score, &heard, speed)?,
        }
        Ok(ExitCode::SUCCESS)
    }

    fn score(&self, drafted: &Drafted<'_>, span: Span) -> Result<SoundScore, Failure> {
        let mut heard = Heard::default();
        heard.only = self.only.map_or(Only::All, Only::from);
        if self.sketch_only {
            let reading = drafted.reading.ok_or(Failure::NoSketchToHear)?;
            return Ok(of_sketch(reading, drafted.tempo, span, &heard));
        }
        let locked = |line: &PartLine, i: usize| line.notes.get(i).is_some_and(|n| n.locked);
        let lines = heard_lines(drafted.lines, &heard, locked);
        let place = self.place.into();
        of_draft(drafted.band, &lines, drafted.tempo, span, place).map_err(|e| damaged(&e))
    }

    /// The sounds, and what is to be said of them.
    fn with_sounds(&self) -> Result<(Sounds, Vec<String>), Failure> {
        let Some(path) = &self.sounds else {
            let built_in = Sounds::built_in().map_err(|e| no_sound(&e))?;
            return Ok((built_in, Vec::new()));
        };
        let font = open_font(path).map_err(|e| Failure::SoundFont {
            path: path.clone(),
            reason: e.to_string(),
        })?;
        let notes = font.notes.iter().map(ToString::to_string).collect();
        Ok((Sounds::of(&font), notes))
    }

    /// From where to where.
    fn span(&self, drafted: &Drafted<'_>) -> Result<Span, Failure> {
        let Some(text) = &self.bars else {
            return Ok(Span {
                from: Tick::ZERO,
                to: drafted.end,
            });
        };
        let ranges = bar_ranges(text).unwrap_or_default();
        let [(first, last)] = ranges[..] else {
            return Err(Failure::Bars(text.clone()));
        };
        let meters = drafted.meters;
        let from = meters.bar_start(first);
        if from >= drafted.end {
            return Err(Failure::BarsAfterEnd {
                bars: text.clone(),
                last: meters.bar(Tick(drafted.end.0.saturating_sub(1))),
            });
        }
        Ok(Span {
            from,
            to: meters.bar_end(last),
        })
    }

    /// Which chairs are heard; all where no parts were named.
    fn heard(&self, drafted: &Drafted<'_>) -> Result<Vec<bool>, Failure> {
        let band = drafted.band;
        let mut heard = vec![self.parts.is_none(); band.parts.len()];
        for (names, on) in [(&self.parts, true), (&self.without, false)] {
            for name in names.iter().flat_map(|n| n.split(',')) {
                for id in named(band, name)? {
                    if let Some(chair) = heard.get_mut(id.0) {
                        *chair = on;
                    }
                }
            }
        }
        Ok(heard)
    }
}

/// Writes what was rendered as a WAV file.
fn write(
    (path, existing): (&Path, Existing),
    made: Result<Rendered, SoundError>,
) -> Result<(), Failure> {
    let mut made = made.map_err(|e| no_sound(&e))?;
    let down = made.turn_down();
    safe_write(path, &wav(&made), existing)?;
    if let Some(db) = down {
        files::tell(&format!(
            "note: all of it was turned down by {db:.1} dB, or its peaks would have been cut off"
        ));
    }
    let seconds = made.left.len() as f64 / f64::from(RATE);
    files::say(&format!(
        "{seconds:.1} seconds of sound, a sketch of how it will sound, written to {}",
        path.display()
    ))
}

/// The parts that a name stands for: one, or a choir.
fn named(band: &Band, name: &str) -> Result<Vec<PartId>, Failure> {
    let is_named = |(choir, _): &(String, Vec<PartId>)| choir.eq_ignore_ascii_case(name.trim());
    match named_choirs(band).into_iter().find(is_named) {
        Some((_, parts)) => Ok(parts),
        None => Ok(vec![find_part(band, name)?.0]),
    }
}
