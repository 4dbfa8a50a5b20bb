//! A choir: up to four parts that move together, solved as one chain.

use super::candidates::{Around, Choice};
use super::chain::{Stage, split};
use super::costs::{self, FORBIDDEN, Milli};
use super::coverage::{Counts, MOST_TONES, Tones, weight};
use super::steps::Step;
use crate::band::{Band, PartId};
use crate::music::motion::{Parallel, Step as Move, parallel};
use crate::music::{ChordTone, Sounding};
use crate::plan::fit::ChanceCosts;

/// At most so many parts are solved together.
const MOST_PARTS: usize = 4;

/// The choirs of a band: parts in score order, choirs of more than four in halves.
#[must_use]
pub fn choirs(band: &Band) -> Vec<Vec<PartId>> {
    let mut by_choir: std::collections::BTreeMap<_, Vec<PartId>> =
        std::collections::BTreeMap::new();
    for (id, part) in band.ids() {
        by_choir.entry(part.instrument.choir).or_default().push(id);
    }
    let halves = |parts: Vec<PartId>| {
        let groups = parts.len().div_ceil(MOST_PARTS);
        let size = parts.len().div_ceil(groups.max(1));
        parts
            .chunks(size.max(1))
            .map(<[PartId]>::to_vec)
            .collect::<Vec<_>>()
    };
    by_choir.into_values().flat_map(halves).collect()
}

/// A joint state of a step with what it adds to the counts.
pub struct StepStates {
    /// The choices of every part.
    pub choices: Vec<Vec<Choice>>,
    /// The chain's stage; its joint costs are without what choirs share.
    pub stage: Stage,
}

/// The cost of the states of a step, without what choirs share.
#[must_use]
pub fn joint_costs(step: &Step, choices: &[Vec<Choice>], own: &[Vec<Milli>]) -> Vec<Milli> {
    let sizes: Vec<usize> = choices.iter().map(Vec::len).collect();
    let states = sizes.iter().product();
    let scale = weight(step);
    let cost = |state| {
        let at = split(state, &sizes);
        let alone: Milli = at.iter().enumerate().map(|(p, c)| own[p][*c]).sum();
        let picked: Vec<Choice> = at.iter().enumerate().map(|(p, c)| choices[p][*c]).collect();
        let together = f64::from(neighbours(&picked) + incomplete(step, &picked));
        (alone + (together * scale).round() as Milli).min(FORBIDDEN)
    };
    (0..states).map(cost).collect()
}

/// Order, spacing and rubs between parts that follow one another in the choir.
fn neighbours(picked: &[Choice]) -> Milli {
    let sounding: Vec<(Sounding, bool)> = picked
        .iter()
        .filter_map(|c| Some((c.sounds?, c.fixed)))
        .collect();
    let free = |w: &&[(Sounding, bool)]| !(w[0].1 && w[1].1);
    sounding
        .windows(2)
        .filter(free)
        .map(|w| pair_cost(w[0].0, w[1].0))
        .sum()
}

fn pair_cost(upper: Sounding, lower: Sounding) -> Milli {
    let distance = upper.distance(lower);
    let mut cost = 0;
    if upper < lower {
        cost += costs::CROSSING.of(1.0);
    }
    match distance {
        0 => cost += costs::UNISON.of(1.0),
        1 => cost += costs::RUB.of(1.0),
        13.. => cost += costs::GAP.of(f64::from((distance - 12).min(5))),
        _ => {}
    }
    if costs::too_low(upper.midi(), lower.midi()) {
        cost += costs::LOW_INTERVAL.of(1.0);
    }
    cost
}

/// Chord tones that the choir has the parts for but leaves out.
fn incomplete(step: &Step, picked: &[Choice]) -> Milli {
    let players = picked.iter().filter(|c| !c.fixed).count();
    if players < 2 {
        return 0;
    }
    let classes: crate::music::PitchClassSet = picked
        .iter()
        .filter_map(|c| c.sounds)
        .map(Sounding::class)
        .collect();
    let reach = step.tones.len().min(players);
    let has = classes.intersection(step.tones).len().min(reach);
    costs::CHOIR_INCOMPLETE.of((reach - has) as f64)
}

/// What a part's move from one step to the next costs.
#[must_use]
pub fn move_cost(
    most: Option<u16>,
    (before, now): (&Step, &Step),
    (around_before, around): (Around, Around),
    a: Choice,
    b: Choice,
) -> Milli {
    if most.is_some() && b.enter.is_none() && b.leave != a.leave {
        return FORBIDDEN;
    }
    if a.fixed && b.fixed {
        // A rest remembers a note that may be solved.
        let far = most.is_some_and(|m| {
            let way = a.leave.filter(|_| a.enter.is_none()).zip(b.enter);
            way.is_some_and(|(from, to)| from.to(to).size() > m)
        });
        return if far {
            costs::LEAP_INTO_FIXED.of(1.0)
        } else {
            0
        };
    }
    let mut cost = 0;
    if a.sounds.is_some() != b.sounds.is_some() {
        cost += costs::ENTRY.of(1.0);
    }
    let (Some(from), Some(to)) = (a.leave, b.enter) else {
        return cost;
    };
    if most.is_some_and(|m| from.to(to).size() > m) {
        // Into a fixed note the way may have been too far before (two locks with a rest between):
        // dear, so that no solved note is taken, but not forbidden.
        return if b.fixed {
            costs::LEAP_INTO_FIXED.of(1.0)
        } else {
            FORBIDDEN
        };
    }
    if a.sounds.is_none() || from == to {
        return cost;
    }
    cost += costs::motion(from.distance(to));
    let own = Move { from, to };
    for (was, is) in [
        (around_before.tune, around.tune),
        (around_before.bass, around.bass),
    ] {
        if let (Some(from), Some(to)) = (was, is) {
            cost += parallel_cost(own, Move { from, to });
        }
    }
    cost + seventh_cost(before, now, own)
}

/// What the way to the next note takes off its clean chance: leap, break, slide, speed. Nothing
/// between fixed notes, after a rest, and where the note stays. The second choice comes with what
/// its note costs alone.
#[must_use]
pub fn way_cost(costs: &ChanceCosts, now: &Step, a: Choice, (b, alone): (Choice, i32)) -> Milli {
    match (a.leave, b.enter) {
        (Some(from), Some(to)) if from != to && a.sounds.is_some() && !(a.fixed && b.fixed) => {
            let way = costs.way_beyond(from, to, &now.moment, alone);
            costs::CLEAN.of(f64::from(way) / 1000.0)
        }
        _ => 0,
    }
}

fn parallel_cost(own: Move, line: Move) -> Milli {
    match parallel(own, line) {
        Some(Parallel::Octaves) => costs::PARALLEL_OCTAVE.of(1.0),
        Some(Parallel::Fifths) => costs::PARALLEL_FIFTH.of(1.0),
        None => 0,
    }
}

fn seventh_cost(before: &Step, now: &Step, own: Move) -> Milli {
    let seventh = before
        .chord
        .is_some_and(|c| c.tone(own.from.class()) == Some(ChordTone::Seventh));
    let resolved = matches!(own.from.to(own.to).0, -2..=0);
    if seventh && before.chord != now.chord && !resolved {
        costs::SEVENTH.of(1.0)
    } else {
        0
    }
}

/// Adds a choir's players to the counts of a step.
pub fn add_counts(
    counts: &mut Counts,
    tones: &Tones,
    players: &[u16],
    picked: impl Iterator<Item = Choice>,
) {
    for (choice, n) in picked.zip(players) {
        let place = choice
            .sounds
            .filter(|_| !choice.fixed)
            .and_then(|p| tones.place(p.class()));
        if let Some(place) = place.filter(|p| *p < MOST_TONES) {
            counts[place] += n;
        }
    }
}

/// The joint costs of a step with what choirs share added, the other choirs held.
#[must_use]
pub fn with_shared(
    states: &StepStates,
    tones: &Tones,
    players: &[u16],
    others: &Counts,
    carried: &[bool; MOST_TONES],
) -> Vec<Milli> {
    let sizes = &states.stage.sizes;
    let all_fixed = states.choices.iter().flatten().all(|c| c.fixed);
    if all_fixed || tones.classes.is_empty() {
        return states.stage.joint.clone();
    }
    let places: Vec<Vec<Option<usize>>> = states
        .choices
        .iter()
        .map(|choices| {
            choices
                .iter()
                .map(|c| {
                    c.sounds
                        .filter(|_| !c.fixed)
                        .and_then(|p| tones.place(p.class()))
                })
                .collect()
        })
        .collect();
    let mut at = vec![0; sizes.len()];
    let mut costs = Vec::with_capacity(states.stage.joint.len());
    for joint in &states.stage.joint {
        let mut counts = *others;
        for (p, c) in at.iter().enumerate() {
            if let Some(place) = places[p][*c] {
                counts[place] += players[p];
            }
        }
        costs.push((joint + tones.cost(&counts, carried)).min(FORBIDDEN));
        advance(&mut at, sizes);
    }
    costs
}

fn advance(at: &mut [usize], sizes: &[usize]) {
    for (digit, size) in at.iter_mut().zip(sizes).rev() {
        *digit += 1;
        if *digit < *size {
            return;
        }
        *digit = 0;
    }
}
