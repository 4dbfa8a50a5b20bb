//! The cheapest way through stages, one choice at each.

/// The cheapest choice of one of several at each stage, and what it costs: the sum of what each costs by itself
/// and of what it costs to come from the choice before. Exact; of equals the earlier choice. Nothing where a stage
/// has no choice.
pub(super) fn cheapest_path(
    own: &[Vec<f64>],
    step: &dyn Fn(usize, usize, usize) -> f64,
) -> (Vec<usize>, f64) {
    let Some(first) = own.first() else {
        return (Vec::new(), 0.0);
    };
    let mut best = first.clone();
    let mut back: Vec<Vec<usize>> = Vec::new();
    for (stage, now) in own.iter().enumerate().skip(1) {
        let arrive = |to: usize| {
            let ways = best.iter().enumerate();
            let ways = ways.map(|(from, b)| (from, b + step(stage, from, to)));
            ways.min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((0, 0.0))
        };
        let arrivals: Vec<(usize, f64)> = (0..now.len()).map(arrive).collect();
        let costs = arrivals.iter().zip(now).map(|((_, c), own)| c + own);
        best = costs.collect();
        back.push(arrivals.into_iter().map(|(from, _)| from).collect());
    }
    let last = best.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1));
    let Some((mut at, cost)) = last.map(|(i, c)| (i, *c)) else {
        return (Vec::new(), 0.0);
    };
    let mut path = vec![at];
    for stage in back.iter().rev() {
        at = stage[at];
        path.push(at);
    }
    path.reverse();
    (path, cost)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::collection::vec;
    use proptest::prelude::*;

    fn cheapest(own: &[Vec<f64>], steps: &[f64], at: usize, from: Option<usize>) -> f64 {
        let Some(here) = own.get(at) else { return 0.0 };
        let cost = |to: usize| {
            let step = from.map_or(0.0, |f| steps[(7 * at + 3 * f + to) % steps.len()]);
            here[to] + step + cheapest(own, steps, at + 1, Some(to))
        };
        (0..here.len()).map(cost).fold(f64::INFINITY, f64::min)
    }

    proptest! {
        #[test]
        fn the_path_is_the_cheapest_of_all(
            own in vec(vec(0.0..5.0_f64, 1..4), 1..6),
            steps in vec(0.0..5.0_f64, 11),
        ) {
            let step = |at: usize, from: usize, to: usize| steps[(7 * at + 3 * from + to) % steps.len()];
            let (path, cost) = cheapest_path(&own, &step);
            prop_assert_eq!(path.len(), own.len());
            let sum: f64 = (0..own.len()).map(|i| {
                own[i][path[i]] + i.checked_sub(1).map_or(0.0, |b| step(i, path[b], path[i]))
            }).sum();
            prop_assert!((cost - sum).abs() < 1e-9);
            prop_assert!((cost - cheapest(&own, &steps, 0, None)).abs() < 1e-9);
        }
    }
}
