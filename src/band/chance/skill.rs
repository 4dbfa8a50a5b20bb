//! One level on one instrument: the limits that its chances need, looked up once.

use crate::band::instrument::{Family, Instrument};
use crate::band::level::Level;
use crate::band::playing::{
    Action, Breath, HighAndSoft, LevelDynamics, LevelKeys, LoudnessZone, Posture, SlideTravel,
    high_and_soft, level_dynamics, level_keys, slide_travel,
};
use crate::music::{Dynamic, Written};

/// Where the range of an instrument has its low third (of the whole professional range, so that it
/// is the same for every level).
const LOW_THIRD: i16 = 3;

/// What one level can do on one instrument, besides its range.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Skill {
    pub level: Level,
    /// Notes a second: repeated, slurred, tongued.
    pub speeds: [f64; 3],
    /// The largest safe leap, and over the break; `None` where any leap is alike.
    pub leap: Option<f64>,
    pub leap_over_break: Option<f64>,
    pub dynamics: Option<LevelDynamics>,
    pub keys: Option<LevelKeys>,
    breath: Option<Breath>,
    /// The highest written note of the low third.
    low_third: Written,
    /// How the slide moves; `None` without one.
    pub slide: Option<SlideTravel>,
    zones: Vec<LoudnessZone>,
    /// Brass: from this written note up nothing is soft.
    not_soft_from: Option<Written>,
}

impl Skill {
    pub fn of(instrument: &Instrument, level: Level) -> Self {
        let playing = &instrument.playing;
        let (low, high) = (
            instrument.professional.low.0,
            instrument.professional.high.0,
        );
        let leaps = playing.leaps.as_ref();
        Self {
            level,
            speeds: [
                playing.speeds.repeated.at(level),
                playing.speeds.slurred.at(level),
                playing.speeds.tongued.at(level),
            ],
            leap: leaps.map(|l| f64::from(l.semitones.at(level))),
            leap_over_break: leaps
                .and_then(|l| l.over_the_break)
                .map(|l| f64::from(l.at(level))),
            dynamics: level_dynamics(level).ok(),
            keys: level_keys(level).ok(),
            breath: playing.breath,
            low_third: Written(low.saturating_add(high.saturating_sub(low) / LOW_THIRD)),
            slide: match playing.action {
                Action::Slide { .. } => slide_travel().ok(),
                _ => None,
            },
            zones: playing.loudness_zones.clone(),
            not_soft_from: high_and_soft()
                .ok()
                .and_then(|rule| not_soft_from(instrument, level, rule)),
        }
    }

    /// The zones that a written note lies in.
    pub fn zones_of(&self, note: Written) -> impl Iterator<Item = &LoudnessZone> {
        self.zones
            .iter()
            .filter(move |z| z.low <= note && note <= z.high)
    }

    /// Whether a written note is too near to the comfortable top to be soft.
    pub fn too_high_for_soft(&self, note: Written) -> bool {
        self.not_soft_from.is_some_and(|from| note >= from)
    }

    /// Seconds without a breath: what may be planned, and what can be reached. On the march what
    /// can be reached shrinks as what may be planned does.
    pub fn breath(&self, note: Written, dynamic: Dynamic, posture: Posture) -> Option<(f64, f64)> {
        self.breath_in(self.is_low(note), dynamic, posture)
    }

    /// Whether a written note lies in the low third.
    pub fn is_low(&self, note: Written) -> bool {
        note <= self.low_third
    }

    /// The same for a note of the low third, or above it.
    pub fn breath_in(&self, low: bool, dynamic: Dynamic, posture: Posture) -> Option<(f64, f64)> {
        let breath = self.breath?;
        let planned = |posture| breath.planned(self.level, dynamic, low, posture);
        let longest = breath.longest(self.level, dynamic, low);
        let share = planned(posture) / planned(Posture::Seated).max(1e-9);
        Some((planned(posture), longest * share))
    }
}

/// "No p above comfortable high minus three" begins one semitone above that note.
fn not_soft_from(instrument: &Instrument, level: Level, rule: HighAndSoft) -> Option<Written> {
    let brass = instrument.family == Family::Brass && level < rule.below;
    let top = instrument.range(level).comfortable.high.0;
    brass.then(|| Written(top - i16::from(rule.semitones) + 1))
}
