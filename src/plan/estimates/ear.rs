//! How a tune is heard through all else, by the bands of the ear.

use super::powers::Powers;
use crate::band::loudness::{Decibels, LISTENED, Partial, excitation, tone};
use crate::band::{Band, Part};
use crate::music::{Dynamic, Sounding};
use crate::plan::solve::PartRole;
use crate::score::Role;

/// Bands of the ear, one Bark each (ours: fine enough beside the 27 dB a Bark at which tones stop
/// covering).
pub(super) const BANDS: usize = 25;
/// So many partials must rise above what covers them, and the best by so many dB, as for a reviewer
/// (ours, no source).
const ENOUGH: usize = 3;
const CLEARLY: f64 = 6.0;
/// More is not told apart.
const MOST: f64 = 60.0;

/// A note of a part as the ear has it.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct EarTone {
    /// Power that it excites in each band.
    excites: [f64; BANDS],
    /// Its lowest partials: the band of each, and its level in dB.
    partials: [(usize, f64); LISTENED],
    count: usize,
    /// Its sound power.
    power: f64,
}

impl EarTone {
    /// `None` for what is silent or left out of balance.
    pub fn of(part: &Part, pitch: Sounding, dynamic: Dynamic) -> Option<Self> {
        // The built-in table reads; a test shows it.
        let tone = tone(part, pitch, dynamic).ok()??;
        let excited = |band: usize| -> f64 {
            let maskers = tone.partials.iter();
            let each = maskers.map(|(p, _)| Decibels(excitation(*p, middle(band))).power());
            each.sum()
        };
        let mut partials = [(0, 0.0); LISTENED];
        for (kept, (Partial { level, .. }, place)) in partials.iter_mut().zip(&tone.partials) {
            *kept = (band(*place), *level);
        }
        Some(Self {
            excites: std::array::from_fn(excited),
            partials,
            count: tone.partials.len().min(LISTENED),
            power: tone.level.power(),
        })
    }
}

fn middle(band: usize) -> f64 {
    band as f64 + 0.5
}

fn band(bark: f64) -> usize {
    (bark.max(0.0) as usize).min(BANDS - 1)
}

/// By how many dB the tune of some roles is heard through all else: 0 and more where it would count as
/// heard (three partials of one part rise above what covers them, the best by 6 dB), else by how much it
/// falls short. Between -60 and 60; -60 where nobody carries it.
///
/// One middle note stands for a whole line, so take it as a hint: the reviewer looks at every moment.
#[must_use]
pub fn heard_by(band: &Band, powers: &Powers, roles: &[PartRole]) -> Decibels {
    let tone = |part: usize, role: PartRole| {
        let (pitch, dynamic) = powers.middle(part, role)?;
        EarTone::of(band.parts.get(part)?, pitch, dynamic)
    };
    let mut covered = [0.0; BANDS];
    let others = roles.iter().enumerate();
    for (part, role) in others.filter(|(_, r)| r.role != Role::Melody) {
        let Some(ear) = tone(part, *role) else {
            continue;
        };
        let sound = powers.sound(part, *role);
        let scale = sound.power / ear.power * sound.share;
        for (sum, excited) in covered.iter_mut().zip(ear.excites) {
            *sum += scale * excited;
        }
    }
    let covered = covered.map(|power| Decibels::of_power(power).0);
    let mut best = -MOST;
    let tune = roles.iter().enumerate();
    for (part, role) in tune.filter(|(_, r)| r.role == Role::Melody) {
        let Some(ear) = tone(part, *role) else {
            continue;
        };
        let louder = Decibels::of_power(powers.sound(part, *role).power / ear.power).0;
        best = f64::max(best, heard_over(&ear, louder, &covered));
    }
    Decibels(best.clamp(-MOST, MOST))
}

fn heard_over(ear: &EarTone, louder: f64, covered: &[f64; BANDS]) -> f64 {
    let listened = ear.partials.iter().take(ear.count);
    let mut over: Vec<f64> = listened
        .map(|(band, level)| level + louder - covered[*band])
        .collect();
    over.sort_by(|a, b| b.total_cmp(a));
    match (over.first(), over.get(ENOUGH - 1)) {
        (Some(best), Some(last)) => (best - CLEARLY).min(*last),
        _ => -MOST,
    }
}
