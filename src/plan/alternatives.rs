//! Other ways of scoring a passage that the arranger may take, and what to call any way.

use super::chosen::Chosen;
use super::pool::{Pool, REALLY_DIFFERENT};
use super::scene::Scene;
use super::show::Show;
use super::solve::PartRole;
use super::terms::{PlanCost, Tally, Term};
use super::words::{changes, doing};

/// Another way of scoring a passage.
#[derive(Clone, PartialEq, Debug)]
pub struct Alternative {
    /// The number by which it is taken. It does not change with what is taken elsewhere.
    pub number: usize,
    /// A role for every part.
    pub roles: Vec<PartRole>,
    /// What it does, in words.
    pub way: String,
    /// What it changes against the chosen way, in words.
    pub changes: String,
    /// What the whole plan would cost more if only this were changed, in points; less than 0 only beside
    /// a way that the arranger took.
    pub cost_more: f64,
    /// What makes the difference, the largest first: points under 0 where it is better.
    pub terms: Vec<PlanCost>,
    /// How far it is from the chosen way, 0 to 1.
    pub differs: f64,
}

/// What to call a way: what it does.
pub(super) fn name(scene: &Scene<'_>, roles: &[PartRole]) -> String {
    doing(scene.stage.band, roles)
}

/// The other ways of a passage, by number.
pub(super) fn alternatives(
    show: &Show<'_, '_>,
    pool: &Pool<'_, '_>,
    chosen: &Chosen,
    at: usize,
) -> Vec<Alternative> {
    let scene = &show.scenes[at];
    let now = &chosen.roles()[at];
    let ways = pool.ways.iter().enumerate();
    let far = ways.filter(|(_, w)| scene.apart(&w.roles, now) >= REALLY_DIFFERENT);
    far.map(|(i, way)| {
        let here = show.around(at, now, chosen);
        let there = show.around(at, &way.roles, chosen);
        Alternative {
            number: i + 1,
            way: name(scene, &way.roles),
            changes: changes(scene.stage.band, now, &way.roles),
            cost_more: there.sum() - here.sum(),
            terms: difference(&here, &there),
            differs: scene.apart(&way.roles, now),
            roles: way.roles.clone(),
        }
    })
    .collect()
}

/// What makes the difference between two plans, the largest first.
fn difference(now: &Tally, other: &Tally) -> Vec<PlanCost> {
    let all = Term::ALL.iter().map(|term| {
        let points = other.0[*term as usize] - now.0[*term as usize];
        PlanCost {
            term: *term,
            points,
            text: term.name().to_owned(),
        }
    });
    let mut all: Vec<PlanCost> = all.filter(|c| c.points.abs() > 0.05).collect();
    all.sort_by(|a, b| b.points.abs().total_cmp(&a.points.abs()));
    all
}
