//! How loud each part is written where a timeline says how intense the show is wanted: as loud together as it asks, the
//! tune over what accompanies it, nobody softer or louder than their players reliably are.

use super::{Problem, Scope};
use crate::band::loudness::{Decibels, Situation, full_level, part_level, target, wanted_level};
use crate::band::playing::level_dynamics;
use crate::band::{Level, Part, PartId};
use crate::music::{Dynamic, Sounding, Tick};
use crate::plan::PassagePlan;
use crate::plan::shaped::velocity_of;
use crate::plan::timeline::Laid;
use crate::score::{Draft, DraftNote, Role};
use std::collections::BTreeMap;

/// What is written louder or softer together.
const GROUPS: [Role; 5] = [
    Role::Melody,
    Role::Counterline,
    Role::Figure,
    Role::Harmony,
    Role::Bass,
];
/// By so many steps of dynamics the whole may be written softer or louder than the curve alone says.
const WHOLE: std::ops::RangeInclusive<i32> = -3..=3;
/// And one group against the others.
const APART: std::ops::RangeInclusive<i32> = -2..=1;
/// All steps that come of both.
const STEPS: std::ops::RangeInclusive<i32> = -5..=4;
/// How many they are.
const COUNT: usize = 10;
/// A dynamic is so much velocity from the next ([`Dynamic::velocity`]).
pub(super) const A_STEP: i32 = 16;
/// What a decibel is worth that the whole is louder or softer than wanted, in points (ours).
const OFF_LEVEL: f64 = 1.0;
/// What a decibel is worth that the tune lacks to what is good for it (ours).
const LACKS: f64 = 0.5;
/// What a step of the whole costs, and one of a group against the others: without need nothing is written otherwise
/// than the curve says (ours).
const WHOLE_STEP: f64 = 0.3;
const APART_STEP: f64 = 0.8;
/// More than so many decibels are not missed (ours, as in the plan).
const MOST: f64 = 20.0;

/// How loud the groups of a passage are written against the curve, in steps of dynamics.
#[derive(Clone, Copy, Default)]
pub(super) struct Written {
    /// The whole.
    pub(super) whole: i32,
    /// Each group against the whole, in the order of [`GROUPS`].
    pub(super) groups: [i32; 5],
}

impl Written {
    pub(super) fn of(self, group: usize) -> i32 {
        self.whole + self.groups[group]
    }
}

/// Writes a draft as loud as a timeline wants it; locked notes stay, and so does what lies outside a scope, where one
/// is given.
pub fn write_loud(
    problem: &Problem<'_>,
    timeline: &Laid,
    draft: &mut Draft,
    scope: Option<&Scope>,
) {
    let mut levels = Levels::default();
    let full = full_level(problem.band);
    let reaches: Vec<Reach> = problem.band.parts.iter().map(Reach::of).collect();
    for planned in &problem.plan.passages {
        let Some(wanted) = timeline.mean(planned.passage.start, planned.passage.end) else {
            continue;
        };
        let sounds = Sounds::of(problem, timeline, (draft, planned), (&reaches, &mut levels));
        let chosen = sounds.best(wanted_level(full, wanted));
        let parts = (&reaches[..], scope);
        set(problem, timeline, (draft, planned), parts, chosen);
    }
}

pub(super) fn group(role: Role) -> Option<usize> {
    GROUPS.iter().position(|g| *g == role)
}

/// What a note's velocity is by the curve alone: the wanted intensity where it begins, and what its line plays
/// louder or softer than the rest of its bar.
pub(super) fn by_the_curve(problem: &Problem<'_>, timeline: &Laid, note: &DraftNote) -> i32 {
    let line = problem.lines.of_role(note.role);
    let of_line = line
        .and_then(|l| l.at(note.onset))
        .map(|n| i32::from(n.velocity));
    let wanted = || {
        timeline
            .at(note.onset)
            .map(|i| velocity_of(i).round() as i32)
    };
    of_line.or_else(wanted).unwrap_or(i32::from(note.velocity))
}

/// How softly and how loudly the weakest players of a part reliably play, as velocities.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    pub(super) low: i32,
    pub(super) high: i32,
}

impl Reach {
    pub(super) fn of(part: &Part) -> Self {
        let level = part.players.weakest().unwrap_or(Level::Intermediate);
        // The built-in table reads; a test shows it.
        let (soft, loud) =
            level_dynamics(level).map_or((Dynamic::Pp, Dynamic::Fff), |l| l.reliable);
        Self {
            low: i32::from(soft.velocity()),
            high: i32::from(loud.velocity()),
        }
    }

    pub(super) fn velocity(self, by_curve: i32, step: i32) -> u8 {
        let loud = (by_curve + A_STEP * step).clamp(self.low, self.high);
        loud.clamp(1, 127) as u8
    }
}

/// The power of a part's note, looked up once for each pitch and dynamic.
#[derive(Default)]
pub(super) struct Levels(BTreeMap<(PartId, Sounding, usize), f64>);

impl Levels {
    fn power(&mut self, (id, part): (PartId, &Part), pitch: Sounding, velocity: u8) -> f64 {
        let dynamic = Dynamic::of_velocity(velocity);
        let entry = self.0.entry((id, pitch, dynamic.steps()));
        *entry.or_insert_with(|| part_level(part, pitch, dynamic).map_or(0.0, Decibels::power))
    }
}

/// What sounds in a passage: energy by group and step, of what is free and of what is locked.
pub(super) struct Sounds {
    free: [[f64; COUNT]; 5],
    locked: [f64; 5],
    /// How long the passage is, in ticks.
    ticks: f64,
}

impl Sounds {
    pub(super) fn of(
        problem: &Problem<'_>,
        timeline: &Laid,
        (draft, planned): (&Draft, &PassagePlan),
        (reaches, levels): (&[Reach], &mut Levels),
    ) -> Self {
        let (start, end) = (planned.passage.start, planned.passage.end);
        let mut sounds = Self {
            free: [[0.0; COUNT]; 5],
            locked: [0.0; 5],
            ticks: end.since(start).0.max(1) as f64,
        };
        for line in &draft.lines {
            let part = problem
                .band
                .parts
                .get(line.part.0)
                .zip(reaches.get(line.part.0));
            let Some((part, reach)) = part else {
                continue;
            };
            for note in begun(&line.notes, start, end) {
                let Some(group) = group(note.role) else {
                    continue;
                };
                let ticks = note.duration.0 as f64;
                let mut energy = |v| ticks * levels.power((line.part, part), note.pitch, v);
                if note.locked {
                    sounds.locked[group] += energy(note.velocity);
                    continue;
                }
                let curve = by_the_curve(problem, timeline, note);
                for (sum, step) in sounds.free[group].iter_mut().zip(STEPS) {
                    *sum += energy(reach.velocity(curve, step));
                }
            }
        }
        sounds
    }

    fn energy(&self, group: usize, step: i32) -> f64 {
        let at = usize::try_from(step - STEPS.start()).unwrap_or_default();
        self.locked[group] + self.free[group].get(at).copied().unwrap_or_default()
    }

    fn plays(&self, group: usize) -> bool {
        self.free[group].iter().any(|e| *e > 0.0)
    }

    /// What it costs to write the passage so.
    fn cost(&self, written: Written, wanted: Decibels, good: f64) -> f64 {
        let energies: [f64; 5] = std::array::from_fn(|g| self.energy(g, written.of(g)));
        let all: f64 = energies.iter().sum();
        let level = Decibels::of_power(all / self.ticks);
        let off = (level.0 - wanted.0).abs().min(MOST);
        let off = if off.is_nan() { 0.0 } else { off };
        let rest: f64 = energies.iter().skip(1).sum();
        let lacks = if energies[0] > 0.0 && rest > 0.0 {
            let over = Decibels::of_power(energies[0]).above(Decibels::of_power(rest));
            (good - over.0).clamp(0.0, MOST)
        } else {
            0.0
        };
        let apart: i32 = written.groups.iter().map(|s| s.abs()).sum();
        OFF_LEVEL * off
            + LACKS * lacks
            + WHOLE_STEP * f64::from(written.whole.abs())
            + APART_STEP * f64::from(apart)
    }

    /// The cheapest way to write it, of all there are; of equals the first.
    pub(super) fn best(&self, wanted: Decibels) -> Written {
        // On top in a colour of its own is the least that is asked; the plan saw to how the tune lies.
        let good = target(Situation::OnTop).map_or(0.0, |t| t.good);
        let mut best = (f64::INFINITY, Written::default());
        let may = |group: usize| if self.plays(group) { APART } else { 0..=0 };
        for whole in WHOLE {
            for (tune, counter, figure, harmony, bass) in
                itertools::iproduct!(may(0), may(1), may(2), may(3), may(4))
            {
                let written = Written {
                    whole,
                    groups: [tune, counter, figure, harmony, bass],
                };
                let cost = self.cost(written, wanted, good);
                if cost < best.0 {
                    best = (cost, written);
                }
            }
        }
        best.1
    }
}

/// The notes that begin in a stretch.
fn begun(notes: &[DraftNote], start: Tick, end: Tick) -> &[DraftNote] {
    let from = notes.partition_point(|n| n.onset < start);
    let to = notes.partition_point(|n| n.onset < end);
    notes.get(from..to).unwrap_or(&[])
}

fn set(
    problem: &Problem<'_>,
    timeline: &Laid,
    (draft, planned): (&mut Draft, &PassagePlan),
    (reaches, scope): (&[Reach], Option<&Scope>),
    written: Written,
) {
    let (start, end) = (planned.passage.start, planned.passage.end);
    for line in &mut draft.lines {
        let Some(reach) = reaches.get(line.part.0) else {
            continue;
        };
        let from = line.notes.partition_point(|n| n.onset < start);
        let to = line.notes.partition_point(|n| n.onset < end).max(from);
        let part = line.part;
        let may = |n: &DraftNote| scope.is_none_or(|s| s.covers(part, n.onset, n.end()));
        for note in &mut line.notes[from..to] {
            if note.locked || !may(note) {
                continue;
            }
            let Some(group) = group(note.role) else {
                continue;
            };
            let curve = by_the_curve(problem, timeline, note);
            note.velocity = reach.velocity(curve, written.of(group));
        }
    }
}
