//! A choir: up to four parts that move together, solved as one chain.

use super::alike::Alike;
use super::candidates::Choice;
use super::note_cost::unclear;
use super::steps::Step;
use super::terms::{FORBIDDEN, Milli, Sum, Tally, Term, Weights};
use crate::band::{Band, PartId};
use crate::music::{ChordTone, PitchClass, PitchClassSet, Quality, Sounding};

/// At most so many parts are solved together.
const MOST_PARTS: usize = 4;

/// The choirs of a band: parts in score order, choirs of more than four in halves.
#[must_use]
pub fn choirs(band: &Band) -> Vec<Vec<PartId>> {
    let mut by_choir = band.choirs();
    by_choir.sort_by_key(|(choir, _)| *choir);
    let halves = |parts: Vec<PartId>| {
        let groups = parts.len().div_ceil(MOST_PARTS);
        let size = parts.len().div_ceil(groups.max(1));
        parts
            .chunks(size.max(1))
            .map(<[PartId]>::to_vec)
            .collect::<Vec<_>>()
    };
    by_choir
        .into_iter()
        .flat_map(|(_, parts)| halves(parts))
        .collect()
}

/// The cost of every joint state of a step; `own` is what each part's choices cost by themselves.
#[must_use]
pub fn joint_costs(
    step: &Step,
    choices: &[Vec<Choice>],
    own: &[Vec<Milli>],
    weights: &Weights,
) -> Vec<Milli> {
    let sizes: Vec<usize> = choices.iter().map(Vec::len).collect();
    let states: usize = sizes.iter().product();
    let pairs = PairCosts::of(step, choices, weights);
    let tones = choices
        .iter()
        .map(|own| own.iter().map(|c| (c.sounds.map(Sounding::class), c.fixed)));
    let alike = Alike::of(tones.map(Iterator::collect));
    let mut of_tones: Vec<Option<Milli>> = vec![None; alike.count()];
    let mut at = vec![0; sizes.len()];
    let mut costs = Vec::with_capacity(states);
    let mut picked: Vec<Choice> = Vec::with_capacity(sizes.len());
    for _ in 0..states {
        picked.clear();
        let mut cost: i64 = 0;
        for (p, c) in at.iter().enumerate() {
            cost += i64::from(own[p][*c]);
            picked.push(choices[p][*c]);
        }
        cost += i64::from(pairs.cost(&at));
        let same = of_tones[alike.state(&at)].get_or_insert_with(|| {
            let mut sum = Sum::new(weights);
            tell_tones(step, &picked, &mut sum);
            sum.milli
        });
        cost += i64::from(*same);
        let mut sum = Sum::new(weights);
        tell_gaps(step, &picked, &mut sum);
        cost += i64::from(sum.milli);
        costs.push(cost.clamp(0, i64::from(FORBIDDEN)) as Milli);
        super::chain::advance(&mut at, &sizes);
    }
    costs
}

/// What pairs of parts cost, looked up.
struct PairCosts {
    /// For each part, whether each choice sounds.
    sounds: Vec<Vec<bool>>,
    /// For parts `a < b`: the cost of neighbours, at `choice of a * size of b + choice of b`.
    neighbours: Vec<Vec<Vec<Milli>>>,
    sizes: Vec<usize>,
}

impl PairCosts {
    fn of(step: &Step, choices: &[Vec<Choice>], weights: &Weights) -> Self {
        let table = |a: usize, b: usize| {
            let pairs = choices[a]
                .iter()
                .flat_map(|x| choices[b].iter().map(move |y| (x, y)));
            let cost = |(x, y): (&Choice, &Choice)| {
                let mut sum = Sum::new(weights);
                tell_pair(step, *x, *y, &mut sum);
                sum.milli
            };
            pairs.map(cost).collect()
        };
        let row = |a| {
            (0..choices.len())
                .map(|b| if a < b { table(a, b) } else { Vec::new() })
                .collect()
        };
        Self {
            sounds: choices
                .iter()
                .map(|c| c.iter().map(|c| c.sounds.is_some()).collect())
                .collect(),
            neighbours: (0..choices.len()).map(row).collect(),
            sizes: choices.iter().map(Vec::len).collect(),
        }
    }

    /// The pairs of neighbours of a state: parts between them rest.
    fn cost(&self, at: &[usize]) -> Milli {
        let mut cost = 0;
        let mut upper: Option<usize> = None;
        for (p, c) in at.iter().enumerate().filter(|(p, c)| self.sounds[*p][**c]) {
            if let Some(u) = upper {
                cost += self.neighbours[u][p][at[u] * self.sizes[p] + c];
            }
            upper = Some(p);
        }
        cost
    }
}

/// Tells the terms of a choir's state that are about several parts: neighbours and the chord.
pub fn tell_state(step: &Step, picked: &[Choice], tally: &mut impl Tally) {
    let sounding: Vec<Choice> = picked
        .iter()
        .copied()
        .filter(|c| c.sounds.is_some())
        .collect();
    for pair in sounding.windows(2) {
        tell_pair(step, pair[0], pair[1], tally);
    }
    tell_tones(step, picked, tally);
    tell_gaps(step, picked, tally);
}

/// Order, spacing and rubs between two parts that follow one another in the choir.
fn tell_pair(step: &Step, upper: Choice, lower: Choice, tally: &mut impl Tally) {
    let (Some(high), Some(low)) = (upper.sounds, lower.sounds) else {
        return;
    };
    if upper.fixed && lower.fixed {
        return;
    }
    let beats = step.weight();
    let distance = high.distance(low);
    let apart = f64::from(distance);
    if high < low {
        tally.add(Term::Crossing, beats);
    }
    match distance {
        0 => tally.add(Term::Unison, beats),
        1 => tally.add(Term::Rub, beats),
        13.. => tally.add(Term::Gap, (apart - 12.0).min(5.0) * beats),
        _ => {}
    }
    if distance == 13 {
        tally.add(Term::MinorNinth, beats);
    }
    tally.add(Term::Open, (apart - 5.0).clamp(0.0, 7.0) * beats);
    tally.add(Term::Close, (7.0 - apart).max(0.0) * beats);
    tally.add(Term::Narrow, (10.0 - apart).max(0.0) * beats);
    tally.add(Term::LowInterval, unclear(high, low) * beats);
    if high.min(low).midi() < C3 && (1..7).contains(&distance) {
        tally.add(Term::LowClose, beats);
    }
}

const C3: u8 = 48;

/// What the choir's chord costs: tones that it leaves out, and tones that it has too often.
/// It follows from the pitch classes alone, and from who is free.
fn tell_tones(step: &Step, picked: &[Choice], tally: &mut impl Tally) {
    let free = || picked.iter().filter(|c| !c.fixed);
    let players = free().count();
    if players < 2 {
        return;
    }
    let beats = step.weight();
    let sounding = || picked.iter().filter_map(|c| c.sounds);
    let classes: PitchClassSet = sounding().map(Sounding::class).collect();
    let reach = step.tones.len().min(players);
    let has = classes.intersection(step.tones).len().min(reach);
    tally.add(Term::ChoirIncomplete, (reach - has) as f64 * beats);
    // A note that a line or lock fixes is not doubled by choice, so only free notes count beyond it.
    let twice = |class: PitchClass| {
        let all = sounding().filter(|p| p.class() == class).count();
        let own = free()
            .filter(|c| c.sounds.is_some_and(|p| p.class() == class))
            .count();
        all.saturating_sub(1).min(own) as f64
    };
    for class in classes.intersection(step.tones).iter() {
        let extra = twice(class);
        if let Some(term) = doubled(step, class).filter(|_| extra > 0.0) {
            tally.add(term, extra * beats);
        }
    }
}

/// What it is to have a tone twice.
fn doubled(step: &Step, class: PitchClass) -> Option<Term> {
    if step.leading == Some(class) {
        return Some(Term::LeadingDoubled);
    }
    let chord = step.chord?;
    match chord.tone(class)? {
        ChordTone::Seventh => Some(Term::SeventhDoubled),
        ChordTone::Fifth if chord.root.up_to(class) != 7 => match chord.quality {
            // In a diminished triad the third is doubled best, then the fifth.
            Quality::Diminished => Some(Term::FifthDoubled),
            _ => Some(Term::SeventhDoubled),
        },
        ChordTone::Fifth => Some(Term::FifthDoubled),
        ChordTone::Third if chord.root.up_to(class) == 4 => Some(Term::ThirdDoubled),
        _ => None,
    }
}

/// Gaps between three neighbours that are wider above than below, as no chord of nature is.
fn tell_gaps(step: &Step, picked: &[Choice], tally: &mut impl Tally) {
    if picked.iter().filter(|c| !c.fixed).count() < 2 {
        return;
    }
    let beats = step.weight();
    let mut above: Option<Sounding> = None;
    let mut wider: Option<u8> = None;
    for choice in picked.iter().filter(|c| c.sounds.is_some()) {
        let Some(pitch) = choice.sounds else { continue };
        if let Some(upper) = above {
            let gap = upper.distance(pitch);
            if wider.is_some_and(|w| w > gap + 2) && !choice.fixed {
                tally.add(Term::WideOnTop, beats);
            }
            wider = Some(gap);
        }
        above = Some(pitch);
    }
}
