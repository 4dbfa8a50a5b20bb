//! What the way from the note before costs: leap, break, slide.

use super::context::NoteContext;
use super::scale::{AVOID, HARD, MILD, demand_points};
use super::skill::Skill;
use crate::band::instrument::Instrument;
use crate::band::level::Level;
use crate::band::limits::BELOW_THE_BREAK;
use crate::band::playing::{Action, Crossing, crossing};
use crate::music::{Sounding, Written};

/// A stretch leap is so many times a safe one, and at least two semitones more (ours).
const STRETCH_LEAP: f64 = 1.5;
const STRETCH_LEAP_LEAST: f64 = 2.0;
/// More crossings a beat than this are fast (T3b of the tables of playing: common practice).
const MANY_CROSSINGS: f64 = 2.0;

/// The way between two notes, for one level.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct Way {
    /// Points of the leap.
    pub leap: f64,
    /// Points of the crossing between registers.
    pub crossing: f64,
    /// Points of that crossing among many, where they follow fast.
    pub many_crossings: f64,
    /// Least slide travel in positions.
    pub travel: Option<f64>,
}

/// The way from one written note to another.
pub(super) fn way(instrument: &Instrument, skill: &Skill, from: Written, to: Written) -> Way {
    let size = f64::from(from.0.abs_diff(to.0));
    let found = crossing_of(instrument, from, to);
    let over = over_the_break(instrument, from, to);
    let cost = found.map_or(0.0, |c| crossing_points(c.cost.at(skill.level)));
    let leap = |most: Option<f64>| most.map_or(0.0, |most| leap_points(size, most));
    let (leap, crossing) = match skill.leap_over_break.filter(|_| over) {
        Some(most) => (0.0, leap_points(size, most).max(cost)),
        None => (leap(skill.leap), cost),
    };
    let many_crossings = if over {
        fast(skill.level, from, to)
    } else {
        0.0
    };
    Way {
        leap,
        crossing,
        many_crossings: many_crossings.max(crossing),
        travel: instrument.playing.action.travel(from, to, skill.level),
    }
}

/// The crossing of the clarinets' registers that two notes make.
pub(super) fn crossing_of(
    instrument: &Instrument,
    from: Written,
    to: Written,
) -> Option<&'static Crossing> {
    is_clarinet(instrument).then(|| crossing(from, to))?
}

/// Whether two notes lie on either side of the clarinets' break.
pub(super) fn over_the_break(instrument: &Instrument, from: Written, to: Written) -> bool {
    is_clarinet(instrument) && from.min(to) <= BELOW_THE_BREAK && from.max(to) > BELOW_THE_BREAK
}

/// Whether two sounding notes lie on either side of the clarinets' break; never on another
/// instrument.
#[must_use]
pub fn crosses_the_break(instrument: &Instrument, from: Sounding, to: Sounding) -> bool {
    let written = |pitch| instrument.transposition.written(pitch);
    over_the_break(instrument, written(from), written(to))
}

/// Whether only the size of a leap counts on an instrument.
pub(super) fn is_plain(instrument: &Instrument) -> bool {
    !is_clarinet(instrument) && !matches!(instrument.playing.action, Action::Slide { .. })
}

fn is_clarinet(instrument: &Instrument) -> bool {
    let leaps = instrument.playing.leaps.as_ref();
    leaps.is_some_and(|l| l.over_the_break.is_some())
}

fn leap_points(size: f64, most: f64) -> f64 {
    // A note repeated is no leap, also for those who should not leap at all.
    if size == 0.0 {
        return 0.0;
    }
    let stretch = (STRETCH_LEAP * most).max(most + STRETCH_LEAP_LEAST);
    demand_points(size, most, stretch)
}

const fn crossing_points(cost: u8) -> f64 {
    match cost {
        0 => 0.0,
        1 => MILD,
        2 => HARD,
        _ => AVOID,
    }
}

/// One of many crossings in quick succession: hard below advanced; to and fro between A4 and B4
/// or B flat 4 and C5 to be avoided below all-state (common practice, no source).
fn fast(level: Level, from: Written, to: Written) -> f64 {
    let pair = (from.min(to).0, from.max(to).0);
    if matches!(pair, (69, 71) | (70, 72)) && level < Level::AllState {
        AVOID
    } else if level < Level::Advanced {
        HARD
    } else {
        0.0
    }
}

impl Way {
    /// Points of the crossing in a context.
    pub fn crossing_in(&self, context: &NoteContext) -> f64 {
        if context.crossings > MANY_CROSSINGS {
            self.many_crossings
        } else {
            self.crossing
        }
    }
}
