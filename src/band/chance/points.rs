//! All points of one note for one level, in one fixed order, however they were looked up.

use super::context::NoteContext;
use super::demands;
use super::moves::Way;
use super::scale::{CAP, HARD, chance_of, demand_points};
use super::skill::Skill;
use crate::band::playing::SlideTravel;
use crate::music::Sounding;

/// What is looked up for a note before its points can be added.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Looked {
    /// Points of the note by itself.
    pub note: f64,
    /// The way from the note before.
    pub way: Option<Way>,
    /// Points of the dynamic.
    pub dynamic: f64,
    /// Seconds of breath planned and reached.
    pub breath: Option<(f64, f64)>,
}

/// Points of the note itself, leap, break, slide, speed, dynamic, key, breath, tiredness.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Points(pub [f64; 9]);

impl Points {
    pub const NOTE: usize = 0;
    pub const LEAP: usize = 1;
    pub const BREAK: usize = 2;
    pub const SLIDE: usize = 3;
    pub const SPEED: usize = 4;
    pub const DYNAMIC: usize = 5;
    pub const KEY: usize = 6;
    pub const BREATH: usize = 7;

    pub fn of(skill: &Skill, pitch: Sounding, looked: &Looked, context: &NoteContext) -> Self {
        let way = looked.way.unwrap_or_default();
        let speed = demands::speed(skill, pitch, context);
        Self([
            looked.note,
            way.leap,
            way.crossing_in(context),
            slide(skill, way.travel, speed, context),
            speed,
            looked.dynamic,
            demands::key(skill, context),
            demands::breath(looked.breath, context),
            demands::tired(context),
        ])
    }

    /// Whether the way to the note costs nothing.
    pub fn is_easy_way(&self) -> bool {
        let way = [Self::LEAP, Self::BREAK, Self::SLIDE, Self::SPEED];
        way.into_iter().all(|place| self.0[place] <= 0.0)
    }

    /// The chance that they leave.
    pub fn chance(&self) -> f64 {
        chance_of(CAP - self.0.iter().sum::<f64>())
    }
}

/// What the slide costs beyond what the speed costs already: the speeds of slide instruments are
/// lower because of the slide, so that of the two only the worse counts.
fn slide(skill: &Skill, travel: Option<f64>, speed: f64, context: &NoteContext) -> f64 {
    let (Some(travel), Some(limit)) = (travel, slide_limit(skill, context)) else {
        return 0.0;
    };
    let rate = context.speed.map_or(0.0, |s| travel * s.0);
    let moving = demand_points(rate, limit, demands::STRETCH_SPEED * limit);
    let smear = if smears(skill, travel, context) {
        HARD
    } else {
        0.0
    };
    (moving.max(smear) - speed).max(0.0)
}

/// Positions a second that a level keeps up here; `None` without a slide.
pub(super) fn slide_limit(skill: &Skill, context: &NoteContext) -> Option<f64> {
    let kept_up = skill.slide?.positions_a_second.at(skill.level);
    Some(kept_up * demands::burst(context))
}

/// Whether the way smears between slurred notes.
pub(super) fn smears(skill: &Skill, travel: f64, context: &NoteContext) -> bool {
    let too_far = |s: SlideTravel| skill.level < s.legato_from && travel > s.legato_smears_over;
    context.slurred && skill.slide.is_some_and(too_far)
}
