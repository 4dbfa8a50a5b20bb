//! The chance that a note comes out clean, and what it is made of.
//!
//! A logistic item-response model: ability is the player's level, difficulty the sum of all that
//! makes the note hard. Every cause is calibrated alike ([`scale`]): a note that is easy in every
//! other way comes out at 0.95 at the cause's comfortable limit and at 0.60 at its stretch limit.
//! The limits are those of the tables of ranges and of playing; remarks do not enter, and neither
//! does a part's rank: who plays which part is the roster's business.
//!
//! Each note has a place, perhaps a trouble spot (`note`), a way from the note before
//! (`moves`: leap, break, slide) and a moment (`demands`: speed, dynamic, key, breath,
//! tiredness). [`chance`] tells all of them in words; [`ChanceTable`] gives the same number from
//! tables made once for a part.

mod causes;
mod context;
mod demands;
mod flow;
mod moves;
mod note;
mod points;
pub mod scale;
mod skill;
mod table;

pub use causes::{Cause, CauseKind};
pub use context::{FRESH_START, NoteContext, usual_posture};
pub use flow::{BREATH_GAP, Flow, NoteTime, flows};
pub use moves::crosses_the_break;
pub use table::ChanceTable;

use crate::band::instrument::Instrument;
use crate::band::level::Level;
use crate::band::roster::Part;
use crate::music::Sounding;
use causes::Case;
use note::note_points;
use points::{Looked, Points};
use skill::Skill;

/// The chance of a note for the players of one level.
#[derive(Clone, PartialEq, Debug)]
pub struct LevelChance {
    /// The level.
    pub level: Level,
    /// How many players of the part have it.
    pub players: u16,
    /// The chance, 0 to 1: the log-odds [`scale::CAP`] less the points of all causes.
    pub value: f64,
    /// What it is made of; causes that cost nothing are left out.
    pub causes: Vec<Cause>,
}

/// The chance of a note in a part.
#[derive(Clone, PartialEq, Debug)]
pub struct Chance {
    /// The chance, 0 to 1: the mean over the part's players; 0 without players.
    pub value: f64,
    /// The chances of each level present, weakest first.
    pub levels: Vec<LevelChance>,
    /// The causes, dearest first: each with its points meant over the players and in the words of
    /// the level that it costs most. For a part of one level they are that level's causes, and the
    /// cap less their points is the log-odds of `value`; for mixed levels the points add up only
    /// level by level.
    pub causes: Vec<Cause>,
}

/// The chance, 0 to 1, that a player of a part plays a note clean in a context, taken apart into
/// its causes. Nothing is looked up in advance: [`ChanceTable`] is the fast way to the same value.
///
/// ```
/// use bandwright::band::chance::{NoteContext, chance};
/// use bandwright::band::preset;
/// let band = preset("demo").unwrap();
/// let clarinets = &band.parts[4]; // four in their first year
/// let b4 = clarinets.instrument.transposition.sounding("B4".parse().unwrap()).unwrap();
/// assert!(chance(clarinets, b4, &NoteContext::default()).value < 0.6);
/// ```
#[must_use]
pub fn chance(part: &Part, pitch: Sounding, context: &NoteContext) -> Chance {
    let of = |(level, players)| level_chance(&part.instrument, level, players, pitch, context);
    let levels: Vec<LevelChance> = part.players.levels().map(of).collect();
    let each = levels.iter().map(|l| (l.players, l.value));
    Chance {
        value: mean(each),
        causes: joint(&levels),
        levels,
    }
}

fn level_chance(
    instrument: &Instrument,
    level: Level,
    players: u16,
    pitch: Sounding,
    context: &NoteContext,
) -> LevelChance {
    let skill = &Skill::of(instrument, level);
    let looked = look_up(instrument, skill, pitch, context);
    let points = Points::of(skill, pitch, &looked, context);
    let case = Case {
        instrument,
        skill,
        pitch,
        context,
    };
    LevelChance {
        level,
        players,
        value: points.chance(),
        causes: case.causes(&points),
    }
}

fn look_up(
    instrument: &Instrument,
    skill: &Skill,
    pitch: Sounding,
    context: &NoteContext,
) -> Looked {
    let written = |pitch| instrument.transposition.written(pitch);
    let note = written(pitch);
    Looked {
        note: note_points(instrument, skill.level, note, context.posture).0,
        way: context
            .from
            .map(|from| moves::way(instrument, skill, written(from), note)),
        dynamic: demands::dynamic(skill, note, context.dynamic),
        breath: skill.breath(note, context.dynamic, context.posture),
    }
}

/// The mean over players; 0 without.
fn mean(each: impl Iterator<Item = (u16, f64)>) -> f64 {
    let (players, sum) = each.fold((0.0, 0.0), |(players, sum), (n, value)| {
        (players + f64::from(n), sum + f64::from(n) * value)
    });
    if players > 0.0 { sum / players } else { 0.0 }
}

/// The causes of several levels, each kind once, dearest first.
fn joint(levels: &[LevelChance]) -> Vec<Cause> {
    let players: f64 = levels.iter().map(|l| f64::from(l.players)).sum();
    let mut all: Vec<(f64, Cause)> = Vec::new();
    for level in levels {
        for cause in &level.causes {
            let points = cause.points * f64::from(level.players) / players.max(1.0);
            match all.iter_mut().find(|(_, c)| c.kind == cause.kind) {
                Some((most, joint)) => {
                    joint.points += points;
                    if cause.points > *most {
                        *most = cause.points;
                        joint.text.clone_from(&cause.text);
                    }
                }
                None => all.push((
                    cause.points,
                    Cause {
                        points,
                        ..cause.clone()
                    },
                )),
            }
        }
    }
    let mut causes: Vec<Cause> = all.into_iter().map(|(_, c)| c).collect();
    causes.sort_by(|a, b| b.points.total_cmp(&a.points).then(a.kind.cmp(&b.kind)));
    causes
}
