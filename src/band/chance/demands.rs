//! What the moment costs: speed, dynamic, key, breath, tiredness.

use super::context::NoteContext;
use super::scale::{AVOID, COMFORTABLE, HARD, STRETCH, demand_points};
use super::skill::Skill;
use crate::band::level::Level;
use crate::band::playing::{LoudnessRule, burst_factor};
use crate::music::{Dynamic, Sounding, Written};

/// A stretch speed is so many times a comfortable one: as much as one teacher's shortest burst is
/// faster than what he keeps up (S45, see `presets/playing/speeds.toml`).
pub(super) const STRETCH_SPEED: f64 = 1.45;
/// Beats of a bar, for how long a burst is. Most band music is in four (ours).
const BEATS_IN_A_BAR: f64 = 4.0;
/// Points of a written key at a level's comfortable and at its stretch number of accidentals. A
/// key weighs on every note of a passage, so each note pays less than for other demands; the
/// sizes are those that the linear logistic test model was proposed with (0.3 to 0.8 a cause).
const KEY: (f64, f64) = (0.3, 0.8);
/// Points of a note outside the key, below advanced and from advanced on (ours, as [`KEY`]).
const OUT_OF_KEY: (f64, f64) = (0.5, 0.3);
/// Points of full tiredness (ours).
const TIRED: f64 = 3.0;

/// The speed that a level keeps up here, notes a second.
pub(super) fn speed_limit(skill: &Skill, pitch: Sounding, context: &NoteContext) -> f64 {
    let [repeated, slurred, tongued] = skill.speeds;
    let kept_up = match context.from {
        Some(from) if from == pitch => repeated,
        _ if context.slurred => slurred,
        _ => tongued,
    };
    kept_up * burst(context)
}

/// How much faster a short run may be.
pub(super) fn burst(context: &NoteContext) -> f64 {
    burst_factor(context.run_beats, BEATS_IN_A_BAR)
}

pub(super) fn speed(skill: &Skill, pitch: Sounding, context: &NoteContext) -> f64 {
    let Some(speed) = context.speed else {
        return 0.0;
    };
    let limit = speed_limit(skill, pitch, context);
    demand_points(speed.0, limit, STRETCH_SPEED * limit)
}

/// The worse of what the level can do at all and what the note can do.
pub(super) fn dynamic(skill: &Skill, note: Written, dynamic: Dynamic) -> f64 {
    level_dynamic(skill, dynamic).max(note_dynamic(skill, note, dynamic))
}

/// Each step that the level reaches but cannot be relied on for costs as much as a comfortable
/// edge; the first step beyond what it reaches as much as a stretch edge, and further ones more.
pub(super) fn level_dynamic(skill: &Skill, dynamic: Dynamic) -> f64 {
    let Some(level) = skill.dynamics else {
        return 0.0;
    };
    let over = |a: Dynamic, b: Dynamic| a.steps().saturating_sub(b.steps()) as f64;
    let unsure = over(dynamic, level.reliable.1).max(over(level.reliable.0, dynamic));
    let beyond = over(dynamic, level.loudest).max(over(level.softest, dynamic));
    if beyond > 0.0 {
        steps_beyond(beyond, AVOID)
    } else {
        COMFORTABLE * unsure.min(2.0)
    }
}

fn steps_beyond(steps: f64, first: f64) -> f64 {
    if steps < 1.0 {
        0.0
    } else {
        first + (steps - 1.0) * (STRETCH - COMFORTABLE)
    }
}

/// What the register forbids: to be avoided below advanced, hard from advanced on.
pub(super) fn note_dynamic(skill: &Skill, note: Written, dynamic: Dynamic) -> f64 {
    let first = if skill.level < Level::Advanced {
        AVOID
    } else {
        HARD
    };
    let zones = skill.zones_of(note).map(|z| steps_out(z.rule, dynamic));
    let high = if skill.too_high_for_soft(note) {
        steps_out(LoudnessRule::NotSoft, dynamic)
    } else {
        0.0
    };
    steps_beyond(zones.fold(high, f64::max), first)
}

/// Steps by which a dynamic breaks a rule.
pub(super) fn steps_out(rule: LoudnessRule, dynamic: Dynamic) -> f64 {
    let below = |d: Dynamic| d.steps().saturating_sub(dynamic.steps()) as f64;
    let above = |d: Dynamic| dynamic.steps().saturating_sub(d.steps()) as f64;
    match rule {
        LoudnessRule::NotSoft => below(Dynamic::Mp),
        LoudnessRule::NotLoud => above(Dynamic::Mf),
        LoudnessRule::LoudOnly => below(Dynamic::Mf),
    }
}

pub(super) fn key(skill: &Skill, context: &NoteContext) -> f64 {
    let outside = match (context.in_key, skill.level < Level::Advanced) {
        (true, _) => 0.0,
        (false, true) => OUT_OF_KEY.0,
        (false, false) => OUT_OF_KEY.1,
    };
    let Some(keys) = skill.keys else {
        return outside;
    };
    let (easy, hard) = (f64::from(keys.comfortable), f64::from(keys.stretch));
    let share = (f64::from(context.accidentals) - easy) / (hard - easy).max(1.0);
    (KEY.0 + share * (KEY.1 - KEY.0)).max(0.0) + outside
}

/// Seconds against what may be planned and what can be reached.
pub(super) fn breath(limits: Option<(f64, f64)>, context: &NoteContext) -> f64 {
    limits.map_or(0.0, |(planned, longest)| {
        demand_points(context.breath, planned, longest)
    })
}

pub(super) fn tired(context: &NoteContext) -> f64 {
    if context.tired.is_nan() {
        0.0
    } else {
        TIRED * context.tired.clamp(0.0, 1.0)
    }
}
