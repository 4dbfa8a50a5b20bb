//! What choirs share: how many players each chord tone of a step has.

use super::costs::{self, Milli};
use super::steps::Step;
use crate::music::{ChordTone, PitchClass};

/// At most so many tones are told apart; a step rarely has more than five.
pub const MOST_TONES: usize = 12;

/// Players on each tone of a step, in the order of [`Tones::classes`].
pub type Counts = [u16; MOST_TONES];

/// The tones of a step with what is wanted of each.
#[derive(Clone, Debug)]
pub struct Tones {
    /// The pitch classes, C first.
    pub classes: Vec<PitchClass>,
    /// Cost if nobody plays it.
    missing: Vec<Milli>,
    /// Wanted share of the players, adding up to 1.
    wanted: Vec<f64>,
    /// Longer steps weigh more, up to two beats.
    weight: f64,
}

impl Tones {
    /// The tones of a step.
    #[must_use]
    pub fn of(step: &Step) -> Self {
        let classes: Vec<PitchClass> = step.tones.iter().collect();
        let kind = |c: &PitchClass| step.chord.and_then(|chord| chord.tone(*c));
        let kinds: Vec<Option<ChordTone>> = classes.iter().map(kind).collect();
        let wishes: Vec<f64> = kinds.iter().map(|k| wish(*k)).collect();
        let sum: f64 = wishes.iter().sum();
        Self {
            missing: kinds.iter().map(|k| missing(*k)).collect(),
            wanted: wishes.iter().map(|w| w / sum.max(1e-9)).collect(),
            classes,
            weight: weight(step),
        }
    }

    /// The place of a pitch class among the tones.
    #[must_use]
    pub fn place(&self, class: PitchClass) -> Option<usize> {
        self.classes.iter().position(|c| *c == class)
    }

    /// Cost of some counts; `carried` marks tones that tune, bass or locks sound already.
    #[must_use]
    pub fn cost(&self, counts: &Counts, carried: &[bool; MOST_TONES]) -> Milli {
        let total: u32 = counts.iter().map(|c| u32::from(*c)).sum();
        let mut cost = 0;
        let mut spread = 0.0;
        for i in 0..self.classes.len() {
            if counts[i] == 0 && !carried[i] {
                cost += self.missing[i];
            }
            let share = f64::from(counts[i]) / f64::from(total.max(1));
            spread += (share - self.wanted[i]) * (share - self.wanted[i]);
        }
        let uneven = if total == 0 {
            0
        } else {
            costs::SHARE.of(spread)
        };
        (f64::from(cost + uneven) * self.weight).round() as Milli
    }
}

/// How much a step's length makes it count: up to two beats.
#[must_use]
pub fn weight(step: &Step) -> f64 {
    step.beats.clamp(0.1, 2.0)
}

fn missing(kind: Option<ChordTone>) -> Milli {
    match kind {
        Some(ChordTone::Root) => costs::NO_ROOT.of(1.0),
        Some(ChordTone::Third | ChordTone::Suspended) => costs::NO_THIRD.of(1.0),
        Some(ChordTone::Seventh) => costs::NO_SEVENTH.of(1.0),
        Some(ChordTone::Fifth) => costs::NO_FIFTH.of(1.0),
        _ => costs::NO_OTHER.of(1.0),
    }
}

fn wish(kind: Option<ChordTone>) -> f64 {
    match kind {
        Some(ChordTone::Root) => 3.0,
        Some(ChordTone::Third | ChordTone::Suspended | ChordTone::Fifth) => 2.2,
        Some(ChordTone::Seventh | ChordTone::Sixth) => 1.4,
        _ => 1.0,
    }
}
