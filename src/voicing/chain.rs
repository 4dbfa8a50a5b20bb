//! The cheapest path along a chain of joint states, exactly.
//!
//! A stage's state is one choice for each part. What a state costs may depend on all choices
//! together; what a move costs is a sum over the parts. So the minimum over the previous stage is
//! taken one part at a time (a min-plus product by factors): stages of `n` states with `k` choices
//! a part cost `n·k` a part instead of `n²`.

use super::costs::{FORBIDDEN, Milli};

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
}

/// The cheapest path: a choice for every part at every stage, and its cost. Of equal paths the
/// one with the earlier choices. `None` where every path is forbidden.
#[must_use]
pub fn cheapest_path(stages: &[Stage]) -> Option<(Vec<Vec<usize>>, i64)> {
    let first = stages.first()?;
    let mut best = first.joint.clone();
    let mut base = 0_i64;
    let mut back: Vec<Vec<Vec<u8>>> = Vec::with_capacity(stages.len());
    for pair in stages.windows(2) {
        let (arrived, from) = arrive(&best, &pair[0].sizes, &pair[1]);
        best = arrived
            .iter()
            .zip(&pair[1].joint)
            .map(|(a, j)| (a + j).min(FORBIDDEN))
            .collect();
        base += lift(&mut best);
        back.push(from);
    }
    let (at, cost) = best.iter().enumerate().min_by_key(|(i, c)| (**c, *i))?;
    if *cost >= FORBIDDEN {
        return None;
    }
    Some((walk_back(stages, &back, at), base + i64::from(*cost)))
}

/// Takes the least cost out of all, so that long chains stay small; gives what was taken.
fn lift(costs: &mut [Milli]) -> i64 {
    let least = costs.iter().copied().min().unwrap_or(0);
    if least >= FORBIDDEN {
        return 0;
    }
    for cost in costs.iter_mut().filter(|c| **c < FORBIDDEN) {
        *cost -= least;
    }
    i64::from(least)
}

/// Costs of arriving in each state of a stage, and for each part the choice it came from.
fn arrive(best: &[Milli], before: &[usize], stage: &Stage) -> (Vec<Milli>, Vec<Vec<u8>>) {
    let mut costs = best.to_vec();
    let mut sizes = before.to_vec();
    let mut back = Vec::with_capacity(sizes.len());
    for (part, moves) in stage.moves.iter().enumerate() {
        let (next, from) = arrive_one(&costs, &sizes, part, stage.sizes[part], moves);
        sizes[part] = stage.sizes[part];
        costs = next;
        back.push(from);
    }
    (costs, back)
}

fn arrive_one(
    costs: &[Milli],
    sizes: &[usize],
    part: usize,
    now: usize,
    moves: &[Milli],
) -> (Vec<Milli>, Vec<u8>) {
    let inner: usize = sizes[part + 1..].iter().product();
    let outer: usize = sizes[..part].iter().product();
    let before = sizes[part];
    let mut next = vec![FORBIDDEN; outer * now * inner];
    let mut from = vec![0_u8; next.len()];
    for o in 0..outer {
        for j in 0..now {
            let to = (o * now + j) * inner;
            for i in 0..before {
                let step = moves[i * now + j];
                let start = (o * before + i) * inner;
                for n in 0..inner {
                    let cost = (costs[start + n] + step).min(FORBIDDEN);
                    if cost < next[to + n] {
                        next[to + n] = cost;
                        from[to + n] = i as u8;
                    }
                }
            }
        }
    }
    (next, from)
}

fn walk_back(stages: &[Stage], back: &[Vec<Vec<u8>>], last: usize) -> Vec<Vec<usize>> {
    let mut path = Vec::with_capacity(stages.len());
    let Some(end) = stages.last() else {
        return path;
    };
    let mut choices = split(last, &end.sizes);
    path.push(choices.clone());
    for (stage, from) in (1..stages.len()).rev().map(|s| (s, &back[s - 1])) {
        let mut sizes = stages[stage].sizes.clone();
        for part in (0..sizes.len()).rev() {
            choices[part] = usize::from(from[part][join(&choices, &sizes)]);
            sizes[part] = stages[stage - 1].sizes[part];
        }
        path.push(choices.clone());
    }
    path.reverse();
    path
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

fn join(choices: &[usize], sizes: &[usize]) -> usize {
    choices
        .iter()
        .zip(sizes)
        .fold(0, |state, (c, s)| state * s + c)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every path, one after the other.
    fn exhaustive(stages: &[Stage]) -> Option<i64> {
        fn go(stages: &[Stage], at: usize, before: Option<&[usize]>) -> i64 {
            let Some(stage) = stages.get(at) else {
                return 0;
            };
            let states: usize = stage.sizes.iter().product();
            let costs = (0..states).map(|s| {
                let now = split(s, &stage.sizes);
                let moved: i64 = before.map_or(0, |b| {
                    (0..now.len())
                        .map(|p| i64::from(stage.moves[p][b[p] * stage.sizes[p] + now[p]]))
                        .sum()
                });
                i64::from(stage.joint[s]) + moved + go(stages, at + 1, Some(&now))
            });
            costs.min().unwrap_or(i64::MAX / 4)
        }
        Some(go(stages, 0, None)).filter(|c| *c < i64::from(FORBIDDEN))
    }

    fn chain() -> impl Strategy<Value = Vec<Stage>> {
        let sizes = prop::collection::vec(prop::collection::vec(1_usize..4, 2), 1..5);
        (sizes, any::<u64>()).prop_map(|(all, seed)| {
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
                let joint = (0..sizes.iter().product()).map(|_| next()).collect();
                let moves = (0..2)
                    .map(|p| (0..before[p] * sizes[p]).map(|_| next()).collect())
                    .collect();
                stages.push(Stage {
                    sizes,
                    joint,
                    moves,
                });
            }
            stages
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]
        #[test]
        fn the_path_is_the_cheapest_of_all(stages in chain()) {
            let found = cheapest_path(&stages);
            prop_assert_eq!(found.as_ref().map(|f| f.1), exhaustive(&stages));
            if let Some((path, cost)) = found {
                let mut sum = 0_i64;
                for (s, choices) in path.iter().enumerate() {
                    sum += i64::from(stages[s].joint[join(choices, &stages[s].sizes)]);
                    if s > 0 {
                        for (p, c) in choices.iter().enumerate() {
                            sum += i64::from(stages[s].moves[p][path[s - 1][p] * stages[s].sizes[p] + c]);
                        }
                    }
                }
                prop_assert_eq!(sum, cost);
            }
        }
    }
}
