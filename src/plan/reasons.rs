//! Why a passage is scored as it is, and why a part rests, in words.

use super::solve::{PassagePlan, ScoringPlan};
use super::terms::{PlanCost, Tally};
use super::words::listed;
use crate::band::{Band, Family, PartId};
use crate::score::Role;

/// What is paid for, in words, the largest first.
pub(super) fn costs_in_words(tally: &Tally) -> Vec<PlanCost> {
    let say = |(term, points): (super::terms::Term, f64)| PlanCost {
        term,
        points,
        text: format!("{}: {points:.1}", term.name()),
    };
    tally.largest().into_iter().map(say).collect()
}
