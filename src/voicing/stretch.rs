//! A stretch of steps made ready to solve: every choir a chain of stages, every step its marks.

use super::alike::Alike;
use super::candidates::Choice;
use super::chain::{Stage, advance};
use super::coverage::{Counts, Coverage, MOST_MARKS};
use super::terms::{FORBIDDEN, Milli};
use crate::band::PartId;
use std::collections::BTreeMap;

/// One step of a choir.
#[derive(Clone, Debug, Default)]
pub struct ChoirStage {
    /// What every part could do.
    pub choices: Vec<Vec<Choice>>,
    /// The chain's stage; its costs are without what choirs share.
    pub stage: Stage,
    /// For every state, which of `sums` it adds to the marks.
    pub kind: Vec<u16>,
    /// What states can add to the marks, each once.
    pub sums: Vec<Counts>,
}

impl ChoirStage {
    /// A stage of a choir whose parts count so many units in the balance.
    #[must_use]
    pub fn new(
        choices: Vec<Vec<Choice>>,
        stage: Stage,
        coverage: &Coverage,
        units: &[u16],
    ) -> Self {
        let mut kinds: BTreeMap<Counts, u16> = BTreeMap::new();
        let alone: Vec<Vec<Counts>> = choices
            .iter()
            .zip(units)
            .map(|(choices, units)| {
                choices
                    .iter()
                    .map(|c| marks(coverage, *c, *units))
                    .collect()
            })
            .collect();
        let alike = Alike::of(alone.clone());
        let mut known: Vec<Option<u16>> = vec![None; alike.count()];
        let mut at = vec![0; stage.sizes.len()];
        let mut sums = Vec::new();
        let mut kind = Vec::with_capacity(stage.joint.len());
        for _ in 0..stage.joint.len() {
            let own = known[alike.state(&at)].get_or_insert_with(|| {
                let mut all: Counts = [0; MOST_MARKS];
                for (p, c) in at.iter().enumerate() {
                    for (sum, n) in all.iter_mut().zip(&alone[p][*c]) {
                        *sum += n;
                    }
                }
                let next = sums.len() as u16;
                *kinds.entry(all).or_insert_with(|| {
                    sums.push(all);
                    next
                })
            });
            kind.push(*own);
            advance(&mut at, &stage.sizes);
        }
        Self {
            choices,
            stage,
            kind,
            sums,
        }
    }

    /// The costs of the states with a price for each kind added.
    #[must_use]
    pub fn priced(&self, prices: &[Milli]) -> Vec<Milli> {
        let cost = |(joint, kind): (&Milli, &u16)| {
            let price = prices.get(usize::from(*kind)).copied().unwrap_or(0);
            joint.saturating_add(price).min(FORBIDDEN)
        };
        self.stage.joint.iter().zip(&self.kind).map(cost).collect()
    }

    /// What every part does in a state.
    #[must_use]
    pub fn picked(&self, state: usize) -> Vec<Choice> {
        let at = super::chain::split(state, &self.stage.sizes);
        let all = self.choices.iter().zip(at);
        all.filter_map(|(c, i)| c.get(i).copied()).collect()
    }

    /// What a state adds to the marks.
    #[must_use]
    pub fn adds(&self, state: usize) -> Counts {
        let kind = self.kind.get(state).copied().unwrap_or(0);
        self.sums
            .get(usize::from(kind))
            .copied()
            .unwrap_or_default()
    }
}

fn marks(coverage: &Coverage, choice: Choice, units: u16) -> Counts {
    let mut counts: Counts = [0; MOST_MARKS];
    coverage.add(&mut counts, choice, units);
    counts
}

/// A choir over a stretch.
#[derive(Clone, Debug, Default)]
pub struct ChoirChain {
    /// Its parts in score order.
    pub parts: Vec<PartId>,
    /// One stage for every step.
    pub stages: Vec<ChoirStage>,
    /// What it costs to come to each state of the first stage from what was played before.
    pub lead: Vec<Milli>,
}

/// A stretch ready to solve.
#[derive(Clone, Debug, Default)]
pub struct Stretch {
    /// The choirs.
    pub choirs: Vec<ChoirChain>,
    /// The marks of every step.
    pub coverage: Vec<Coverage>,
    /// Steps at which a piece begins that may be bounded by itself; the first is 0.
    pub pieces: Vec<usize>,
    /// Whether the bound may count the way into the first step: what came before cannot be otherwise.
    pub lead_counts: bool,
}

/// A state for every step of every choir.
pub type Paths = Vec<Vec<usize>>;

impl Stretch {
    /// How many steps there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.coverage.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.coverage.is_empty()
    }

    /// The pieces as ranges of steps.
    pub fn ranges(&self) -> impl Iterator<Item = std::ops::Range<usize>> + '_ {
        let ends = self.pieces.iter().skip(1).copied().chain([self.len()]);
        self.pieces.iter().copied().zip(ends).map(|(a, b)| a..b)
    }

    /// What all choirs but one add to the marks of a step.
    #[must_use]
    pub fn counts(&self, paths: &Paths, step: usize, without: Option<usize>) -> Counts {
        let mut counts: Counts = [0; MOST_MARKS];
        for (c, (choir, path)) in self.choirs.iter().zip(paths).enumerate() {
            if Some(c) != without {
                for (sum, n) in counts.iter_mut().zip(choir.stages[step].adds(path[step])) {
                    *sum += n;
                }
            }
        }
        counts
    }

    /// The cost of some steps as chosen, from the move into the first of them.
    #[must_use]
    pub fn cost(&self, paths: &Paths, steps: std::ops::Range<usize>) -> i64 {
        let of = |s: usize| {
            let shared = self.coverage[s].cost(&self.counts(paths, s, None));
            let own: i64 = self
                .choirs
                .iter()
                .zip(paths)
                .map(|(c, path)| c.cost_at(path, s))
                .sum();
            own + i64::from(shared)
        };
        steps.map(of).sum()
    }
}

impl ChoirChain {
    /// The cost of one step of a path: its state and the move into it.
    #[must_use]
    pub fn cost_at(&self, path: &[usize], step: usize) -> i64 {
        let own = &self.stages[step].stage;
        let at = path[step];
        let lead = self.lead.get(at).copied().unwrap_or(0);
        let moved = step.checked_sub(1).map_or(lead, |before| {
            let was = &self.stages[before].stage;
            let (from, to) = (
                super::chain::split(path[before], &was.sizes),
                super::chain::split(at, &own.sizes),
            );
            super::chain::way_between(own, (path[before], &from), (at, &to))
        });
        i64::from(own.joint[at]) + i64::from(moved)
    }
}
