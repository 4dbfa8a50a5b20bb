//! What the moves of both parts of a choir of two cost together, and where that is seen at all.

use super::candidates::Choice;
use super::chain::split;
use super::chords::Chords;
use super::moves::tell_together;
use super::terms::{Milli, Sum};
use crate::band::PartId;

/// Choirs whose states before and now make no more pairs than this have costs for moving together.
const MOST_TOGETHER: usize = 20_000;

impl Chords<'_> {
    /// Costs of moving together, for choirs of two.
    pub(super) fn together(
        &self,
        parts: &[PartId],
        was: &[Vec<Choice>],
        now: &[Vec<Choice>],
    ) -> Vec<Milli> {
        let states = |choices: &[Vec<Choice>]| choices.iter().map(Vec::len).product::<usize>();
        let (before, after) = (states(was), states(now));
        if !self.is_pair(parts) || before * after > MOST_TOGETHER {
            return Vec::new();
        }
        let picked = |choices: &[Vec<Choice>], state| {
            let sizes: Vec<usize> = choices.iter().map(Vec::len).collect();
            let at = split(state, &sizes);
            choices
                .iter()
                .zip(at)
                .map(|(c, i)| c[i])
                .collect::<Vec<_>>()
        };
        let to: Vec<Vec<Choice>> = (0..after).map(|j| picked(now, j)).collect();
        let mut costs = Vec::with_capacity(before * after);
        for from in (0..before).map(|i| picked(was, i)) {
            for to in &to {
                let mut sum = Sum::new(self.problem.weights);
                tell_together(&from, to, &mut sum);
                costs.push(sum.milli);
            }
        }
        if costs.iter().all(|c| *c == 0) {
            return Vec::new();
        }
        costs
    }

    /// Whether a choir is one of two parts whose moves together are seen: with a greatest leap a part
    /// remembers its last note, and there are too many states.
    fn is_pair(&self, parts: &[PartId]) -> bool {
        let limited = |id: &PartId| self.problem.band.part(*id).limits.max_leap.is_some();
        parts.len() == 2 && !parts.iter().any(limited)
    }

    /// Whether moving together into a step costs anything for a choir.
    #[must_use]
    pub fn counts_together(&self, parts: &[PartId], s: usize) -> bool {
        let states = |s: usize| {
            let sizes = parts
                .iter()
                .map(|id| self.choices(*id, s, parts.len(), &[]).len());
            sizes.product::<usize>()
        };
        let before = s.checked_sub(1).filter(|_| self.is_pair(parts));
        before.is_some_and(|b| states(b) * states(s) <= MOST_TOGETHER)
    }
}
