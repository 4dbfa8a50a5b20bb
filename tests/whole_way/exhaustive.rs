//! The whole model of the chords against every answer there is, on cases small enough for that.

use super::resolve::with_weights;
use super::strategies::{lanes, locks, said, sketch, small_band, with_remarks};
use crate::midi_file::File;
use bandwright::band::Band;
use bandwright::sketch::Song;
use bandwright::voicing::chain::split;
use bandwright::voicing::chords::Chords;
use bandwright::voicing::coverage::{Counts, MOST_MARKS};
use bandwright::voicing::solve::Ready;
use bandwright::voicing::stretch::{ChoirChain, Stretch};
use bandwright::voicing::terms::FORBIDDEN;
use bandwright::voicing::{Effort, Status, Weights};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

/// At most so many answers for one step are gone through.
const MOST_STATES: usize = 800;
/// An answer that is not allowed costs this at the least.
const TOO_DEAR: i64 = FORBIDDEN as i64;

/// The chords of a sketch for a band, as the whole way makes them ready.
pub fn with_chords<T>(
    song: &Song,
    band: &Band,
    weights: &Weights,
    tell: impl FnOnce(&Chords<'_>) -> T,
) -> T {
    with_weights(song, band, None, weights, |problem| {
        let ready = Ready::of(problem);
        let around = ready.around(problem);
        tell(&ready.chords(&around))
    })
}

/// One answer for one step: a state of every choir, with what it costs by itself.
struct Answer {
    states: Vec<usize>,
    cost: i64,
}

/// All answers for a step, what choirs share added up note by note.
fn answers(stretch: &Stretch, units: &[u16], s: usize) -> Vec<Answer> {
    let mut all = vec![Vec::new()];
    for choir in &stretch.choirs {
        let states = 0..choir.stages[s].stage.joint.len();
        all = all
            .iter()
            .flat_map(|before: &Vec<usize>| {
                states.clone().map(move |s| [&before[..], &[s]].concat())
            })
            .collect();
    }
    let answer = |states: Vec<usize>| {
        let cost = cost_of_states(stretch, units, s, &states);
        Answer { states, cost }
    };
    all.into_iter().map(answer).collect()
}

fn cost_of_states(stretch: &Stretch, units: &[u16], s: usize, states: &[usize]) -> i64 {
    let mut counts: Counts = [0; MOST_MARKS];
    let mut cost = 0;
    for (choir, state) in stretch.choirs.iter().zip(states) {
        let stage = &choir.stages[s];
        cost += i64::from(stage.stage.joint[*state]);
        let at = split(*state, &stage.stage.sizes);
        for ((part, choices), at) in choir.parts.iter().zip(&stage.choices).zip(at) {
            stretch.coverage[s].add(&mut counts, choices[at], units[part.0]);
        }
    }
    for (mark, n) in counts.iter().enumerate().take(stretch.coverage[s].len()) {
        cost += i64::from(stretch.coverage[s].table(mark)[usize::from(*n)]);
    }
    cost
}

/// What it costs a choir to come from a state before to one now, read from the tables.
fn way(choir: &ChoirChain, s: usize, from: usize, to: usize) -> i64 {
    let (was, now) = (&choir.stages[s - 1].stage, &choir.stages[s].stage);
    let (a, b) = (split(from, &was.sizes), split(to, &now.sizes));
    let alone: i64 = now
        .moves
        .iter()
        .enumerate()
        .map(|(p, moves)| i64::from(moves[a[p] * now.sizes[p] + b[p]]))
        .sum();
    let together = now.together.get(from * now.joint.len() + to);
    alone + together.map_or(0, |t| i64::from(*t))
}

fn lead(stretch: &Stretch, states: &[usize]) -> i64 {
    let each = stretch.choirs.iter().zip(states);
    each.map(|(c, s)| i64::from(c.lead[*s])).sum()
}

/// The least cost of all answers: every answer of every step from every answer of the one before.
pub fn least(stretch: &Stretch, units: &[u16]) -> i64 {
    let first = answers(stretch, units, 0);
    let mut before: Vec<(Vec<usize>, i64)> = first
        .into_iter()
        .map(|a| {
            let cost = a.cost + lead(stretch, &a.states);
            (a.states, cost)
        })
        .collect();
    for s in 1..stretch.len() {
        // What each choir's ways cost, each worked out once.
        let ways: Vec<Vec<Vec<i64>>> = stretch
            .choirs
            .iter()
            .map(|c| {
                let (was, now) = (&c.stages[s - 1].stage, &c.stages[s].stage);
                let row = |a| (0..now.joint.len()).map(|b| way(c, s, a, b)).collect();
                (0..was.joint.len()).map(row).collect()
            })
            .collect();
        let next = answers(stretch, units, s).into_iter().map(|now| {
            let arrive = before.iter().map(|(states, cost)| {
                let pairs = ways.iter().zip(states.iter().zip(&now.states));
                cost + pairs.map(|(w, (a, b))| w[*a][*b]).sum::<i64>()
            });
            let cost = arrive.min().unwrap() + now.cost;
            (now.states, cost)
        });
        before = next.collect();
    }
    before.into_iter().map(|(_, cost)| cost).min().unwrap()
}

/// What was found for a small case, if it was small enough.
#[derive(Debug)]
struct Found {
    least: i64,
    cost: i64,
    bound: i64,
    status: Status,
    /// The sum of the account of the answer.
    account: i64,
}

fn solve_small(song: &Song, band: &Band, at: usize, long: usize) -> Option<Found> {
    let weights = Weights::default();
    with_chords(song, band, &weights, |chords| {
        let steps = chords.steps.len();
        let from = at % steps.max(1);
        let range = from..(from + long).min(steps);
        if range.is_empty() {
            return None;
        }
        let effort = Effort {
            threads: 1,
            ..Effort::default()
        };
        let (stretch, _) = chords.stretch(range.clone(), None, &effort);
        let small = (0..stretch.len()).all(|s| {
            let sizes = stretch.choirs.iter().map(|c| c.stages[s].stage.joint.len());
            sizes.product::<usize>() <= MOST_STATES
        });
        if !small {
            return None;
        }
        let least = least(&stretch, chords.units());
        let solved = chords.solve(range.clone(), &effort, &mut |_| {});
        let account = chords.account(&solved.chosen, range, &weights);
        Some(Found {
            least,
            cost: solved.cost,
            bound: solved.bound,
            status: solved.status,
            account: account.iter().map(|e| i64::from(e.cost)).sum(),
        })
    })
}

fn wrong(found: &Found) -> Option<&'static str> {
    let Found {
        least, cost, bound, ..
    } = *found;
    if least >= TOO_DEAR {
        return Some("no answer is allowed, though resting always is");
    }
    match () {
        () if bound > least => Some("the bound is over the least"),
        () if cost < least => Some("the cost is under the least"),
        () if found.account != cost => Some("the account does not add up to the cost"),
        () if found.status == Status::Optimal && cost != least => Some("optimal is not the least"),
        () if cost == bound && found.status != Status::Optimal => Some("optimal is not said"),
        () => None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(3000) })]

    #[test]
    fn bound_least_and_cost_are_in_order(
        band in small_band(),
        said in said(),
        sketch in sketch(),
        own in locks(),
        at in 0..40_usize,
        long in 1..5_usize,
    ) {
        let band = with_remarks(&band, &said);
        let mut sketch = sketch;
        let own = lanes(&own, &band, &sketch);
        sketch.lanes.extend(own);
        if let Some(found) = solve_small(&sketch.song(), &band, at, long) {
            prop_assert_eq!(wrong(&found), None, "{:?}", found);
        }
    }
}

/// Short cases are nearly always solved to the least, and enough of them have something to choose.
#[test]
fn small_cases_are_solved() {
    let mut runner = TestRunner::deterministic();
    let cases = (small_band(), sketch(), 0..40_usize, 1..5_usize);
    let (mut all, mut equal, mut choice) = (0, 0, 0);
    for _ in 0..2000 {
        let (band, sketch, at, long): (Band, File, usize, usize) =
            cases.new_tree(&mut runner).unwrap().current();
        if let Some(found) = solve_small(&sketch.song(), &band, at, long) {
            all += 1;
            equal += usize::from(found.cost == found.least);
            choice += usize::from(found.least > 0);
        }
    }
    assert!(all >= 800 && choice >= 300, "{choice} of {all}");
    assert!(equal * 100 >= all * 98, "{equal} of {all} are the least");
}
