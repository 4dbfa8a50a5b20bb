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
use super::coverage::Counts;
use super::effort::Effort;
use super::price_book::{Place, PriceBook};
use super::side_by_side;
use super::stretch::{ChoirChain, ChoirStage, Stretch};
use super::terms::{FORBIDDEN, Milli};
use crate::music::Tick;
use std::ops::Range;

/// What the mark keeps of what a value costs chain and mark together, for the choirs behind. Measured
/// on the demo and five bands: with 15 the bound is nearest after a few rounds, at 50 and at 3 it
/// takes twice as many.
const MARKS_PERCENT: Milli = 15;

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

/// One choir over one piece.
#[derive(Clone, Debug, Default)]
struct Cell {
    /// By step, then mark.
    prices: Vec<Vec<Price>>,
    /// By step: the cheapest way to each state from the side that the last sweep came from.
    ways: Vec<Vec<Milli>>,
}

/// What one choir's sweep hands on from piece to piece.
#[derive(Clone, Debug, Default)]
struct Carry {
    /// The least cost of each state of the last step, with its own.
    totals: Vec<Milli>,
    /// What was taken out of them.
    base: i64,
}

/// The prices of a stretch, with what is known of the bound.
///
/// A sweep goes along the chain of one choir after the other. A choir may start on a piece as soon
/// as the choir before it has left it, so that several choirs are under way at a time.
pub struct Prices<'a> {
    stretch: &'a Stretch,
    pieces: Vec<Range<usize>>,
    /// By choir, then piece.
    cells: Vec<Vec<Cell>>,
    /// By piece, then step, then mark.
    marks: Vec<Vec<Vec<Sums>>>,
    forward: bool,
    bound: i64,
}

/// A choir at a piece, with all that its visit changes.
struct Visit {
    choir: usize,
    piece: usize,
    cell: Cell,
    marks: Vec<Vec<Sums>>,
    carry: Carry,
}

impl<'a> Prices<'a> {
    /// No prices yet.
    #[must_use]
    pub fn new(stretch: &'a Stretch, threads: usize) -> Self {
        Self::known(stretch, threads, None)
    }

    /// Prices as a solve before left them, where it knew the choir, step and mark; the steps of the
    /// stretch begin at the given ticks.
    #[must_use]
    pub fn known(
        stretch: &'a Stretch,
        threads: usize,
        book: Option<(&PriceBook, &[Tick])>,
    ) -> Self {
        let pieces: Vec<Range<usize>> = stretch.ranges().collect();
        let price = |choir: &ChoirChain, s: usize, m: usize| {
            let mut price = Price::of(choir, s, m);
            if let Some((book, starts)) = book {
                let place = Place::of(stretch, choir, starts, (s, m));
                if let Some(known) = place.and_then(|p| book.of(p)) {
                    price.start_from(known);
                }
            }
            price
        };
        let cell = |choir: &ChoirChain, steps: &Range<usize>| Cell {
            prices: steps
                .clone()
                .map(|s| {
                    let marks = 0..stretch.coverage[s].len();
                    marks.map(|m| price(choir, s, m)).collect()
                })
                .collect(),
            ways: Vec::new(),
        };
        let chain = |choir| pieces.iter().map(|p| cell(choir, p)).collect();
        let mut chains: Vec<Vec<Cell>> = stretch.choirs.iter().map(chain).collect();
        let mut work: Vec<_> = chains.iter_mut().zip(&stretch.choirs).collect();
        side_by_side::for_each(&mut work, threads, |(cells, choir)| {
            ways_back(choir, &pieces, cells);
        });
        let marks = |p: &Range<usize>| {
            p.clone()
                .map(|s| vec![Sums::default(); stretch.coverage[s].len()])
                .collect()
        };
        let mut own = Self {
            stretch,
            marks: pieces.iter().map(marks).collect(),
            pieces,
            cells: chains,
            forward: true,
            bound: 0,
        };
        own.look_ahead(threads);
        own
    }

    /// Writes the prices down for a solve to come; the steps of the stretch begin at the given ticks.
    pub fn write(&self, book: &mut PriceBook, starts: &[Tick]) {
        for (choir, cells) in self.stretch.choirs.iter().zip(&self.cells) {
            for (piece, cell) in self.pieces.iter().zip(cells) {
                for (s, prices) in piece.clone().zip(&cell.prices) {
                    for (m, price) in prices.iter().enumerate() {
                        let place = Place::of(self.stretch, choir, starts, (s, m));
                        if let Some(place) = place.filter(|_| price.values.len() > 1) {
                            let all = price
                                .values
                                .iter()
                                .copied()
                                .zip(price.price.iter().copied());
                            book.set(place, all.collect());
                        }
                    }
                }
            }
        }
    }

    /// The lower bound so far, in thousandths of a point.
    #[must_use]
    pub fn bound(&self) -> i64 {
        self.bound
    }

    /// Raises the bound: every choir once. Told to stop, it leaves off at once and the bound stays.
    pub fn raise(&mut self, effort: &Effort<'_>) {
        let threads = effort.threads;
        let (choirs, pieces) = (self.cells.len(), self.pieces.len());
        let mut carries = vec![Carry::default(); choirs];
        for wave in 0..(choirs + pieces).saturating_sub(1) {
            if effort.is_stopped() {
                return;
            }
            let mut visits: Vec<Visit> = Vec::new();
            for (choir, carry) in carries.iter_mut().enumerate() {
                let Some(turn) = wave.checked_sub(choir).filter(|t| *t < pieces) else {
                    continue;
                };
                let piece = if self.forward {
                    turn
                } else {
                    pieces - 1 - turn
                };
                visits.push(Visit {
                    choir,
                    piece,
                    cell: std::mem::take(&mut self.cells[choir][piece]),
                    marks: std::mem::take(&mut self.marks[piece]),
                    carry: std::mem::take(carry),
                });
            }
            let sweep = Sweep {
                stretch: self.stretch,
                pieces: &self.pieces,
                forward: self.forward,
            };
            side_by_side::for_each(&mut visits, threads, |visit| sweep.visit(visit));
            for visit in visits {
                self.cells[visit.choir][visit.piece] = visit.cell;
                self.marks[visit.piece] = visit.marks;
                carries[visit.choir] = visit.carry;
            }
        }
        let chains = carries.iter().map(|c| {
            let least = c.totals.iter().copied().min().unwrap_or(0);
            c.base + i64::from(least)
        });
        let bound = chains.sum::<i64>() + self.marks_bound();
        self.bound = self.bound.max(bound);
        self.forward = !self.forward;
        self.look_ahead(threads);
    }

    fn marks_bound(&self) -> i64 {
        let mut bound = 0;
        for (piece, marks) in self.pieces.iter().zip(&self.marks) {
            for (s, marks) in piece.clone().zip(marks) {
                for (m, sums) in marks.iter().enumerate() {
                    let table = self.stretch.coverage[s].table(m);
                    let costs = sums.settled.iter().zip(table).map(|(a, b)| a + b);
                    bound += i64::from(costs.min().unwrap_or(0));
                }
            }
        }
        bound
    }

    /// What each kind of a choir's states costs in marks, if the choirs before it added `counts` and
    /// those behind do what the prices make cheapest for them.
    #[must_use]
    pub fn outlook(&self, choir: usize, step: usize, counts: &Counts) -> Vec<Milli> {
        let piece = self.pieces.partition_point(|p| p.end <= step);
        let at = step - self.pieces[piece].start;
        let stage = &self.stretch.choirs[choir].stages[step];
        let cost = |sums: &Counts| {
            let marks = self.marks[piece][at].iter().zip(sums.iter().zip(counts));
            let of = |(mark, (a, b)): (&Sums, (&u16, &u16))| {
                let rest = mark.rest.get(choir + 1)?;
                rest.get(usize::from(a + b)).copied()
            };
            marks.filter_map(of).sum()
        };
        stage.sums.iter().map(cost).collect()
    }

    /// Works out for every mark what choirs from each one on may add at least cost.
    fn look_ahead(&mut self, threads: usize) {
        let (cells, stretch) = (&self.cells, self.stretch);
        let mut work: Vec<_> = self
            .marks
            .iter_mut()
            .zip(&self.pieces)
            .enumerate()
            .collect();
        side_by_side::for_each(&mut work, threads, |(p, (marks, piece))| {
            for (at, (marks, s)) in marks.iter_mut().zip(piece.clone()).enumerate() {
                for (m, sums) in marks.iter_mut().enumerate() {
                    let mut rest = vec![stretch.coverage[s].table(m).to_vec()];
                    for chain in cells.iter().rev() {
                        let behind = rest.last().map_or(&[][..], Vec::as_slice);
                        rest.push(chain[*p].prices[at][m].give_up(behind));
                    }
                    rest.reverse();
                    sums.rest = rest;
                    sums.settled = vec![0];
                }
            }
        });
    }
}

/// For every step of a choir, the least cost of the rest of the chain behind each state.
fn ways_back(choir: &ChoirChain, pieces: &[Range<usize>], cells: &mut [Cell]) {
    let mut totals: Vec<Milli> = Vec::new();
    for (cell, piece) in cells.iter_mut().zip(pieces).rev() {
        for s in piece.clone().rev() {
            let own = &choir.stages[s].stage;
            let way = match choir.stages.get(s + 1) {
                Some(next) => depart(&totals, &own.sizes, &next.stage),
                None => vec![0; own.joint.len()],
            };
            totals = way.clone();
            let prices = cell
                .prices
                .get(s - piece.start)
                .map_or(&[][..], Vec::as_slice);
            let stage = &choir.stages[s];
            add(&mut totals, &stage.priced(&kind_prices(stage, prices)));
            lift(&mut totals);
            cell.ways.push(way);
        }
        cell.ways.reverse();
    }
}

/// A sweep over all chains in one direction.
struct Sweep<'a> {
    stretch: &'a Stretch,
    pieces: &'a [Range<usize>],
    forward: bool,
}

impl Sweep<'_> {
    /// One choir along one piece: prices set at every step, and the choir settled in every mark.
    fn visit(&self, visit: &mut Visit) {
        let choir = &self.stretch.choirs[visit.choir];
        let piece = self.pieces[visit.piece].clone();
        let count = piece.len();
        for turn in 0..count {
            let at = if self.forward { turn } else { count - 1 - turn };
            let s = piece.start + at;
            let stage = &choir.stages[s];
            let way = self.way(choir, s, &visit.carry.totals);
            let beyond = std::mem::take(&mut visit.cell.ways[at]);
            let prices = &mut visit.cell.prices[at];
            if stage.sums.len() > 1 {
                let least = kind_costs(stage, &way, &beyond);
                set_prices(prices, &visit.marks[at], visit.choir, least);
            }
            for (sums, price) in visit.marks[at].iter_mut().zip(prices.iter()) {
                sums.settled = price.give(&sums.settled);
            }
            let mut totals = stage.priced(&kind_prices(stage, prices));
            add(&mut totals, &way);
            if self.is_last(s) {
                add(&mut totals, &beyond);
            }
            visit.carry.base += lift(&mut totals);
            visit.carry.totals = totals;
            visit.cell.ways[at] = way;
        }
    }

    fn is_last(&self, s: usize) -> bool {
        if self.forward {
            s + 1 == self.stretch.len()
        } else {
            s == 0
        }
    }

    /// The cheapest way to each state of a step from the side that the sweep comes from. At the
    /// stretch's beginning, the way in, where it counts.
    fn way(&self, choir: &ChoirChain, s: usize, totals: &[Milli]) -> Vec<Milli> {
        let own = &choir.stages[s].stage;
        if !self.forward {
            return match choir.stages.get(s + 1) {
                Some(next) => depart(totals, &own.sizes, &next.stage),
                None => vec![0; own.joint.len()],
            };
        }
        match s.checked_sub(1) {
            Some(before) => arrive(totals, &choir.stages[before].stage.sizes, own),
            None if self.stretch.lead_counts => choir.lead.clone(),
            None => vec![0; own.joint.len()],
        }
    }
}

/// What each kind of state pays for all marks of a step.
fn kind_prices(stage: &ChoirStage, prices: &[Price]) -> Vec<Milli> {
    let mut all = vec![0; stage.sums.len()];
    for price in prices {
        for (sum, value) in all.iter_mut().zip(&price.of_kind) {
            *sum += price.price[usize::from(*value)];
        }
    }
    all
}

/// Sets the prices of a choir at a step, mark by mark. `least` is what each kind of state costs
/// the chain at least, without prices.
fn set_prices(prices: &mut [Price], marks: &[Sums], choir: usize, least: Vec<Milli>) {
    let mut now = least;
    for price in prices.iter() {
        for (cost, value) in now.iter_mut().zip(&price.of_kind) {
            *cost = (*cost + price.price[usize::from(*value)]).min(FORBIDDEN);
        }
    }
    for (price, sums) in prices.iter_mut().zip(marks) {
        // What the chain pays at least for each value, this mark's price taken off.
        let mut chain = vec![FORBIDDEN; price.values.len()];
        for (cost, value) in now.iter().zip(&price.of_kind) {
            let v = usize::from(*value);
            chain[v] = chain[v].min(cost - price.price[v]);
        }
        let behind = sums.rest.get(choir + 1).map_or(&[][..], Vec::as_slice);
        let mark = price.marks_side(&sums.settled, behind);
        let before = price.price.clone();
        price.agree(&chain, &mark);
        for (cost, value) in now.iter_mut().zip(&price.of_kind) {
            let v = usize::from(*value);
            *cost = (*cost + price.price[v] - before[v]).min(FORBIDDEN);
        }
    }
}

/// What each kind of state of a step costs a chain at least, prices of the step left out.
fn kind_costs(stage: &ChoirStage, way: &[Milli], beyond: &[Milli]) -> Vec<Milli> {
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

    /// Starts from prices of a solve before; a value that it did not know has the price of the nearest
    /// one that it did.
    fn start_from(&mut self, known: &[(u16, Milli)]) {
        let near = |value: u16| {
            known
                .iter()
                .min_by_key(|(v, _)| (v.abs_diff(value), *v))
                .map_or(0, |k| k.1)
        };
        for (value, price) in self.values.iter().zip(&mut self.price) {
            *price = near(*value);
        }
        let lowest = self.price.iter().copied().min().unwrap_or(0);
        for price in &mut self.price {
            *price -= lowest;
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

    /// Sets the prices so that the chain bears most of what a value costs both, and the mark the rest.
    fn agree(&mut self, chain: &[Milli], mark: &[Milli]) {
        let least = chain
            .iter()
            .zip(mark)
            .map(|(c, m)| c.saturating_add(*m))
            .min()
            .unwrap_or(0);
        for ((price, c), m) in self.price.iter_mut().zip(chain).zip(mark) {
            let both = (c.saturating_add(*m) - least).min(MOST);
            *price = m - both / 100 * MARKS_PERCENT;
        }
        let lowest = self.price.iter().copied().min().unwrap_or(0);
        for price in &mut self.price {
            *price -= lowest;
        }
    }
}
