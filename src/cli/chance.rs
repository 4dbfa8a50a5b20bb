//! `bandwright chance`: how likely a part plays a note clean, and why.

use super::Failure;
use super::files::{self, JsonTarget};
use super::json_chance::ChanceAnswer;
use crate::band::chance::{Cause, Chance, LevelChance, NoteContext, chance};
use crate::band::nearest::suggestion;
use crate::band::playing::Posture;
use crate::band::{Band, NotesPerSecond, Part, PartId};
use crate::music::{Dynamic, Key, KeySignature, Mode, PartNames, Sounding, Written};
use clap::Args;
use std::path::PathBuf;
use std::process::ExitCode;

/// Arguments of `chance`.
#[derive(Args, Debug)]
pub struct ChanceOf {
    /// The part, as the roster names it
    part: String,
    /// The note, as the player reads it: C4, Bb3, F#5
    note: Written,
    /// The band: a roster file (TOML) or the name of a preset
    #[arg(long, default_value = files::DEMO_BAND)]
    band: String,
    /// The note before it, as the player reads it
    #[arg(long)]
    from: Option<Written>,
    /// How loud: pp, p, mp, mf, f, ff or fff
    #[arg(long, default_value_t = Dynamic::Mf)]
    dynamic: Dynamic,
    /// How fast notes follow one another, in notes a second
    #[arg(long, value_parser = number, allow_negative_numbers = true)]
    speed: Option<f64>,
    /// For how many beats they do; short runs may be faster [default: 8, two bars]
    #[arg(long, value_parser = number, allow_negative_numbers = true)]
    beats: Option<f64>,
    /// Slurred from the note before
    #[arg(long)]
    slurred: bool,
    /// The concert key, such as `Eb major`, or how many sharps or flats the part has, 0 to 7
    #[arg(long, value_parser = wanted_key)]
    key: Option<WantedKey>,
    /// Seconds since the last breath, at the note's end
    #[arg(long, value_parser = number, allow_negative_numbers = true)]
    seconds: Option<f64>,
    /// Marching while playing
    #[arg(long)]
    marching: bool,
    /// How tired the lips are, 0 fresh to 1 spent
    #[arg(long, value_parser = share, allow_negative_numbers = true)]
    tired: Option<f64>,
    /// Write the answer as JSON to a file (replaced if it is there), or to standard output with `-`
    #[arg(long)]
    json: Option<PathBuf>,
}

/// A key as it was asked for.
#[derive(Clone, Copy, PartialEq, Debug)]
enum WantedKey {
    Concert(KeySignature),
    Signs(u8),
}

/// The greatest number of notes a second, beats or seconds that can be meant.
const MOST: f64 = 1000.0;

fn number(text: &str) -> Result<f64, String> {
    let read = text.trim().parse::<f64>().ok();
    let read = read.filter(|n| (0.0..=MOST).contains(n));
    read.ok_or_else(|| format!("give a number from 0 to {MOST}"))
}

fn share(text: &str) -> Result<f64, String> {
    number(text)
        .ok()
        .filter(|n| *n <= 1.0)
        .ok_or_else(|| "give a number from 0 to 1".to_owned())
}

fn wanted_key(text: &str) -> Result<WantedKey, String> {
    if let Ok(signs) = text.trim().parse::<u8>() {
        return if signs <= 7 {
            Ok(WantedKey::Signs(signs))
        } else {
            Err("a key has seven sharps or flats at most".to_owned())
        };
    }
    let signatures = (-7..=7).flat_map(|fifths| {
        [Mode::Major, Mode::Minor]
            .into_iter()
            .filter_map(move |mode| KeySignature::new(fifths, mode))
    });
    let all: Vec<(String, KeySignature)> = signatures.map(|s| (s.to_string(), s)).collect();
    let asked: Vec<&str> = text.split_whitespace().collect();
    let asked = asked.join(" ");
    let found = all
        .iter()
        .find(|(name, _)| name.eq_ignore_ascii_case(&asked));
    found.map(|(_, s)| WantedKey::Concert(*s)).ok_or_else(|| {
        let guess = suggestion(&asked, all.iter().map(|(n, _)| n.as_str()));
        format!("`{text}` is no key; write it like `Eb major` or `G minor`, or give a number of sharps or flats{guess}")
    })
}

impl ChanceOf {
    /// Runs the command.
    ///
    /// # Errors
    /// Where the band is not there or has no such part, or a note does not sound.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let json = self.json.clone().map(JsonTarget::from);
        if let Some(JsonTarget::File(path)) = &json {
            files::refuse_over_inputs(path, &[files::roster_file(&self.band)])?;
        }
        let band = files::band(&self.band)?;
        let (_, part) = find_part(&band, &self.part)?;
        let pitch = sounding(part, self.note)?;
        let context = self.context(part, pitch)?;
        let found = chance(part, pitch, &context);
        match json {
            Some(target) => {
                files::write_json(&target, &ChanceAnswer::of(part, self.note, pitch, &found))?;
            }
            None => files::say(&told(part, self.note, &found))?,
        }
        Ok(ExitCode::SUCCESS)
    }

    fn context(&self, part: &Part, pitch: Sounding) -> Result<NoteContext, Failure> {
        let (accidentals, in_key) = match self.key {
            None => (0, true),
            Some(WantedKey::Signs(signs)) => (signs, true),
            Some(WantedKey::Concert(concert)) => {
                let names = PartNames::of(part.instrument.transposition, concert);
                let key: Key = concert.key();
                let signs = names.signature(concert).fifths().unsigned_abs();
                (signs, key.has(pitch.class()))
            }
        };
        let from = self.from.map(|f| sounding(part, f)).transpose()?;
        Ok(NoteContext {
            from,
            speed: self.speed.map(NotesPerSecond),
            run_beats: self.beats.unwrap_or(8.0),
            slurred: self.slurred,
            dynamic: self.dynamic,
            accidentals,
            in_key,
            breath: self.seconds.unwrap_or(0.0),
            posture: if self.marching {
                Posture::Marching
            } else {
                Posture::Seated
            },
            // No lips are at work on what is struck or plucked.
            tired: self.tired.filter(|_| part.instrument.wind).unwrap_or(0.0),
            ..NoteContext::default()
        })
    }
}

/// A part by its name, case apart.
pub(super) fn find_part<'a>(band: &'a Band, name: &str) -> Result<(PartId, &'a Part), Failure> {
    let asked = name.trim();
    let found = band.ids().find(|(_, p)| p.name.eq_ignore_ascii_case(asked));
    found.ok_or_else(|| Failure::Part {
        part: name.to_owned(),
        band: band.name.clone(),
        hint: suggestion(asked, band.parts.iter().map(|p| p.name.as_str())),
    })
}

fn sounding(part: &Part, written: Written) -> Result<Sounding, Failure> {
    let sounding = part.instrument.transposition.sounding(written);
    sounding.ok_or_else(|| Failure::Unheard {
        note: written.to_string(),
        part: part.name.clone(),
    })
}

/// What the columns of the causes mean.
const LEGEND: &str = "Before each cause: the log-odds that it takes off (they add up), and the chance of a note that is easy but for it.\nThe chance of a part is the mean over its players.";

/// Whether the part's hard limits rule a note out, which no draft breaks whatever the chance.
fn ruled_out(part: &Part, note: Written) -> Option<String> {
    let written = |pitch: Sounding| part.instrument.transposition.written(pitch);
    let (low, high) = (
        written(part.limits.range.low),
        written(part.limits.range.high),
    );
    (note < low || note > high).then(|| {
        format!("Ruled out for this part all the same: its hard limits, remarks of the director counted, are {low} to {high}.")
    })
}

/// The chance and its causes, level by level.
fn told(part: &Part, note: Written, found: &Chance) -> String {
    let mut lines = vec![format!(
        "{}, written {note}: {:.2} clean",
        part.name, found.value
    )];
    for level in &found.levels {
        lines.push(String::new());
        lines.extend(level_lines(level));
    }
    lines.push(String::new());
    if found.levels.iter().any(|l| !l.causes.is_empty()) {
        lines.push(LEGEND.to_owned());
    }
    lines.extend(ruled_out(part, note));
    lines.join("\n").trim_end().to_owned()
}

fn level_lines(of: &LevelChance) -> Vec<String> {
    let who = match of.players {
        1 => format!("1 {} player", of.level),
        n => format!("{n} {} players", of.level),
    };
    let mut lines = vec![format!("{who}: {:.2}", of.value)];
    if of.causes.is_empty() {
        lines.push("  nothing makes it hard".to_owned());
    }
    let mut causes: Vec<&Cause> = of.causes.iter().collect();
    causes.sort_by(|a, b| b.points.total_cmp(&a.points).then(a.kind.cmp(&b.kind)));
    let line = |c: &Cause| format!("  -{:.2}  {:.2} by itself: {}", c.points, c.alone(), c.text);
    lines.extend(causes.into_iter().map(line));
    lines
}
