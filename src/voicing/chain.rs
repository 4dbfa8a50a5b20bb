//! The cheapest path along a chain of joint states, exactly.
//!
//! A stage's state is one choice for each part. What a state costs may depend on all choices
//! together; what a move costs is a sum over the parts. So the minimum over the previous stage is
//! taken one part at a time (a min-plus product by factors): stages of `n` states with `k` choices
//! a part cost `n·k` a part instead of `n²`. Small choirs may have a cost for the move of all parts
//! together instead.

use super::terms::{FORBIDDEN, Milli};

/// One stage of a chain.
#[derive(Clone, Debug, Default)]
pub struct Stage {
    /// How many choices each part has; never zero.
    pub sizes: Vec<usize>,
    /// Cost of every joint state, the last part's choice running fastest.
    pub joint: Vec<Milli>,
    /// For each part, the cost of coming from choice `i` of the stage before to choice `j`, at
    /// `i * size + j`. Not read at the first stage.
    pub moves: Vec<Vec<Milli>>,
    /// Where not empty, what the move of all parts costs besides, from state `i` to state `j`, at
    /// `i * states + j`.
    pub together: Vec<Milli>,
}

/// The costs of arriving in each state of a stage from the totals of the stage before.
#[must_use]
pub fn arrive(totals: &[Milli], before: &[usize], stage: &Stage) -> Vec<Milli> {
    if !stage.together.is_empty() {
        return arrive_together(totals, before, stage, |_, _, _| ());
    }
    let mut costs = totals.to_vec();
    let mut sizes = before.to_vec();
    for (part, moves) in stage.moves.iter().enumerate() {
        let shape = Shape::of(&sizes, part, stage.sizes[part]);
        costs = arrive_one(&costs, &shape, |i, j| moves[i * shape.now + j]);
        sizes[part] = stage.sizes[part];
    }
    costs
}

/// The costs of going on from each state before to the totals of a stage.
#[must_use]
pub fn depart(totals: &[Milli], before: &[usize], stage: &Stage) -> Vec<Milli> {
    if !stage.together.is_empty() {
        let states: usize = before.iter().product();
        let mut costs = vec![FORBIDDEN; states];
        let arrived = |from: usize, to: usize, cost: Milli| {
            costs[from] = costs[from].min(cost + totals[to]);
        };
        let zero = vec![0; states];
        let _ = arrive_together(&zero, before, stage, arrived);
        return costs;
    }
    let mut costs = totals.to_vec();
    let mut sizes = stage.sizes.clone();
    for (part, moves) in stage.moves.iter().enumerate() {
        let shape = Shape::of(&sizes, part, before[part]);
        let now = stage.sizes[part];
        costs = arrive_one(&costs, &shape, |i, j| moves[j * now + i]);
        sizes[part] = before[part];
    }
    costs
}

/// How the states of a stage lie around one part.
struct Shape {
    outer: usize,
    before: usize,
    now: usize,
    inner: usize,
}

impl Shape {
    fn of(sizes: &[usize], part: usize, now: usize) -> Self {
        Self {
            outer: sizes[..part].iter().product(),
            before: sizes[part],
            now,
            inner: sizes[part + 1..].iter().product(),
        }
    }
}

fn arrive_one(costs: &[Milli], shape: &Shape, way: impl Fn(usize, usize) -> Milli) -> Vec<Milli> {
    let Shape {
        outer,
        before,
        now,
        inner,
    } = *shape;
    let mut next = vec![FORBIDDEN; outer * now * inner];
    if inner == 1 {
        // The last part: its choices lie side by side, so that many are taken in one go.
        let ways: Vec<Milli> = (0..before)
            .flat_map(|i| (0..now).map(move |j| (i, j)))
            .map(|(i, j)| way(i, j))
            .collect();
        for (from, to) in costs.chunks_exact(before).zip(next.chunks_exact_mut(now)) {
            for (cost, row) in from.iter().zip(ways.chunks_exact(now)) {
                for (n, w) in to.iter_mut().zip(row) {
                    *n = (*n).min(cost + w);
                }
            }
        }
        return next;
    }
    for o in 0..outer {
        let from = &costs[o * before * inner..(o + 1) * before * inner];
        let to = &mut next[o * now * inner..(o + 1) * now * inner];
        for (j, row) in to.chunks_exact_mut(inner).enumerate() {
            for (i, costs) in from.chunks_exact(inner).enumerate() {
                let step = way(i, j);
                if step >= FORBIDDEN {
                    continue;
                }
                for (n, c) in row.iter_mut().zip(costs) {
                    *n = (*n).min(c + step);
                }
            }
        }
    }
    next
}

/// The same where the parts move together; `tell` hears every way between states.
fn arrive_together(
    totals: &[Milli],
    before: &[usize],
    stage: &Stage,
    mut tell: impl FnMut(usize, usize, Milli),
) -> Vec<Milli> {
    let states = stage.joint.len();
    let mut next = vec![FORBIDDEN; states];
    let now: Vec<Vec<usize>> = (0..states).map(|s| split(s, &stage.sizes)).collect();
    for (i, total) in totals.iter().enumerate() {
        let from = split(i, before);
        for (j, to) in now.iter().enumerate() {
            let cost = way_between(stage, (i, &from), (j, to));
            tell(i, j, cost);
            next[j] = next[j].min(total + cost);
        }
    }
    next
}

/// What it costs to come from a state before to a state of a stage.
#[must_use]
pub fn way_between(
    stage: &Stage,
    (i, from): (usize, &[usize]),
    (j, to): (usize, &[usize]),
) -> Milli {
    let moves = stage
        .moves
        .iter()
        .zip(&stage.sizes)
        .zip(from.iter().zip(to));
    let alone: Milli = moves
        .map(|((m, size), (a, b))| m[a * size + b])
        .fold(0, |sum, m| (sum + m).min(FORBIDDEN));
    let together = stage
        .together
        .get(i * stage.joint.len() + j)
        .copied()
        .unwrap_or(0);
    (alone + together).min(FORBIDDEN)
}

/// The cheapest path: a state for every stage, and its cost; `joint` may give the states other
/// costs than the stages have. Of equal paths the one with the earlier states from the end. `None`
/// where every path is forbidden.
#[must_use]
pub fn cheapest_path(stages: &[&Stage], joint: &[Vec<Milli>]) -> Option<(Vec<usize>, i64)> {
    let mut totals = joint.first()?.clone();
    let mut base = lift(&mut totals);
    let mut all: Vec<Vec<Milli>> = Vec::with_capacity(stages.len());
    for (pair, own) in stages.windows(2).zip(&joint[1..]) {
        let mut next = arrive(&totals, &pair[0].sizes, pair[1]);
        add(&mut next, own);
        base += lift(&mut next);
        all.push(std::mem::replace(&mut totals, next));
    }
    let (last, cost) = totals.iter().enumerate().min_by_key(|(i, c)| (**c, *i))?;
    if *cost >= FORBIDDEN {
        return None;
    }
    let cost = base + i64::from(*cost);
    all.push(totals.clone());
    let mut path = vec![last];
    let mut at = last;
    for s in (1..stages.len()).rev() {
        at = came_from(&all[s - 1], &stages[s - 1].sizes, stages[s], at);
        path.push(at);
    }
    path.reverse();
    Some((path, cost))
}

/// The state before from which a state of a stage is reached cheapest.
fn came_from(totals: &[Milli], before: &[usize], stage: &Stage, at: usize) -> usize {
    let to = split(at, &stage.sizes);
    let mut best = (Milli::MAX, 0);
    let mut from = vec![0; before.len()];
    for (i, total) in totals.iter().enumerate() {
        // Most states are too dear already.
        if *total < best.0 {
            let cost = total + way_between(stage, (i, &from), (at, &to));
            if cost < best.0 {
                best = (cost, i);
            }
        }
        advance(&mut from, before);
    }
    best.1
}

/// Adds costs state by state; what is forbidden stays so.
pub fn add(costs: &mut [Milli], more: &[Milli]) {
    for (cost, more) in costs.iter_mut().zip(more) {
        *cost = (*cost + more).min(FORBIDDEN);
    }
}

/// Takes the least cost out of all, so that long chains stay small; gives what was taken.
pub fn lift(costs: &mut [Milli]) -> i64 {
    let least = costs.iter().copied().min().unwrap_or(0);
    if least >= FORBIDDEN || least == 0 {
        return 0;
    }
    for cost in costs.iter_mut() {
        *cost = if *cost >= FORBIDDEN {
            FORBIDDEN
        } else {
            *cost - least
        };
    }
    i64::from(least)
}

/// The choices of a joint state.
#[must_use]
pub fn split(mut state: usize, sizes: &[usize]) -> Vec<usize> {
    let mut choices = vec![0; sizes.len()];
    for (choice, size) in choices.iter_mut().zip(sizes).rev() {
        *choice = state % size;
        state /= size;
    }
    choices
}

/// The next joint state's choices.
pub fn advance(at: &mut [usize], sizes: &[usize]) {
    for (digit, size) in at.iter_mut().zip(sizes).rev() {
        *digit += 1;
        if *digit < *size {
            return;
        }
        *digit = 0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every path, one after the other.
    fn exhaustive(stages: &[Stage]) -> Option<i64> {
        fn go(stages: &[Stage], at: usize, before: Option<(usize, &[usize])>) -> i64 {
            let Some(stage) = stages.get(at) else {
                return 0;
            };
            let costs = (0..stage.joint.len()).map(|s| {
                let now = split(s, &stage.sizes);
                let moved = before.map_or(0, |b| way_between(stage, b, (s, &now)));
                i64::from(stage.joint[s]) + i64::from(moved) + go(stages, at + 1, Some((s, &now)))
            });
            costs.min().unwrap_or(i64::MAX / 4)
        }
        Some(go(stages, 0, None)).filter(|c| *c < i64::from(FORBIDDEN))
    }

    fn chain() -> impl Strategy<Value = Vec<Stage>> {
        let sizes = prop::collection::vec(prop::collection::vec(1_usize..4, 2), 1..5);
        (sizes, any::<u64>(), any::<bool>()).prop_map(|(all, seed, dense)| {
            let mut state = seed | 1;
            let mut next = move || {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                if state >> 61 == 0 {
                    FORBIDDEN
                } else {
                    ((state >> 40) % 50) as Milli
                }
            };
            let mut stages: Vec<Stage> = Vec::new();
            for sizes in all {
                let before = stages.last().map_or(vec![1; 2], |s| s.sizes.clone());
                let states: usize = sizes.iter().product();
                let joint = (0..states).map(|_| next()).collect();
                let moves = (0..2)
                    .map(|p| (0..before[p] * sizes[p]).map(|_| next()).collect())
                    .collect();
                let pairs = if dense {
                    before[0] * before[1] * states
                } else {
                    0
                };
                let together = (0..pairs).map(|_| next()).collect();
                stages.push(Stage {
                    sizes,
                    joint,
                    moves,
                    together,
                });
            }
            stages
        })
    }

    fn joints(stages: &[Stage]) -> Vec<Vec<Milli>> {
        stages.iter().map(|s| s.joint.clone()).collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]
        #[test]
        fn the_path_is_the_cheapest_of_all(stages in chain()) {
            let refs: Vec<&Stage> = stages.iter().collect();
            let found = cheapest_path(&refs, &joints(&stages));
            prop_assert_eq!(found.as_ref().map(|f| f.1), exhaustive(&stages));
            if let Some((path, cost)) = found {
                let mut sum = 0_i64;
                for (s, at) in path.iter().enumerate() {
                    sum += i64::from(stages[s].joint[*at]);
                    if s > 0 {
                        let (from, to) = (split(path[s - 1], &stages[s - 1].sizes), split(*at, &stages[s].sizes));
                        sum += i64::from(way_between(&stages[s], (path[s - 1], &from), (*at, &to)));
                    }
                }
                prop_assert_eq!(sum, cost);
            }
        }

        #[test]
        fn forward_and_backward_agree(stages in chain()) {
            let forward = exhaustive(&stages);
            let mut totals = stages.last().unwrap().joint.clone();
            for pair in stages.windows(2).rev() {
                let mut before = depart(&totals, &pair[0].sizes, &pair[1]);
                add(&mut before, &pair[0].joint);
                totals = before;
            }
            let least = totals.iter().min().map(|c| i64::from(*c));
            prop_assert_eq!(least.filter(|c| *c < i64::from(FORBIDDEN)), forward);
        }
    }
}
