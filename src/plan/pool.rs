//! The ways of scoring each passage that a plan is made of.

use super::habits::Way;
use super::scene::Scene;
use super::solve::PartRole;
use super::space::{MOST_NODES, Space};

/// How many ways of each passage are found at the most.
const MOST_WAYS: usize = 8;
/// Ways of scoring really differ from this distance on (ours): a sixth of the band does something that
/// a listener would call another thing.
pub(super) const REALLY_DIFFERENT: f64 = 0.17;

/// A way of scoring a passage.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Candidate {
    /// A role for every part.
    pub roles: Vec<PartRole>,
    /// What it costs by itself.
    pub cost: f64,
}

/// The ways of scoring a passage, and all that was searched for them.
pub(super) struct Pool<'s, 'a> {
    /// What was searched.
    pub space: Space<'s, 'a>,
    /// The best ways that really differ, the best first; then those of the passage whose music it repeats.
    pub ways: Vec<Candidate>,
    /// No way costs less.
    pub lower_bound: f64,
}

impl Pool<'_, '_> {
    /// The place of the way that has a number.
    pub fn taken(&self, number: Option<usize>) -> Option<usize> {
        let place = number?.checked_sub(1)?;
        (place < self.ways.len()).then_some(place)
    }
}

/// The pools of all passages.
pub(super) fn pools<'s, 'a>(scenes: &'s [Scene<'a>], ways: &[Way]) -> Vec<Pool<'s, 'a>> {
    let mut all: Vec<Pool<'s, 'a>> = Vec::with_capacity(scenes.len());
    for scene in scenes {
        let mut pool = pool(scene, ways);
        let earlier = scene.passage.repeats.and_then(|e| all.get(e));
        let model = earlier.map_or_else(Vec::new, |e| e.ways.clone());
        for way in model {
            let new = pool
                .ways
                .iter()
                .all(|w| scene.apart(&w.roles, &way.roles) >= REALLY_DIFFERENT);
            if new && may(&pool.space, &way.roles) {
                let cost = scene.cost(&way.roles);
                let roles = way.roles;
                pool.ways.push(Candidate { roles, cost });
            }
        }
        all.push(pool);
    }
    all
}

fn pool<'s, 'a>(scene: &'s Scene<'a>, ways: &[Way]) -> Pool<'s, 'a> {
    let space = Space::of(scene, ways);
    let best = space.best(MOST_WAYS, REALLY_DIFFERENT, MOST_NODES);
    let found = best.found.iter().map(|f| Candidate {
        roles: space.roles(&f.picks),
        cost: f.cost,
    });
    Pool {
        ways: found.collect(),
        lower_bound: best.lower_bound,
        space,
    }
}

/// Whether some roles are among what is searched.
fn may(space: &Space<'_, '_>, roles: &[PartRole]) -> bool {
    space.sections.iter().all(|section| {
        let mut parts = section.parts.iter().map(|p| roles[*p]);
        let first = parts.next();
        first.is_some_and(|f| section.options.contains(&f) && parts.all(|r| r == f))
    })
}
