//! The load of a part over a whole show.

use super::conditions::Conditions;
use super::effort::Efforts;
use super::muscle::Muscle;
use super::tables;
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::band::roster::Part;
use crate::music::{Dynamic, Sounding};

/// A note with its times.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct TimedNote {
    /// Where it begins, seconds from the start of the show.
    pub from: f64,
    /// Where it ends, seconds.
    pub to: f64,
    /// Concert pitch.
    pub pitch: Sounding,
    /// Its dynamic.
    pub dynamic: Dynamic,
}

/// A stretch of notes.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Held {
    /// Seconds of sound in it.
    pub seconds: f64,
    /// Index of its first note.
    pub first: usize,
    /// Index of its last note.
    pub last: usize,
}

/// The load of the players of one level on a part.
#[derive(Clone, PartialEq, Debug)]
pub struct PlayerLoad {
    /// Whose.
    pub level: Level,
    /// How tired at the end of each note, 0 to 1.
    pub tired: Vec<f64>,
    /// The least reserve during each note, -1 to 1; under 0 it cannot be held as written.
    pub reserve: Vec<f64>,
    /// The note with the least reserve, the first of several; `None` without notes.
    pub least: Option<usize>,
    /// The first note at which the reserve runs out.
    pub runs_out: Option<usize>,
    /// Seconds of playing with a low reserve.
    pub low_seconds: f64,
    /// How far and how long the reserve is low: the integral of what it lacks, seconds.
    pub lack: f64,
}

/// The load of a part: of each level among its players.
#[derive(Clone, PartialEq, Debug)]
pub struct PartLoad {
    /// Weakest level first, never empty. The load of the part is that of the weakest: the line is
    /// the same for all, and they tire first.
    pub levels: Vec<PlayerLoad>,
}

impl PartLoad {
    /// The load of the weakest players, which stands for the part.
    #[must_use]
    pub fn weakest(&self) -> Option<&PlayerLoad> {
        self.levels.first()
    }
}

/// The load of a part over a show. Notes by onset; where two overlap, the second counts from the end
/// of the first. Gaps shorter than a rest count as load, at the effort of the note before. `None` for
/// parts without lips at work (percussion, strings, electronics) and without players.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn part_load(
    part: &Part,
    notes: &[TimedNote],
    conditions: Conditions,
) -> Result<Option<PartLoad>, TableError> {
    let start = tables::start(conditions.start)?;
    part_load_of(part, notes, conditions, &|_| (start, false))
}

/// The same where it is known how tired the players of each level are, 0 to 1, when the show's clock stands at 0:
/// what is left of the movement before. They recover until their first note.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn part_load_from(
    part: &Part,
    notes: &[TimedNote],
    conditions: Conditions,
    tired: &dyn Fn(Level) -> f64,
) -> Result<Option<PartLoad>, TableError> {
    part_load_of(part, notes, conditions, &|level| (tired(level), true))
}

fn part_load_of(
    part: &Part,
    notes: &[TimedNote],
    conditions: Conditions,
    start: &dyn Fn(Level) -> (f64, bool),
) -> Result<Option<PartLoad>, TableError> {
    if tables::weight(&part.instrument.id)?.is_none() {
        return Ok(None);
    }
    let levels = part.players.levels();
    let all: Result<Vec<_>, _> = levels
        .map(|(level, _)| load_of(part, level, notes, conditions, start(level)))
        .collect();
    let levels = all?;
    Ok((!levels.is_empty()).then_some(PartLoad { levels }))
}

/// How tired the weakest players of a part are at the end of each note, 0 to 1; all 0 where no lips
/// are at work.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn tired(
    part: &Part,
    notes: &[TimedNote],
    conditions: Conditions,
) -> Result<Vec<f64>, TableError> {
    let rested = || vec![0.0; notes.len()];
    let Some(level) = part.players.weakest() else {
        return Ok(rested());
    };
    if tables::weight(&part.instrument.id)?.is_none() {
        return Ok(rested());
    }
    Ok(player_load(part, level, notes, conditions)?.tired)
}

/// The load of the players of one level, see [`part_load`].
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn player_load(
    part: &Part,
    level: Level,
    notes: &[TimedNote],
    conditions: Conditions,
) -> Result<PlayerLoad, TableError> {
    let start = tables::start(conditions.start)?;
    load_of(part, level, notes, conditions, (start, false))
}

/// The same from a known state on, see [`part_load_from`].
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn player_load_from(
    part: &Part,
    level: Level,
    notes: &[TimedNote],
    conditions: Conditions,
    tired: f64,
) -> Result<PlayerLoad, TableError> {
    load_of(part, level, notes, conditions, (tired, true))
}

/// From a state on, which holds at the first note, or at second 0.
fn load_of(
    part: &Part,
    level: Level,
    notes: &[TimedNote],
    conditions: Conditions,
    (tired, at_zero): (f64, bool),
) -> Result<PlayerLoad, TableError> {
    let mut walk = Walk {
        muscle: tables::muscle_of(level)?,
        low: tables::low_reserve()?,
        tired: tired.clamp(0.0, 1.0),
        low_seconds: 0.0,
        lack: 0.0,
    };
    let mut efforts = Efforts::of(&part.instrument, level, conditions)?;
    let shortest = tables::table()?.rest.shortest;
    let mut load = PlayerLoad {
        level,
        tired: Vec::with_capacity(notes.len()),
        reserve: Vec::with_capacity(notes.len()),
        least: None,
        runs_out: None,
        low_seconds: 0.0,
        lack: 0.0,
    };
    let mut before: Option<(f64, f64)> = None;
    if let Some(first) = notes.first().filter(|_| at_zero) {
        walk.go(0.0, first.from);
    }
    for note in notes {
        let effort = efforts.at(note.pitch, note.dynamic)?;
        let (end, kept) = before.unwrap_or((note.from, 0.0));
        let gap = (note.from - end).max(0.0);
        walk.go(if gap < shortest { kept } else { 0.0 }, gap);
        let to = note.to.max(end);
        let reserve = walk.go(effort, to - note.from.max(end));
        load.tired.push(walk.tired);
        load.reserve.push(reserve);
        before = Some((to, effort));
    }
    let least = |a: &usize, b: &usize| load.reserve[*a].total_cmp(&load.reserve[*b]);
    load.least = (0..notes.len()).min_by(least);
    load.runs_out = load.reserve.iter().position(|r| *r < 0.0);
    load.low_seconds = walk.low_seconds;
    load.lack = walk.lack;
    Ok(load)
}

/// One player on the way through a show.
struct Walk {
    muscle: Muscle,
    low: f64,
    tired: f64,
    low_seconds: f64,
    lack: f64,
}

impl Walk {
    /// Goes through an effort; the least reserve on the way.
    fn go(&mut self, effort: f64, seconds: f64) -> f64 {
        let pieces = self.muscle.pieces(self.tired, effort, seconds);
        let mut most = self.tired;
        for piece in pieces {
            if effort > 0.0 {
                let (long, lack) = piece.above(1.0 - effort - self.low);
                self.low_seconds += long;
                self.lack += lack;
            }
            self.tired = piece.end();
            most = most.max(self.tired);
        }
        1.0 - effort - most
    }
}
