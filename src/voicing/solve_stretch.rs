//! One stretch: prices raise the bound, and answers are made from them until the two are near.

use super::chain::{Stage, add, cheapest_path};
use super::coverage::Counts;
use super::effort::{Effort, Status};
use super::price_book::PriceBook;
use super::prices::Prices;
use super::stretch::{Paths, Stretch};
use super::terms::Milli;
use crate::music::Tick;

/// Rounds of prices before the first answer, and between two answers.
const FIRST_ROUNDS: usize = 4;
const ROUNDS_AT_ONCE: usize = 6;
const SHORT_ROUNDS_AT_ONCE: usize = 2;
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
    /// Rounds of prices that it took.
    pub rounds: usize,
}

/// What a solve starts from, and what it leaves.
#[derive(Debug, Default)]
pub struct Start<'a> {
    /// Paths that are tried as an answer, if they lead through the stretch.
    pub drafted: Option<Paths>,
    /// Prices of a solve before, replaced by those of this one, and where the stretch's steps begin.
    pub prices: Option<(&'a mut PriceBook, &'a [Tick])>,
}

/// Solves a stretch. `drafted` are paths that are tried as an answer, if they lead through the
/// stretch.
#[must_use]
pub fn solve_stretch(stretch: &Stretch, effort: &Effort<'_>, drafted: Option<&Paths>) -> Solved {
    let drafted = drafted.cloned();
    let start = Start {
        drafted,
        prices: None,
    };
    solve_from(stretch, effort, start)
}

/// Solves a stretch from what a solve before left.
#[must_use]
pub fn solve_from(stretch: &Stretch, effort: &Effort<'_>, start: Start<'_>) -> Solved {
    if stretch.is_empty() {
        return Solved::default();
    }
    let Start {
        drafted,
        prices: mut book,
    } = start;
    let short = stretch.len() <= SHORT_STEPS;
    let rounds = if short {
        effort.rounds * SHORT_EFFORT
    } else {
        effort.rounds
    };
    let wanted = if short { 0.0 } else { effort.gap };
    let mut best = drafted.map(|paths| (stretch.cost(&paths, 0..stretch.len()), paths));
    let knows = book.as_ref().is_some_and(|(book, _)| !book.is_empty());
    let mut prices = None;
    let mut done = 0;
    loop {
        if !effort.is_stopped() {
            let prices = prices.get_or_insert_with(|| {
                let known = book.as_ref().map(|(book, starts)| (&**book, *starts));
                Prices::known(stretch, effort.threads, known)
            });
            let at_once = match (done, short) {
                (0, _) if knows => 1,
                (0, _) => FIRST_ROUNDS,
                (_, true) => SHORT_ROUNDS_AT_ONCE,
                (_, false) => ROUNDS_AT_ONCE,
            };
            for _ in 0..at_once {
                if !effort.is_stopped() {
                    prices.raise(effort);
                }
            }
            done += at_once;
        }
        // Told to stop, an answer that is there already will do.
        let enough = best.is_some() && effort.is_stopped();
        let found = if enough {
            None
        } else {
            answer(stretch, prices.as_ref(), effort)
        };
        if found
            .as_ref()
            .is_some_and(|f| best.as_ref().is_none_or(|b| f.0 < b.0))
        {
            best = found;
        }
        let bound = prices.as_ref().map_or(0, Prices::bound);
        let Some((cost, _)) = best else {
            return Solved::default();
        };
        let near = (cost - bound) as f64 <= wanted * cost as f64;
        let finished = near || done >= rounds;
        if finished || effort.is_stopped() {
            let status = match (cost == bound, finished) {
                (true, _) => Status::Optimal,
                (false, true) => Status::Feasible,
                (false, false) => Status::Stopped,
            };
            let paths = best.map(|b| b.1).unwrap_or_default();
            if let Some(((book, starts), prices)) = book.as_mut().zip(prices.as_ref()) {
                prices.write(book, starts);
            }
            return Solved {
                paths,
                cost,
                bound,
                status,
                rounds: done,
            };
        }
    }
}

/// An answer: choir after choir solved exactly with the choirs before held and those behind as
/// the prices see them, then in turn with all others held until nothing improves.
fn answer(
    stretch: &Stretch,
    prices: Option<&Prices<'_>>,
    effort: &Effort<'_>,
) -> Option<(i64, Paths)> {
    let mut paths: Paths = Vec::new();
    for c in 0..stretch.choirs.len() {
        let joint = (0..stretch.len()).map(|s| {
            let before = stretch.counts(&paths, s, None);
            let outlook = match prices {
                Some(prices) => prices.outlook(c, s, &before),
                None => shared(stretch, c, s, &before),
            };
            stretch.choirs[c].stages[s].priced(&outlook)
        });
        let found = cheapest(stretch, c, joint.collect())?;
        paths.push(found);
    }
    for _ in 0..MOST_TURNS {
        let mut changed = false;
        for c in 0..stretch.choirs.len() {
            if effort.is_stopped() {
                break;
            }
            let joint = (0..stretch.len()).map(|s| {
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

#[cfg(test)]
mod tests {
    use super::super::chain::{split, way_between};
    use super::super::coverage::{Coverage, MOST_MARKS};
    use super::super::stretch::{ChoirChain, ChoirStage};
    use super::super::terms::FORBIDDEN;
    use super::*;
    use proptest::prelude::*;

    struct Dice(u64);

    impl Dice {
        fn roll(&mut self, sides: u64) -> u64 {
            self.0 = self
                .0
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (self.0 >> 33) % sides
        }

        fn cost(&mut self) -> Milli {
            if self.roll(12) == 0 {
                FORBIDDEN
            } else {
                self.roll(3000) as Milli
            }
        }
    }

    /// A small stretch of choirs of one or two parts with two or three choices each.
    fn made(choirs: usize, steps: usize, marks: usize, seed: u64) -> Stretch {
        let mut dice = Dice(seed);
        let mut all = Vec::new();
        for _ in 0..choirs {
            let parts = 1 + dice.roll(2) as usize;
            let mut stages: Vec<ChoirStage> = Vec::new();
            for s in 0..steps {
                let sizes: Vec<usize> = (0..parts).map(|_| 1 + dice.roll(3) as usize).collect();
                let states: usize = sizes.iter().product();
                let before = stages.last().map(|b| b.stage.sizes.clone());
                let mut moves = Vec::new();
                for (p, size) in sizes.iter().enumerate() {
                    let from = before.as_ref().map_or(0, |b| b[p]);
                    moves.push((0..from * size).map(|_| dice.cost()).collect());
                }
                let pairs = match (&before, dice.roll(2)) {
                    (Some(b), 1) => b.iter().product::<usize>() * states,
                    _ => 0,
                };
                let stage = Stage {
                    sizes: sizes.clone(),
                    joint: (0..states).map(|_| dice.cost()).collect(),
                    moves: if s == 0 { Vec::new() } else { moves },
                    together: (0..pairs).map(|_| dice.roll(2000) as Milli).collect(),
                };
                let kinds = 1 + dice.roll(3) as usize;
                let sums = (0..kinds).map(|_| {
                    let mut counts: Counts = [0; MOST_MARKS];
                    for count in counts.iter_mut().take(marks) {
                        *count = dice.roll(3) as u16;
                    }
                    counts
                });
                let sums: Vec<Counts> = sums.collect();
                let kind = (0..states)
                    .map(|_| dice.roll(kinds as u64) as u16)
                    .collect();
                stages.push(ChoirStage {
                    choices: sizes.iter().map(|n| vec![Default::default(); *n]).collect(),
                    stage,
                    kind,
                    sums,
                });
            }
            let lead = stages[0].stage.joint.iter().map(|_| dice.cost()).collect();
            all.push(ChoirChain {
                parts: Vec::new(),
                stages,
                lead,
            });
        }
        let most = 2 * choirs;
        let table = |dice: &mut Dice| (0..=most).map(|_| dice.roll(5000) as Milli).collect();
        let mark = |dice: &mut Dice| Coverage::made((0..marks).map(|_| table(dice)).collect());
        let coverage = (0..steps).map(|_| mark(&mut dice)).collect();
        Stretch {
            choirs: all,
            coverage,
            pieces: (0..steps).collect(),
            lead_counts: true,
        }
    }

    /// The least cost of all answers, one after the other.
    fn exhaustive(stretch: &Stretch, step: usize, before: &[usize]) -> i64 {
        if step == stretch.len() {
            return 0;
        }
        let states: Vec<usize> = stretch
            .choirs
            .iter()
            .map(|c| c.stages[step].stage.joint.len())
            .collect();
        let mut best = i64::MAX / 4;
        for all in 0..states.iter().product() {
            let now = split(all, &states);
            let mut cost = 0;
            let mut counts: Counts = [0; MOST_MARKS];
            for (c, (choir, at)) in stretch.choirs.iter().zip(&now).enumerate() {
                let own = &choir.stages[step].stage;
                cost += i64::from(own.joint[*at]);
                cost += i64::from(match step {
                    0 => choir.lead[*at],
                    _ => {
                        let was = &choir.stages[step - 1].stage;
                        let (from, to) = (split(before[c], &was.sizes), split(*at, &own.sizes));
                        way_between(own, (before[c], &from), (*at, &to))
                    }
                });
                for (sum, n) in counts.iter_mut().zip(choir.stages[step].adds(*at)) {
                    *sum += n;
                }
            }
            cost += i64::from(stretch.coverage[step].cost(&counts));
            if cost < i64::from(FORBIDDEN) {
                best = best.min(cost + exhaustive(stretch, step + 1, &now));
            }
        }
        best
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]
        #[test]
        fn the_bound_is_never_over_the_best_and_the_cost_never_under_it(
            choirs in 1_usize..4, steps in 1_usize..4, marks in 0_usize..3, seed in any::<u64>()
        ) {
            let stretch = made(choirs, steps, marks, seed);
            let best = exhaustive(&stretch, 0, &[]);
            prop_assume!(best < i64::from(FORBIDDEN));
            let found = solve_stretch(&stretch, &Effort::default(), None);
            prop_assert!(found.bound <= best, "bound {} best {best}", found.bound);
            prop_assert!(found.cost >= best, "cost {} best {best}", found.cost);
            prop_assert_eq!(found.status == Status::Optimal, found.cost == found.bound);
            prop_assert_eq!(found.cost, stretch.cost(&found.paths, 0..steps));
            let one = Effort { threads: 1, ..Effort::default() };
            prop_assert_eq!(&solve_stretch(&stretch, &one, None).paths, &found.paths);
        }
    }
}
