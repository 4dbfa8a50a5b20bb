//! The best-scored way through candidate notes: a shortest path over onsets, rests allowed.

/// How many onsets back a line may have its last note and still lead from it.
const REACH: usize = 12;
/// What a line loses that rests longer than that. Chosen by trial.
const LONG_REST: f64 = 1.0;

/// A note that a line may take.
#[derive(Clone, Copy, Debug)]
pub(super) struct Candidate {
    /// Index of its onset.
    pub(super) onset: usize,
    /// Index of the note.
    pub(super) note: usize,
    /// What the line gains by taking it; taking none gains 0.
    pub(super) score: f64,
}

/// The chosen candidates, at most one an onset, as indices into `candidates` (which are in order
/// of onset). `lead` is what a move from one note to the next costs (negative) or gains.
pub(super) fn best_path(
    candidates: &[Candidate],
    lead: impl Fn(usize, usize) -> f64,
) -> Vec<usize> {
    let mut best: Vec<(f64, Option<usize>)> = Vec::with_capacity(candidates.len());
    let mut window = 0;
    let mut far: Option<usize> = None;
    for (i, candidate) in candidates.iter().enumerate() {
        while candidates[window].onset + REACH < candidate.onset {
            if far.is_none_or(|f| best[window].0 > best[f].0) {
                far = Some(window);
            }
            window += 1;
        }
        let mut choice = (0.0, None);
        if let Some(f) = far
            && best[f].0 - LONG_REST > choice.0
        {
            choice = (best[f].0 - LONG_REST, Some(f));
        }
        for (p, before) in candidates[window..i].iter().enumerate() {
            if before.onset == candidate.onset {
                break;
            }
            let gain = best[window + p].0 + lead(before.note, candidate.note);
            if gain > choice.0 {
                choice = (gain, Some(window + p));
            }
        }
        best.push((choice.0 + candidate.score, choice.1));
    }
    trace(&best)
}

fn trace(best: &[(f64, Option<usize>)]) -> Vec<usize> {
    let mut at = (0..best.len())
        .max_by(|a, b| best[*a].0.total_cmp(&best[*b].0))
        .filter(|i| best[*i].0 > 0.0);
    let mut path = Vec::new();
    while let Some(i) = at {
        path.push(i);
        at = best[i].1;
    }
    path.reverse();
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_best_sum_wins_and_losses_are_left_out() {
        let candidate = |onset, note, score| Candidate { onset, note, score };
        let list = [
            candidate(0, 0, 1.0),
            candidate(1, 1, -0.5),
            candidate(2, 2, 1.0),
            candidate(2, 3, 1.5),
        ];
        let lead = |_: usize, to: usize| if to == 3 { -1.0 } else { 0.0 };
        assert_eq!(best_path(&list, lead), [0, 2]);
        assert_eq!(best_path(&list[1..2], lead), [] as [usize; 0]);
        assert_eq!(best_path(&[], lead), [] as [usize; 0]);
    }
}
