//! What every other choice of a choir would cost, exactly: the cheapest paths to each state of its
//! chain and on from it, the other choirs held as they are.

use crate::music::Sounding;
use crate::voicing::candidates::Choice;
use crate::voicing::chain::{Stage, add, arrive, depart, lift, split, way_between};
use crate::voicing::stretch::{ChoirChain, ChoirStage};
use crate::voicing::terms::{FORBIDDEN, Milli};
use std::ops::Range;

/// A choir over a stretch with the cheapest paths to and from every state.
pub(super) struct Marginals {
    chain: ChoirChain,
    /// The stretch's first step.
    start: usize,
    /// What is in the draft.
    path: Vec<usize>,
    /// What every state costs by itself, with what choirs share.
    joint: Vec<Vec<Milli>>,
    /// The least cost of coming to each state, its own included.
    to: Vec<Vec<Milli>>,
    /// The least cost of going on from each state, its own left out.
    on: Vec<Vec<Milli>>,
    /// Up to which step the draft is a cheapest way to its own state, and from which one on it is a
    /// cheapest way on.
    led: usize,
    leads: usize,
    /// What the draft costs beyond the cheapest path.
    excess: i64,
}

/// What a note, or a rest, would cost beside the draft.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Marginal {
    /// The note; `None`: a rest.
    pub sounds: Option<Sounding>,
    /// Thousandths of a point more than the draft; `None` where no path leads through it.
    pub more: Option<i64>,
    /// The state that the cheapest path goes through.
    state: usize,
}

/// Where what a part does stands among its choices. A draft that was looked into again tells what sounds; what
/// is remembered over a rest, `before` knows.
fn place(all: &[Choice], now: &Choice, before: Option<&Choice>) -> Option<usize> {
    let seen = |c: &Choice| (c.fixed, c.sounds, c.enter);
    let alike = |c: &Choice| seen(c) == seen(now);
    let goes_on = |c: &Choice| {
        let memory = before.map(|b| (b.leave, b.anchored));
        alike(c) && c.enter.is_none() && Some((c.leave, c.anchored)) == memory
    };
    let same = all.iter().position(|c| c == now);
    same.or_else(|| all.iter().position(goes_on))
        .or_else(|| all.iter().position(alike))
}

/// What is in the draft, as the states of a choir; `None` where something of it is not among them.
fn drafted_path(chain: &ChoirChain, chosen: &[Vec<Choice>]) -> Option<Vec<usize>> {
    let mut before: Vec<Option<Choice>> = vec![None; chain.parts.len()];
    let state = |(stage, now): (&ChoirStage, &Vec<Choice>)| {
        let mut at = Vec::with_capacity(chain.parts.len());
        let parts = chain.parts.iter().zip(&stage.choices).zip(&mut before);
        for ((id, all), before) in parts {
            let here = place(all, now.get(id.0)?, before.as_ref())?;
            *before = all.get(here).copied();
            at.push(here);
        }
        Some(state_of(&at, &stage.stage.sizes))
    };
    chain.stages.iter().zip(chosen).map(state).collect()
}

impl Marginals {
    /// The paths of a choir from some step on. `joint` is what every state costs with what choirs
    /// share; `chosen` what the draft has. `None` where the draft is not among the states.
    pub fn new(
        chain: ChoirChain,
        start: usize,
        mut joint: Vec<Vec<Milli>>,
        chosen: &[Vec<Choice>],
    ) -> Option<Self> {
        if let Some(first) = joint.first_mut() {
            add(first, &chain.lead);
        }
        let path = drafted_path(&chain, chosen.get(start..)?);
        let stages: Vec<&Stage> = chain.stages.iter().map(|s| &s.stage).collect();
        let (to, least) = ways_to(&stages, &joint);
        let on = ways_on(&stages, &joint);
        let mut own = Self {
            path: path?,
            led: 0,
            leads: 0,
            excess: 0,
            chain,
            start,
            joint,
            to,
            on,
        };
        own.excess = own.path_cost(&own.path) - least;
        own.settle();
        Some(own)
    }

    /// What the draft costs more than the cheapest path of the choir, in thousandths of a point.
    pub const fn excess(&self) -> i64 {
        self.excess
    }

    /// What the choir costs over a path: its states, with all that choirs share, and its moves.
    fn path_cost(&self, path: &[usize]) -> i64 {
        let own = |s: usize| i64::from(self.joint[s][path[s]]);
        let way = |s: usize| i64::from(self.way(s, path[s - 1], path[s]));
        (0..path.len()).map(own).sum::<i64>() + (1..path.len()).map(way).sum::<i64>()
    }

    fn stage(&self, s: usize) -> &Stage {
        &self.chain.stages[s].stage
    }

    /// What it costs to come to a state of a step from one of the step before.
    fn way(&self, s: usize, from: usize, to: usize) -> Milli {
        let (was, now) = (self.stage(s - 1), self.stage(s));
        let (a, b) = (split(from, &was.sizes), split(to, &now.sizes));
        way_between(now, (from, &a), (to, &b))
    }

    /// Finds how far the draft itself is a cheapest way.
    fn settle(&mut self) {
        let last = self.path.len().saturating_sub(1);
        let is_way_to = |s: &usize| {
            let from = self.to_before(*s, self.path[*s], self.path[*s - 1]);
            let least =
                (0..self.stage(*s - 1).joint.len()).map(|i| self.to_before(*s, self.path[*s], i));
            least.min().is_none_or(|l| from <= l)
        };
        let led = (1..=last).take_while(|s| is_way_to(s)).last().unwrap_or(0);
        let is_way_on = |s: &usize| {
            let to = self.on_after(*s, self.path[*s], self.path[*s + 1]);
            let least =
                (0..self.stage(*s + 1).joint.len()).map(|j| self.on_after(*s, self.path[*s], j));
            least.min().is_none_or(|l| to <= l)
        };
        let leads = (0..last)
            .rev()
            .take_while(|s| is_way_on(s))
            .last()
            .unwrap_or(last);
        (self.led, self.leads) = (led, leads);
    }

    fn to_before(&self, s: usize, at: usize, from: usize) -> Milli {
        let before = self.to[s - 1][from];
        if before >= FORBIDDEN {
            return FORBIDDEN;
        }
        (before + self.way(s, from, at)).min(FORBIDDEN)
    }

    fn on_after(&self, s: usize, at: usize, to: usize) -> Milli {
        let after = self.on[s + 1][to].saturating_add(self.joint[s + 1][to]);
        if after >= FORBIDDEN {
            return FORBIDDEN;
        }
        (after + self.way(s + 1, at, to)).min(FORBIDDEN)
    }

    /// What each note of a part, and a rest, would cost more at a step, in the order in which they
    /// were tried. Rests that remember different notes are one rest.
    pub fn of(&self, step: usize, place: usize) -> Vec<Marginal> {
        let s = step - self.start;
        let Some(choices) = self.chain.stages[s].choices.get(place) else {
            return Vec::new();
        };
        let sizes = &self.stage(s).sizes;
        let cost = |state: usize| {
            let (to, on) = (self.to[s][state], self.on[s][state]);
            (to < FORBIDDEN && on < FORBIDDEN).then(|| i64::from(to) + i64::from(on))
        };
        let states = 0..self.stage(s).joint.len();
        let least = states.clone().filter_map(cost).min().unwrap_or(0);
        let mut all: Vec<Marginal> = Vec::new();
        for state in states {
            let at = split(state, sizes).get(place).copied().unwrap_or(0);
            let Some(sounds) = choices.get(at).map(|c| c.sounds) else {
                continue;
            };
            let more = cost(state).map(|c| c - least - self.excess);
            match all.iter_mut().find(|m| m.sounds == sounds) {
                None => all.push(Marginal {
                    sounds,
                    more,
                    state,
                }),
                Some(known) => {
                    let nearer = more.is_some_and(|m| known.more.is_none_or(|k| m < k));
                    let drafted = more == known.more && state == self.path[s];
                    if nearer || drafted {
                        *known = Marginal {
                            sounds,
                            more,
                            state,
                        };
                    }
                }
            }
        }
        all
    }

    /// The cheapest path through a state, as far as it is not the draft: the steps, and what every
    /// part of the choir does in each.
    pub fn detour(&self, step: usize, through: &Marginal) -> (Range<usize>, Vec<Vec<Choice>>) {
        let s = step - self.start;
        let mut states = vec![through.state];
        let mut first = s;
        while first > 0 {
            let at = states.first().copied().unwrap_or(0);
            if at == self.path[first] && first <= self.led {
                break;
            }
            let from = self.nearest(
                self.stage(first - 1).joint.len(),
                self.path[first - 1],
                |i| self.to_before(first, at, i),
            );
            states.insert(0, from);
            first -= 1;
        }
        let mut last = s;
        while last + 1 < self.path.len() {
            let at = states.last().copied().unwrap_or(0);
            if at == self.path[last] && last >= self.leads {
                break;
            }
            let to = self.nearest(self.stage(last + 1).joint.len(), self.path[last + 1], |j| {
                self.on_after(last, at, j)
            });
            states.push(to);
            last += 1;
        }
        let picked = states.iter().zip(&self.chain.stages[first..]);
        let picked = picked.map(|(state, stage)| stage.picked(*state)).collect();
        (self.start + first..self.start + last + 1, picked)
    }

    /// The cheapest state; of equal ones that of the draft.
    fn nearest(&self, states: usize, drafted: usize, cost: impl Fn(usize) -> Milli) -> usize {
        let all = (0..states).map(|i| (cost(i), i != drafted, i));
        all.min().map_or(drafted, |best| best.2)
    }
}

/// The joint state of some choices.
fn state_of(at: &[usize], sizes: &[usize]) -> usize {
    at.iter().zip(sizes).fold(0, |state, (i, n)| state * n + i)
}

/// The least cost of coming to each state of every stage, short of what was lifted; and of the whole.
fn ways_to(stages: &[&Stage], joint: &[Vec<Milli>]) -> (Vec<Vec<Milli>>, i64) {
    let mut all: Vec<Vec<Milli>> = Vec::with_capacity(stages.len());
    let mut base = 0;
    for (s, (stage, own)) in stages.iter().zip(joint).enumerate() {
        let before = s.checked_sub(1).and_then(|b| all.last().zip(stages.get(b)));
        let mut now = match before {
            Some((totals, was)) => {
                let mut way = arrive(totals, &was.sizes, stage);
                add(&mut way, own);
                way
            }
            None => own.clone(),
        };
        base += lift(&mut now);
        all.push(now);
    }
    let last = all
        .last()
        .and_then(|l| l.iter().min())
        .copied()
        .unwrap_or(0);
    (all, base + i64::from(last))
}

/// The least cost of going on from each state of every stage, short of what was lifted.
fn ways_on(stages: &[&Stage], joint: &[Vec<Milli>]) -> Vec<Vec<Milli>> {
    let mut all: Vec<Vec<Milli>> = Vec::with_capacity(stages.len());
    for s in (0..stages.len()).rev() {
        let now = match (all.last(), stages.get(s + 1)) {
            (Some(after), Some(next)) => {
                let mut totals = after.clone();
                add(&mut totals, &joint[s + 1]);
                let mut way = depart(&totals, &stages[s].sizes, next);
                let _ = lift(&mut way);
                way
            }
            _ => vec![0; stages[s].joint.len()],
        };
        all.push(now);
    }
    all.reverse();
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::PartId;
    use crate::voicing::chain::cheapest_path;
    use crate::voicing::stretch::ChoirStage;
    use proptest::prelude::*;

    /// Costs of choices by the way in which they were drawn; `together` for choirs of two.
    fn made(parts: usize, steps: usize, costs: &[u16]) -> (ChoirChain, Vec<Vec<Milli>>) {
        let mut at = 0;
        let mut next = || {
            at += 1;
            costs[(at * 7919) % costs.len()]
        };
        let mut cost = move || match next() {
            c if c % 11 == 0 => FORBIDDEN,
            c => Milli::from(c),
        };
        let mut stages: Vec<ChoirStage> = Vec::new();
        for s in 0..steps {
            let sizes: Vec<usize> = (0..parts)
                .map(|p| 1 + (s * 5 + p * 3 + costs.len()) % 4)
                .collect();
            let states: usize = sizes.iter().product();
            let before: Vec<usize> = stages.last().map_or(Vec::new(), |b| b.stage.sizes.clone());
            let moves = before
                .iter()
                .zip(&sizes)
                .map(|(a, b)| (0..a * b).map(|_| cost()).collect());
            let moves = moves.collect();
            let pairs = before.iter().product::<usize>() * states;
            let dense = parts == 2 && s > 0 && costs.len().is_multiple_of(2);
            let together = (0..if dense { pairs } else { 0 })
                .map(|_| cost() % 5000)
                .collect();
            // The last choice of each part is a rest; where there are four, so is the one before.
            let choice = |i: usize, n: usize| Choice {
                sounds: (i + 1 < n && (n < 4 || i + 2 < n))
                    .then(|| Sounding::nearest(60 + i as i32)),
                leave: Some(Sounding::nearest(40 + i as i32)),
                ..Choice::default()
            };
            stages.push(ChoirStage {
                choices: sizes
                    .iter()
                    .map(|n| (0..*n).map(|i| choice(i, *n)).collect())
                    .collect(),
                stage: Stage {
                    joint: (0..states).map(|_| cost()).collect(),
                    sizes,
                    moves,
                    together,
                },
                ..ChoirStage::default()
            });
        }
        let lead = stages[0]
            .stage
            .joint
            .iter()
            .map(|_| cost() % 4000)
            .collect();
        let joint = stages.iter().map(|s| s.stage.joint.clone()).collect();
        let parts = (0..parts).map(PartId).collect();
        (
            ChoirChain {
                parts,
                stages,
                lead,
            },
            joint,
        )
    }

    fn least(chain: &ChoirChain, mut joint: Vec<Vec<Milli>>) -> Option<(Vec<usize>, i64)> {
        add(&mut joint[0], &chain.lead);
        let stages: Vec<&Stage> = chain.stages.iter().map(|s| &s.stage).collect();
        cheapest_path(&stages, &joint)
    }

    fn picked(chain: &ChoirChain, path: &[usize]) -> Vec<Vec<Choice>> {
        path.iter()
            .zip(&chain.stages)
            .map(|(at, s)| s.picked(*at))
            .collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(500) })]

        #[test]
        fn a_marginal_is_what_forcing_the_note_costs_more(
            parts in 1_usize..4, steps in 1_usize..5,
            costs in prop::collection::vec(1_u16..3000, 40..90), off in 0_usize..5
        ) {
            let (chain, joint) = made(parts, steps, &costs);
            let Some((best, cost)) = least(&chain, joint.clone()) else { return Ok(()) };
            // The draft is the cheapest path, or another one through a state drawn at random.
            let s = off % steps;
            let mut forced = joint.clone();
            let state = off % forced[s].len();
            for (i, c) in forced[s].iter_mut().enumerate() {
                if i != state { *c = FORBIDDEN; }
            }
            let (path, drafted) = least(&chain, forced).unwrap_or((best, cost));
            let found = Marginals::new(chain.clone(), 0, joint.clone(), &picked(&chain, &path)).unwrap();
            prop_assert_eq!(found.excess(), drafted - cost);
            for s in 0..steps {
                for place in 0..parts {
                    for marginal in found.of(s, place) {
                        let mut forced = joint.clone();
                        for (i, c) in forced[s].iter_mut().enumerate() {
                            if chain.stages[s].picked(i)[place].sounds != marginal.sounds { *c = FORBIDDEN; }
                        }
                        let forced = least(&chain, forced).map(|f| f.1);
                        prop_assert_eq!(marginal.more.map(|m| m + drafted), forced);
                        if marginal.more.is_none() { continue; }
                        // The detour is such a path, and rejoins the draft.
                        let (range, through) = found.detour(s, &marginal);
                        prop_assert_eq!(through[s - range.start][place].sounds, marginal.sounds);
                        let mut all = picked(&chain, &path);
                        all.splice(range, through);
                        let again = Marginals::new(chain.clone(), 0, joint.clone(), &all).unwrap();
                        prop_assert_eq!(again.path_cost(&again.path), marginal.more.unwrap() + drafted);
                    }
                }
            }
            // The drafted note of a cheapest path costs nothing more.
            if drafted == cost {
                for (s, now) in picked(&chain, &path).iter().enumerate() {
                    for (place, own) in now.iter().enumerate() {
                        let sounds = own.sounds;
                        let own = found.of(s, place).into_iter().find(|m| m.sounds == sounds);
                        prop_assert_eq!(own.and_then(|m| m.more), Some(0));
                    }
                }
            }
        }
    }
}
