//! One stretch: prices raise the bound, and answers are made from them until the two are near.

use super::chain::{Stage, add, cheapest_path};
use super::coverage::{Counts, MOST_MARKS};
use super::effort::{Effort, Status};
use super::prices::Prices;
use super::side_by_side;
use super::stretch::{Paths, Stretch};
use super::terms::Milli;

/// Rounds of prices between two answers.
const ROUNDS_AT_ONCE: usize = 6;
/// Choirs are improved in turn at most so often; in practice one or two rounds settle.
const MOST_TURNS: usize = 4;
/// Short pieces are worked on until nothing is left open, at most so many times as long.
const SHORT_STEPS: usize = 24;
const SHORT_EFFORT: usize = 10;

/// An answer for a stretch.
#[derive(Clone, Debug, Default)]
pub struct Solved {
    /// A state for every step of every choir.
    pub paths: Paths,
    /// What it costs, in thousandths of a point.
    pub cost: i64,
    /// What no answer can cost less than.
    pub bound: i64,
    /// How good the answer is known to be.
    pub status: Status,
}

/// Solves a stretch. `drafted` are paths that are tried as an answer, if they lead through the
/// stretch.
#[must_use]
pub fn solve_stretch(stretch: &Stretch, effort: &Effort<'_>, drafted: Option<&Paths>) -> Solved {
    if stretch.is_empty() {
        return Solved::default();
    }
    let pieces: Vec<_> = stretch.ranges().collect();
    let mut prices: Vec<Option<Prices<'_>>> = pieces.iter().map(|_| None).collect();
    let short = stretch.len() <= SHORT_STEPS;
    let rounds = if short {
        effort.rounds * SHORT_EFFORT
    } else {
        effort.rounds
    };
    let wanted = if short { 0.0 } else { effort.gap };
    let mut best = drafted.map(|paths| (stretch.cost(paths, 0..stretch.len()), paths.clone()));
    let mut stopped = effort.is_stopped();
    let mut done = 0;
    loop {
        if !stopped {
            raise(
                stretch,
                &pieces,
                &mut prices,
                best.as_ref().map(|b| &b.1),
                wanted,
                effort,
            );
            done += ROUNDS_AT_ONCE;
            stopped = effort.is_stopped();
        }
        if let Some(found) = answer(stretch, &pieces, &prices) {
            if best.as_ref().is_none_or(|b| found.0 < b.0) {
                best = Some(found);
            }
        }
        let bound: i64 = prices.iter().flatten().map(Prices::bound).sum();
        let Some((cost, paths)) = best.clone() else {
            return Solved::default();
        };
        let near = (cost - bound) as f64 <= wanted * cost as f64;
        if near || done >= rounds || stopped {
            let status = match (cost == bound, stopped) {
                (true, _) => Status::Optimal,
                (false, true) => Status::Stopped,
                (false, false) => Status::Feasible,
            };
            return Solved {
                paths,
                cost,
                bound,
                status,
            };
        }
    }
}

/// Some rounds of prices for every piece whose bound is not near its cost yet.
fn raise<'a>(
    stretch: &'a Stretch,
    pieces: &[std::ops::Range<usize>],
    prices: &mut [Option<Prices<'a>>],
    best: Option<&Paths>,
    wanted: f64,
    effort: &Effort<'_>,
) {
    let mut work: Vec<_> = prices.iter_mut().zip(pieces).collect();
    side_by_side::for_each(&mut work, effort.threads, |(prices, steps)| {
        let prices = prices.get_or_insert_with(|| Prices::new(stretch, steps.clone()));
        let cost = best.map(|paths| stretch.cost(paths, steps.clone()));
        let near = |bound: i64| cost.is_some_and(|c| (c - bound) as f64 <= wanted * c as f64);
        for _ in 0..ROUNDS_AT_ONCE {
            if near(prices.bound()) || effort.is_stopped() {
                return;
            }
            prices.raise();
        }
    });
}

/// An answer: choir after choir solved exactly with the choirs before held and those behind as
/// the prices see them, then in turn with all others held until nothing improves.
fn answer(
    stretch: &Stretch,
    pieces: &[std::ops::Range<usize>],
    prices: &[Option<Prices<'_>>],
) -> Option<(i64, Paths)> {
    let mut paths: Paths = Vec::new();
    for c in 0..stretch.choirs.len() {
        let mut joint = Vec::with_capacity(stretch.len());
        for (piece, prices) in pieces.iter().zip(prices) {
            for s in piece.clone() {
                let before = counts_before(stretch, &paths, s);
                let outlook = prices.as_ref().map(|p| p.outlook(c, s, &before));
                let outlook = outlook.unwrap_or_else(|| shared(stretch, c, s, &before));
                joint.push(stretch.choirs[c].stages[s].priced(&outlook));
            }
        }
        paths.push(cheapest(stretch, c, joint)?);
    }
    for _ in 0..MOST_TURNS {
        let mut changed = false;
        for c in 0..stretch.choirs.len() {
            let stages = 0..stretch.len();
            let joint = stages.map(|s| {
                let others = stretch.counts(&paths, s, Some(c));
                stretch.choirs[c].stages[s].priced(&shared(stretch, c, s, &others))
            });
            let found = cheapest(stretch, c, joint.collect())?;
            changed |= found != paths[c];
            paths[c] = found;
        }
        if !changed {
            break;
        }
    }
    Some((stretch.cost(&paths, 0..stretch.len()), paths))
}

fn cheapest(stretch: &Stretch, c: usize, mut joint: Vec<Vec<Milli>>) -> Option<Vec<usize>> {
    let choir = &stretch.choirs[c];
    if let Some(first) = joint.first_mut() {
        add(first, &choir.lead);
    }
    let stages: Vec<&Stage> = choir.stages.iter().map(|s| &s.stage).collect();
    cheapest_path(&stages, &joint).map(|(path, _)| path)
}

fn counts_before(stretch: &Stretch, paths: &Paths, s: usize) -> Counts {
    let mut counts: Counts = [0; MOST_MARKS];
    for (choir, path) in stretch.choirs.iter().zip(paths) {
        for (sum, n) in counts.iter_mut().zip(choir.stages[s].adds(path[s])) {
            *sum += n;
        }
    }
    counts
}

/// What each kind of a choir's states makes the marks cost beside what the others add.
fn shared(stretch: &Stretch, c: usize, s: usize, others: &Counts) -> Vec<Milli> {
    let cost = |sums: &Counts| {
        let mut all = *others;
        for (sum, n) in all.iter_mut().zip(sums) {
            *sum += n;
        }
        stretch.coverage[s].cost(&all)
    };
    stretch.choirs[c].stages[s].sums.iter().map(cost).collect()
}
