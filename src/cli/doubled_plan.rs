//! What happens to the demo's scoring plan when one of its terms counts double or nothing, as a table in
//! Markdown.

use crate::band::Band;
use crate::plan::{PlanWeights, ScoringPlan, Term, apart};
use crate::project::made_ready::{MadeReady, PlanChoice};
use crate::project::whole_way::WholeWay;
use crate::sketch::{ReadOptions, Song};
use std::collections::BTreeMap;

/// The table: a row for every term of the plan. `way` is the usual answer.
pub(super) fn rows(song: &Song, band: &Band, way: &WholeWay) -> Vec<String> {
    let options = ReadOptions {
        leave_out: &way.own_tracks,
        ..ReadOptions::default()
    };
    let demo = Demo {
        song,
        band,
        way,
        ready: MadeReady::of(song, band, &options),
    };
    let head = [
        "| term | unit | points | when doubled | when off | source |",
        "|---|---|---|---|---|---|",
    ];
    let rows = Term::ALL.iter().map(|term| demo.row(*term));
    head.into_iter().map(str::to_owned).chain(rows).collect()
}

struct Demo<'a> {
    song: &'a Song,
    band: &'a Band,
    way: &'a WholeWay,
    ready: MadeReady,
}

impl Demo<'_> {
    fn plan(&self, term: Term, times: f64) -> ScoringPlan {
        let weights = PlanWeights::default().scaled(term, times);
        let choice = PlanChoice {
            weights: &weights,
            taken: &BTreeMap::new(),
        };
        self.ready
            .plan_with(self.song, self.band, &self.way.locks, choice)
    }

    fn row(&self, term: Term) -> String {
        let double = self.plan(term, 2.0);
        let (was, is) = (paid(&self.way.plan, term), paid(&double, term) / 2.0);
        let units = |points: f64| format!("{:.1}", points / term.points());
        let doubled = format!("{} to {}; {}", units(was), units(is), self.change(&double));
        let off = self.change(&self.plan(term, 0.0));
        format!(
            "| {} `{}` | {} | {} | {doubled} | {off} | {} |",
            term.name(),
            term.key(),
            term.unit(),
            term.points(),
            term.source()
        )
    }

    /// How much of the usual plan is scored otherwise, in words.
    fn change(&self, other: &ScoringPlan) -> String {
        let pairs = self.way.plan.passages.iter().zip(&other.passages);
        let each: Vec<f64> = pairs
            .map(|(a, b)| apart(self.band, &a.roles, &b.roles))
            .collect();
        let others = each.iter().filter(|d| **d > 0.0).count();
        if others == 0 {
            return "the same plan".to_owned();
        }
        let mean = each.iter().sum::<f64>() / each.len() as f64;
        format!(
            "{others} of {} passages scored otherwise, {:.0} % of the band in the mean",
            each.len(),
            mean * 100.0
        )
    }
}

/// What all passages pay for a term, in points.
fn paid(plan: &ScoringPlan, term: Term) -> f64 {
    let all = plan.passages.iter().flat_map(|p| &p.terms);
    // A sum of nothing is minus zero.
    0.0 + all
        .filter(|c| c.term == term)
        .map(|c| c.points)
        .sum::<f64>()
}
