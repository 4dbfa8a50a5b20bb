//! `bandwright listen`: a draft or its sketch as a sound file.

use super::Failure;
use super::chance::find_part;
use super::draft_of::DraftOf;
use super::files;
use crate::band::TableError;
use crate::export::safe_write;
use crate::export::safe_write::may_write;
use crate::music::Tick;
use crate::project::drafted::Drafted;
use crate::sketch::bar_ranges;
use crate::sound::events::SoundScore;
use crate::sound::heard::Heard;
use crate::sound::of_draft::{Span, of_draft, of_sketch};
use crate::sound::render::{SoundError, built_in_font, render};
use crate::sound::seating::Place;
use crate::sound::tones::RATE;
use crate::sound::wav::wav;
use clap::{Args, ValueEnum};
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `listen`.
#[derive(Args, Debug)]
pub struct Listen {
    #[command(flatten)]
    draft: DraftOf,
    /// Where the sound goes: a WAV file, stereo, 16 bits
    #[arg(long, value_name = "FILE")]
    wav: PathBuf,
    /// Only these bars (5-8)
    #[arg(long)]
    bars: Option<String>,
    /// Only these parts ("Trumpet 1, Clarinet 2")
    #[arg(long, conflicts_with = "sketch_only")]
    parts: Option<String>,
    /// Where the listener is
    #[arg(long, value_enum, default_value_t, conflicts_with = "sketch_only")]
    place: PlaceWord,
    /// The sketch on a piano instead of the draft
    #[arg(long)]
    sketch_only: bool,
    /// Replace the file if it is there already
    #[arg(long)]
    force: bool,
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
        self.draft.refuse_over_inputs(&self.wav)?;
        let existing = files::ask_to_replace(&self.wav, self.force);
        may_write(&self.wav, existing)?;
        let taken = self.draft.take()?;
        let drafted = taken.drafted();
        let span = self.span(&drafted)?;
        let score = self.score(&drafted, span)?;
        let heard = self.heard(&drafted)?;
        let font = built_in_font().map_err(|e| no_sound(&e))?;
        let mut made = render(&font, &score, &heard).map_err(|e| no_sound(&e))?;
        let down = made.turn_down();
        safe_write(&self.wav, &wav(&made), existing)?;
        files::notes(taken.warnings());
        if let Some(db) = down {
            files::tell(&format!(
                "note: all of it was turned down by {db:.1} dB, or its peaks would have been cut off"
            ));
        }
        let seconds = made.left.len() as f64 / f64::from(RATE);
        files::say(&format!(
            "{seconds:.1} seconds of sound, a sketch of how it will sound, written to {}",
            self.wav.display()
        ))?;
        Ok(ExitCode::SUCCESS)
    }

    fn score(&self, drafted: &Drafted<'_>, span: Span) -> Result<SoundScore, Failure> {
        if self.sketch_only {
            let reading = drafted.reading.ok_or(Failure::NoSketchToHear)?;
            return Ok(of_sketch(reading, drafted.tempo, span, &Heard::default()));
        }
        let place = self.place.into();
        of_draft(drafted.band, drafted.lines, drafted.tempo, span, place).map_err(|e| damaged(&e))
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
        let Some(names) = &self.parts else {
            return Ok(Vec::new());
        };
        let mut heard = vec![false; drafted.band.parts.len()];
        for name in names.split(',') {
            let (id, _) = find_part(drafted.band, name)?;
            if let Some(on) = heard.get_mut(id.0) {
                *on = true;
            }
        }
        Ok(heard)
    }
}
