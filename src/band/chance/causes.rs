//! What a chance is made of, in words.

use super::context::NoteContext;
use super::demands;
use super::moves::{crossing_of, over_the_break};
use super::note::{Why, note_points};
use super::points::{Points, slide_limit, smears};
use super::scale::{AVOID, CAP, HARD, chance_of};
use super::skill::Skill;
use crate::band::instrument::Instrument;
use crate::band::playing::{LoudnessRule, Reach};
use crate::music::{Sounding, Written};
use std::fmt;

/// What makes a note harder.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum CauseKind {
    /// Its place in the range.
    Range,
    /// Its trouble spot: a note harder or worse than its neighbours.
    Trouble,
    /// The tuning of its fingering.
    Tuning,
    /// How far out the slide has to go.
    Reach,
    /// The leap into it.
    Leap,
    /// The change of the clarinets' register into it.
    Break,
    /// The way of the slide into it.
    Slide,
    /// How fast it follows.
    Speed,
    /// How loud it is.
    Dynamic,
    /// The written key.
    Key,
    /// How long since the last breath.
    Breath,
    /// How tired the player is.
    Tired,
}

impl CauseKind {
    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Range => "range",
            Self::Trouble => "trouble",
            Self::Tuning => "tuning",
            Self::Reach => "reach",
            Self::Leap => "leap",
            Self::Break => "break",
            Self::Slide => "slide",
            Self::Speed => "speed",
            Self::Dynamic => "dynamic",
            Self::Key => "key",
            Self::Breath => "breath",
            Self::Tired => "tired",
        }
    }
}

/// One cause of a chance below 0.99.
#[derive(Clone, PartialEq, Debug)]
pub struct Cause {
    /// What kind.
    pub kind: CauseKind,
    /// Log-odds that it costs, above 0.
    pub points: f64,
    /// In words.
    pub text: String,
}

impl Cause {
    /// The chance of a note that is easy but for this.
    #[must_use]
    pub fn alone(&self) -> f64 {
        chance_of(CAP - self.points)
    }
}

impl fmt::Display for Cause {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} (by itself {:.2})", self.text, self.alone())
    }
}

/// One note for one level, to be put into words.
pub(super) struct Case<'a> {
    pub instrument: &'a Instrument,
    pub skill: &'a Skill,
    pub pitch: Sounding,
    pub context: &'a NoteContext,
}

impl Case<'_> {
    /// The causes of some points, in the order of the points; those that cost nothing are left out.
    pub fn causes(&self, points: &Points) -> Vec<Cause> {
        let costs = points.0.iter().enumerate().filter(|(_, p)| **p > 0.0);
        let cause = |(place, points): (usize, &f64)| {
            let (kind, text) = self.tell(place, *points);
            Cause {
                kind,
                points: *points,
                text,
            }
        };
        costs.map(cause).collect()
    }

    fn tell(&self, place: usize, points: f64) -> (CauseKind, String) {
        match place {
            Points::NOTE => self.note(),
            Points::LEAP => (CauseKind::Leap, self.leap()),
            Points::BREAK => (CauseKind::Break, self.crossing(points)),
            Points::SLIDE => (CauseKind::Slide, self.slide()),
            Points::SPEED => (CauseKind::Speed, self.speed()),
            Points::DYNAMIC => (CauseKind::Dynamic, self.dynamic()),
            Points::KEY => (CauseKind::Key, self.key()),
            Points::BREATH => (CauseKind::Breath, self.breath()),
            _ => (CauseKind::Tired, "tired lips".to_owned()),
        }
    }

    fn written(&self, pitch: Sounding) -> Written {
        self.instrument.transposition.written(pitch)
    }

    /// "second-year players".
    fn players(&self) -> String {
        format!("{} players", self.skill.level)
    }

    fn note(&self) -> (CauseKind, String) {
        let written = self.written(self.pitch);
        let (_, why) = note_points(
            self.instrument,
            self.skill.level,
            written,
            self.context.posture,
        );
        match why {
            Why::Spot(spot) => (CauseKind::Trouble, format!("{written}: {}", spot.issue)),
            Why::Tuning(cents) => (
                CauseKind::Tuning,
                format!(
                    "{written}, {}: {} by {:.0} cents",
                    self.fingering(written),
                    side(cents),
                    cents.abs()
                ),
            ),
            Why::Reach(reach) => {
                let how = match reach {
                    Reach::OutOfReach => "out of reach",
                    _ => "reached with care",
                };
                let text = format!(
                    "{written}, {}: {how} for {}",
                    self.fingering(written),
                    self.players()
                );
                (CauseKind::Reach, text)
            }
            Why::Range(level) => {
                let range = self.instrument.range(level);
                let (easy, hard) = (range.comfortable, range.stretch);
                let from_top = i32::from(easy.high.0) - i32::from(written.0);
                let from_bottom = i32::from(written.0) - i32::from(easy.low.0);
                let (side, easy, hard) = if from_top <= from_bottom {
                    ("top", easy.high, hard.high)
                } else {
                    ("bottom", easy.low, hard.low)
                };
                let beyond = -from_top.min(from_bottom);
                let outside = !(range.stretch.low <= written && written <= range.stretch.high);
                let text = match beyond {
                    _ if outside => format!(
                        "{written} lies beyond {hard}, the {side} that {} can reach",
                        self.players()
                    ),
                    1.. => format!(
                        "{written} lies beyond {easy}, the {side} that {} may be relied on for",
                        self.players()
                    ),
                    0 => format!(
                        "{written} is the {side} that {} may be relied on for",
                        self.players()
                    ),
                    _ => format!(
                        "{written} lies near {easy}, the {side} that {} may be relied on for",
                        self.players()
                    ),
                };
                (CauseKind::Range, text)
            }
        }
    }

    fn fingering(&self, written: Written) -> String {
        let known = self.instrument.playing.action.fingering(written);
        known.unwrap_or_else(|| "no usual fingering".to_owned())
    }

    fn from(&self) -> Option<Written> {
        self.context.from.map(|p| self.written(p))
    }

    fn leap(&self) -> String {
        let Some(from) = self.from() else {
            return String::new();
        };
        let size = from.0.abs_diff(self.written(self.pitch).0);
        let most = self.skill.leap.unwrap_or_default();
        format!(
            "a leap of {size} semitones from {from}; {} leap {most} safely",
            self.players()
        )
    }

    fn crossing(&self, points: f64) -> String {
        let Some(from) = self.from() else {
            return String::new();
        };
        let to = self.written(self.pitch);
        let over = over_the_break(self.instrument, from, to);
        let kind = match crossing_of(self.instrument, from, to) {
            Some(crossing) => crossing.kind.as_str(),
            None => "leap over the break",
        };
        let many = if over && self.context.crossings > 2.0 {
            ", to and fro in quick succession"
        } else {
            ""
        };
        let how = match points {
            p if p >= AVOID => "to be avoided",
            p if p >= HARD => "hard",
            _ => "some care",
        };
        format!("{kind}, from {from}{many}: {how} for {}", self.players())
    }

    fn slide(&self) -> String {
        let Some(from) = self.from() else {
            return String::new();
        };
        let travel =
            super::moves::way(self.instrument, self.skill, from, self.written(self.pitch)).travel;
        let travel = travel.unwrap_or_default();
        if smears(self.skill, travel, self.context) {
            format!("the slide goes {travel:.0} positions from {from} within a slur")
        } else {
            let limit = slide_limit(self.skill, self.context).unwrap_or_default();
            format!(
                "the slide goes {travel:.0} positions from {from}; {} make {limit:.1} a second",
                self.players()
            )
        }
    }

    fn speed(&self) -> String {
        let speed = self.context.speed.map_or(0.0, |s| s.0);
        let limit = demands::speed_limit(self.skill, self.pitch, self.context);
        format!(
            "{speed:.1} notes a second; {} play {limit:.1}",
            self.players()
        )
    }

    fn dynamic(&self) -> String {
        let (note, dynamic) = (self.written(self.pitch), self.context.dynamic);
        let of_note = demands::note_dynamic(self.skill, note, dynamic);
        if of_note < demands::level_dynamic(self.skill, dynamic) || of_note <= 0.0 {
            return format!("{dynamic} is no sure dynamic of {}", self.players());
        }
        let rule = self
            .skill
            .zones_of(note)
            .find(|z| demands::steps_out(z.rule, dynamic) > 0.0);
        let why = match rule.map(|z| z.rule) {
            Some(LoudnessRule::NotSoft) => "does not speak softly",
            Some(LoudnessRule::NotLoud) => "cannot be loud",
            Some(LoudnessRule::LoudOnly) => "comes out only when loud",
            None => "is high for a soft note",
        };
        format!("{note} {why}: {dynamic}")
    }

    fn key(&self) -> String {
        let signs = self.context.accidentals;
        let many = if signs == 1 {
            "sharp or flat"
        } else {
            "sharps or flats"
        };
        let key = format!("a written key of {signs} {many}");
        if self.context.in_key {
            key
        } else {
            let note = self.written(self.pitch);
            format!("{note} is outside the key, {key}")
        }
    }

    fn breath(&self) -> String {
        let note = self.written(self.pitch);
        let limits = self
            .skill
            .breath(note, self.context.dynamic, self.context.posture);
        let planned = limits.map_or(0.0, |l| l.0);
        let seconds = self.context.breath;
        format!(
            "{seconds:.1} seconds in one breath; {planned:.1} may be planned for {}",
            self.players()
        )
    }
}

const fn side(cents: f64) -> &'static str {
    if cents > 0.0 { "sharp" } else { "flat" }
}
