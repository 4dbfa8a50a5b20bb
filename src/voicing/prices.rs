//! Prices that tie choirs together, and the lower bound that they prove.
//!
//! A price for each choir, step, mark and sum: the choir's chain pays it, the mark gets it. Whatever
//! the prices are, the cheapest path of every chain and the cheapest sums of every mark, added up,
//! are never dearer than the best answer (Lagrangian decomposition; Held & Karp 1970, Fisher 1981,
//! for labelling problems Komodakis, Paragios & Tziritas 2007, from memory).
//!
//! The bound is raised choir by choir: going along its chain, forward and backward in turn, the
//! exact cost of every sum is worked out on both sides of every mark, and prices are set so that
//! chain and mark agree. No such step lowers the bound (coordinate ascent by min-marginals, after
//! Kolmogorov's sequential message passing, from memory). All is whole numbers, so the bound is exact.

use super::chain::{add, arrive, depart, lift};
use super::coverage::Coverage;
use super::stretch::{ChoirChain, Stretch};
use super::terms::{FORBIDDEN, Milli};
use std::ops::Range;

/// Differences above this are not told apart when prices are set.
const MOST: Milli = 2_000_000;

/// The prices of one choir at one step for one mark.
#[derive(Clone, Debug, Default)]
struct Price {
    /// Sums that the choir can add, each once.
    values: Vec<u16>,
    /// Which of `values` each kind of state adds.
    of_kind: Vec<u16>,
    /// The price of each value, in thousandths of a point; the least is nothing.
    price: Vec<Milli>,
}

/// A mark at a step: what it costs by its sum, and what the choirs behind the present one may add.
#[derive(Clone, Debug, Default)]
struct Sums {
    /// The least cost if choirs up to the present one added so much; by how many choirs are settled.
    rest: Vec<Vec<Milli>>,
    /// The least cost of the settled choirs for each sum.
    settled: Vec<Milli>,
}

/// The prices of a piece of a stretch, with what is known of the bound.
pub struct Prices<'a> {
    stretch: &'a Stretch,
    steps: Range<usize>,
    /// By choir, then step, then mark.
    prices: Vec<Vec<Vec<Price>>>,
    /// By step, then mark.
    marks: Vec<Vec<Sums>>,
    /// By choir, then step: the cheapest way to each state from the one side.
    ways: Vec<Vec<Vec<Milli>>>,
    /// The least cost of each chain, as last worked out.
    chains: Vec<i64>,
    forward: bool,
    bound: i64,
}

impl<'a> Prices<'a> {
    /// No prices yet.
    #[must_use]
    pub fn new(stretch: &'a Stretch, steps: Range<usize>) -> Self {
        let choir_prices = |choir: &ChoirChain| {
            steps
                .clone()
                .map(|s| {
                    let marks = 0..stretch.coverage[s].len();
                    marks.map(|m| Price::of(choir, s, m)).collect()
                })
                .collect()
        };
        let prices = stretch.choirs.iter().map(choir_prices).collect();
        let marks = steps
            .clone()
            .map(|s| vec![Sums::default(); stretch.coverage[s].len()])
            .collect();
        let mut own = Self {
            stretch,
            steps: steps.clone(),
            prices,
            marks,
            ways: Vec::new(),
            chains: vec![0; stretch.choirs.len()],
            forward: true,
            bound: 0,
        };
        own.ways = (0..stretch.choirs.len())
            .map(|c| own.ways_back(c))
            .collect();
        own.look_ahead();
        own
    }

    /// The lower bound so far, in thousandths of a point: the steps of the piece, without the moves
    /// into its first.
    #[must_use]
    pub fn bound(&self) -> i64 {
        self.bound
    }

    /// Raises the bound: every choir once.
    pub fn raise(&mut self) {
        for c in 0..self.stretch.choirs.len() {
            self.visit(c);
        }
        let marks = self.marks.iter().zip(self.steps.clone()).map(|(marks, s)| {
            let tables = marks.iter().enumerate();
            let least = tables.map(|(m, sums)| {
                let table = self.stretch.coverage[s].table(m);
                let costs = sums.settled.iter().zip(table).map(|(a, b)| a + b);
                i64::from(costs.min().unwrap_or(0))
            });
            least.sum::<i64>()
        });
        let bound = self.chains.iter().sum::<i64>() + marks.sum::<i64>();
        self.bound = self.bound.max(bound);
        self.forward = !self.forward;
        self.look_ahead();
    }

    /// What each kind of a choir's states costs in marks, if the choirs before it added `counts` and
    /// those behind do what the prices make cheapest for them.
    #[must_use]
    pub fn outlook(
        &self,
        choir: usize,
        step: usize,
        counts: &super::coverage::Counts,
    ) -> Vec<Milli> {
        let at = step - self.steps.start;
        let stage = &self.stretch.choirs[choir].stages[step];
        let cost = |sums: &super::coverage::Counts| {
            let marks = self.marks[at].iter().zip(sums.iter().zip(counts));
            let of = |(mark, (a, b)): (&Sums, (&u16, &u16))| {
                let rest = mark.rest.get(choir + 1)?;
                rest.get(usize::from(a + b)).copied()
            };
            marks.filter_map(of).sum()
        };
        stage.sums.iter().map(cost).collect()
    }

    /// For every choir and step, the least cost of the rest of the chain behind each state.
    fn ways_back(&self, c: usize) -> Vec<Vec<Milli>> {
        let choir = &self.stretch.choirs[c];
        let mut ways = vec![Vec::new(); self.steps.len()];
        let mut totals: Vec<Milli> = Vec::new();
        for at in (0..self.steps.len()).rev() {
            let s = self.steps.start + at;
            let states = choir.stages[s].stage.joint.len();
            let way = if at + 1 == self.steps.len() {
                vec![0; states]
            } else {
                let next = &choir.stages[s + 1].stage;
                depart(&totals, &choir.stages[s].stage.sizes, next)
            };
            totals = way.clone();
            add(
                &mut totals,
                &choir.stages[s].priced(&self.kind_prices(c, at)),
            );
            lift(&mut totals);
            ways[at] = way;
        }
        ways
    }

    /// Works out for every mark what choirs from each one on may add at least cost.
    fn look_ahead(&mut self) {
        for (at, marks) in self.marks.iter_mut().enumerate() {
            let coverage: &Coverage = &self.stretch.coverage[self.steps.start + at];
            for (m, sums) in marks.iter_mut().enumerate() {
                let mut rest = vec![coverage.table(m).to_vec()];
                for prices in self.prices.iter().rev() {
                    let behind = rest.last().map_or(&[][..], Vec::as_slice);
                    rest.push(prices[at][m].give_up(behind));
                }
                rest.reverse();
                sums.rest = rest;
                sums.settled = vec![0];
            }
        }
    }

    fn kind_prices(&self, c: usize, at: usize) -> Vec<Milli> {
        let kinds = self.stretch.choirs[c].stages[self.steps.start + at]
            .sums
            .len();
        let mut all = vec![0; kinds];
        for price in &self.prices[c][at] {
            for (sum, value) in all.iter_mut().zip(&price.of_kind) {
                *sum += price.price[usize::from(*value)];
            }
        }
        all
    }

    /// One choir: along its chain, prices set at every step; then it is settled in every mark.
    fn visit(&mut self, c: usize) {
        let choir = &self.stretch.choirs[c];
        let count = self.steps.len();
        let (mut totals, mut base) = (Vec::new(), 0);
        let mut cheapest = i64::MAX;
        for turn in 0..count {
            let at = if self.forward { turn } else { count - 1 - turn };
            let s = self.steps.start + at;
            let own = &choir.stages[s].stage;
            let way = if turn == 0 {
                self.outside(c, s, own.joint.len())
            } else if self.forward {
                arrive(&totals, &choir.stages[s - 1].stage.sizes, own)
            } else {
                depart(&totals, &own.sizes, &choir.stages[s + 1].stage)
            };
            let beyond = std::mem::take(&mut self.ways[c][at]);
            if choir.stages[s].sums.len() > 1 {
                let least = kind_costs(choir, s, &way, &beyond);
                self.set_prices(c, at, &least);
            } else {
                self.settle(c, at);
            }
            totals = way.clone();
            add(
                &mut totals,
                &choir.stages[s].priced(&self.kind_prices(c, at)),
            );
            self.ways[c][at] = way;
            base += lift(&mut totals);
            if turn + 1 == count {
                let ends = totals
                    .iter()
                    .zip(&beyond)
                    .map(|(a, b)| i64::from(*a) + i64::from(*b));
                cheapest = ends.min().unwrap_or(0);
            }
        }
        self.chains[c] = base + cheapest;
    }

    /// What lies outside the piece at its first or last step: the way in, where it counts.
    fn outside(&self, c: usize, s: usize, states: usize) -> Vec<Milli> {
        let lead = &self.stretch.choirs[c].lead;
        if self.forward && s == 0 && self.stretch.lead_counts && lead.len() == states {
            return lead.clone();
        }
        vec![0; states]
    }

    /// Sets the prices of a choir at a step, mark by mark. `least` is what each kind of state costs
    /// the chain at least, without prices.
    fn set_prices(&mut self, c: usize, at: usize, least: &[Milli]) {
        let mut now: Vec<Milli> = least.to_vec();
        for (kind, cost) in now.iter_mut().zip(self.kind_prices(c, at)) {
            *kind = (*kind + cost).min(FORBIDDEN);
        }
        for m in 0..self.prices[c][at].len() {
            let sums = &self.marks[at][m];
            let price = &mut self.prices[c][at][m];
            // What the chain pays at least for each value, this mark's price taken off.
            let mut chain = vec![FORBIDDEN; price.values.len()];
            for (cost, value) in now.iter().zip(&price.of_kind) {
                let v = usize::from(*value);
                chain[v] = chain[v].min(cost - price.price[v]);
            }
            let behind = sums.rest.get(c + 1).map_or(&[][..], Vec::as_slice);
            let mark = price.marks_side(&sums.settled, behind);
            let before = price.price.clone();
            price.agree(&chain, &mark);
            for (cost, value) in now.iter_mut().zip(&price.of_kind) {
                let v = usize::from(*value);
                *cost = (*cost + price.price[v] - before[v]).min(FORBIDDEN);
            }
        }
        self.settle(c, at);
    }

    fn settle(&mut self, c: usize, at: usize) {
        for (sums, price) in self.marks[at].iter_mut().zip(&self.prices[c][at]) {
            sums.settled = price.give(&sums.settled);
        }
    }
}

/// What each kind of state of a step costs a chain at least, prices of the step left out.
fn kind_costs(choir: &ChoirChain, s: usize, way: &[Milli], beyond: &[Milli]) -> Vec<Milli> {
    let stage = &choir.stages[s];
    let mut least = vec![FORBIDDEN; stage.sums.len()];
    let states = stage.kind.iter().zip(&stage.stage.joint);
    for ((kind, joint), (way, beyond)) in states.zip(way.iter().zip(beyond)) {
        let cost = (joint + way).min(FORBIDDEN) + beyond;
        let least = &mut least[usize::from(*kind)];
        *least = (*least).min(cost);
    }
    for cost in &mut least {
        *cost = (*cost).min(FORBIDDEN);
    }
    least
}

impl Price {
    fn of(choir: &ChoirChain, step: usize, mark: usize) -> Self {
        let sums = &choir.stages[step].sums;
        let mut values: Vec<u16> = sums.iter().map(|s| s[mark]).collect();
        values.sort_unstable();
        values.dedup();
        let place = |n: u16| values.partition_point(|v| *v < n) as u16;
        Self {
            of_kind: sums.iter().map(|s| place(s[mark])).collect(),
            price: vec![0; values.len()],
            values,
        }
    }

    /// The least cost of what is settled and this choir, for each sum.
    fn give(&self, settled: &[Milli]) -> Vec<Milli> {
        let most = usize::from(self.values.last().copied().unwrap_or(0));
        let mut next = vec![FORBIDDEN; settled.len() + most];
        for (value, price) in self.values.iter().zip(&self.price) {
            let value = usize::from(*value);
            for (to, from) in next[value..].iter_mut().zip(settled) {
                *to = (*to).min(from - price);
            }
        }
        next
    }

    /// The least cost behind this choir and with it, for each sum before it.
    fn give_up(&self, behind: &[Milli]) -> Vec<Milli> {
        let most = usize::from(self.values.last().copied().unwrap_or(0));
        let mut before = vec![FORBIDDEN; behind.len().saturating_sub(most).max(1)];
        for (value, price) in self.values.iter().zip(&self.price) {
            let from = behind.get(usize::from(*value)..).unwrap_or(&[]);
            for (to, from) in before.iter_mut().zip(from) {
                *to = (*to).min(from - price);
            }
        }
        before
    }

    /// What the mark costs at least for each value, this choir's price left out.
    fn marks_side(&self, settled: &[Milli], behind: &[Milli]) -> Vec<Milli> {
        let least = |value: &u16| {
            let from = behind.get(usize::from(*value)..).unwrap_or(&[]);
            let costs = settled.iter().zip(from).map(|(a, b)| a + b);
            costs.min().unwrap_or(FORBIDDEN)
        };
        self.values.iter().map(least).collect()
    }

    /// Sets the prices so that chain and mark each bear half of what a value costs both.
    fn agree(&mut self, chain: &[Milli], mark: &[Milli]) {
        let least = chain
            .iter()
            .zip(mark)
            .map(|(c, m)| c.saturating_add(*m))
            .min()
            .unwrap_or(0);
        for ((price, c), m) in self.price.iter_mut().zip(chain).zip(mark) {
            let both = (c.saturating_add(*m) - least).min(MOST);
            *price = m - both / 2;
        }
        let lowest = self.price.iter().copied().min().unwrap_or(0);
        for price in &mut self.price {
            *price -= lowest;
        }
    }
}
