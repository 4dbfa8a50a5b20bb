//! The scoring plan of a whole piece: the best ways of every passage, a cheapest path through them, and what fits
//! each passage better to those around it.

use super::alternatives::{Alternative, alternatives, name};
use super::chosen::Chosen;
use super::closed::{close_for_doubles, close_for_keys, close_for_rests, rest_bars};
use super::drums::{DrumMusic, give_drums};
use super::estimates::{PartLoads, Powers, load_steps};
use super::figures::{FigurePlan, give_figure, keep_turns};
use super::fit::ChanceCosts;
use super::fits::Fits;
use super::habits::{Way, usual_ways};
use super::line::Lines;
use super::path::cheapest_path;
use super::pool::{Pool, pools};
use super::reasons::{RestReason, costs_in_words, rest_reasons};
use super::scene::{Scene, Stage};
use super::settle::settle;
use super::show::Show;
use super::terms::{PlanCost, PlanWeights};
use super::usual::usual_in;
use crate::band::Band;
use crate::band::chance::usual_posture;
use crate::band::load::Conditions;
use crate::music::{KeySignature, MeterMap, TempoMap, Tick};
use crate::score::{Closed, Locks, Passage, Role};
use crate::sketch::Reading;
use std::collections::BTreeMap;

/// What a part does in a passage.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct PartRole {
    /// Its role.
    pub role: Role,
    /// Octaves above the sketch's line that are wished for (melody only).
    pub octave: i16,
}

/// A passage with a role for every part.
#[derive(Clone, PartialEq, Debug)]
pub struct PassagePlan {
    /// The passage.
    pub passage: Passage,
    /// What the way of scoring does, in words.
    pub way: String,
    /// A role for every part of the band, in its order.
    pub roles: Vec<PartRole>,
    /// How its figures are played, if it has any.
    pub figure: Option<FigurePlan>,
    /// What it costs, term by term, the largest first: by itself, coming from the passage before, and in lips.
    pub terms: Vec<PlanCost>,
    /// The number of this way among those that the arranger may take; `None` where it was fitted further to
    /// what stands around it.
    pub number: Option<usize>,
    /// Whether the arranger took it.
    pub taken: bool,
    /// Other ways, each really different from this one and from each other, by number.
    pub others: Vec<Alternative>,
    /// Why each part that rests does so, in the band's order.
    pub rests: Vec<RestReason>,
}

/// The roles of all parts in all passages.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct ScoringPlan {
    /// The passages in order.
    pub passages: Vec<PassagePlan>,
    /// Where parts may play nothing, whatever their role.
    pub closed: Closed,
    /// Total cost in points.
    pub cost: f64,
    /// No plan costs less: the sum of what each passage costs at least by itself. What comes between
    /// passages, load and rests are reckoned as nothing, so that this is far under the cost of many a best plan.
    pub lower_bound: f64,
}

impl ScoringPlan {
    /// The passage that a tick lies in; after the last one, the last.
    #[must_use]
    pub fn passage(&self, at: Tick) -> Option<&PassagePlan> {
        let next = self.passages.partition_point(|p| p.passage.start <= at);
        self.passages.get(next.checked_sub(1)?)
    }
}

/// All that a plan follows from.
#[derive(Clone, Copy, Debug)]
pub struct Setting<'a> {
    /// The band.
    pub band: &'a Band,
    /// What is played of the sketch.
    pub reading: &'a Reading,
    /// Its lines as one player could play them.
    pub lines: &'a Lines,
    /// The passages.
    pub passages: &'a [Passage],
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// Tempos.
    pub tempo: &'a TempoMap,
    /// The signatures that the file writes, in order.
    pub signatures: &'a [(Tick, KeySignature)],
    /// What the arranger fixed.
    pub locks: &'a Locks,
    /// How much each term of the plan counts.
    pub weights: &'a PlanWeights,
    /// Whether players count as loud as they reliably play: so where a timeline says how loud it is to be. Else the
    /// sketch's own dynamics count as they are.
    pub reliable: bool,
    /// Ways that the arranger took: passage to number, see [`PassagePlan::others`]. A number that is not there
    /// changes nothing.
    pub taken: &'a BTreeMap<usize, usize>,
}

/// The best scoring plan that is found for a band over some passages. Of each passage the best ways that
/// really differ are found by branch and bound (exactly, but where that takes too many steps), and among them
/// a cheapest path; then each section of each passage is fitted to what stands around it, with load and
/// rests, until nothing is gained.
/// `figures` says how the figures of each passage are played (empty: nobody keeps any); parts that
/// carry them are chosen with the rest.
#[must_use]
pub fn plan(setting: &Setting<'_>, figures: Vec<Option<FigurePlan>>) -> ScoringPlan {
    let closed = closed_for_keys(setting);
    let ways = usual_ways().unwrap_or_default();
    let stage = Stage::of(setting);
    let scenes = scenes(setting, &stage, &closed, &ways, &figures);
    let pools = pools(&scenes, &ways);
    let loads = loads(setting);
    let show = Show::of(&scenes, &loads, tight(setting));
    let chosen = choose(&show, &pools, setting.taken);
    let lower_bound = lower_bound(&pools, setting.taken);
    let mut passages: Vec<PassagePlan> = (0..scenes.len())
        .map(|at| in_words(&show, &pools, &chosen, at, setting.taken))
        .collect();
    for (planned, figure) in passages.iter_mut().zip(figures) {
        planned.figure = figure;
    }
    finish(setting, passages, closed, show.cost(&chosen), lower_bound)
}

/// What follows from the roles: who plays figures in turn, and where parts play nothing.
fn finish(
    setting: &Setting<'_>,
    mut passages: Vec<PassagePlan>,
    mut closed: Closed,
    cost: f64,
    lower_bound: f64,
) -> ScoringPlan {
    let band = setting.band;
    for planned in &mut passages {
        give_figure(band, &closed, planned);
    }
    keep_turns(&mut passages);
    give_drums(band, &drum_music(setting), &mut passages);
    // Figures and drums may have been given to who rested.
    for planned in &mut passages {
        let roles = &planned.roles;
        let rests = |r: &RestReason| roles.get(r.part.0).is_some_and(|r| r.role == Role::Rest);
        planned.rests.retain(rests);
    }
    let time = (setting.meters, setting.tempo);
    close_for_doubles(band, &mut passages, time, setting.locks, &mut closed);
    let music = rest_bars::Music {
        band,
        reading: setting.reading,
        lines: setting.lines,
        meters: setting.meters,
        locks: setting.locks,
        passages: &passages,
    };
    close_for_rests(&music, &mut closed);
    ScoringPlan {
        passages,
        closed,
        cost,
        lower_bound,
    }
}

/// For tests: the passages of a setting as they are weighed, and the usual ways.
#[cfg(test)]
pub(super) fn scenes_of(setting: &Setting<'_>, look: &dyn Fn(&[Scene<'_>], &[Way])) {
    let ways = usual_ways().unwrap_or_default();
    let stage = Stage::of(setting);
    let closed = closed_for_keys(setting);
    look(&scenes(setting, &stage, &closed, &ways, &[]), &ways);
}

fn scenes<'a>(
    setting: &Setting<'_>,
    stage: &'a Stage<'a>,
    closed: &Closed,
    ways: &[Way],
    figures: &[Option<FigurePlan>],
) -> Vec<Scene<'a>> {
    let costs = ChanceCosts::of_band(setting.band);
    let powers = Powers::of_passages(setting);
    let passages = setting.passages.iter().zip(powers).enumerate();
    let scene = |(i, (passage, powers)): (usize, (&Passage, Powers))| {
        let fits = Fits::of(setting, &costs, closed, passage);
        let figure = figures.get(i).cloned().flatten();
        let mut scene = Scene::of(stage, i, *passage, fits, powers, figure);
        let able = scene.figure_wants().and(scene.figure.as_ref());
        let able = able.map(|f| f.carriers.as_slice());
        scene.usual = usual_in(setting.band, ways, &scene.fits, able);
        scene
    };
    passages.map(scene).collect()
}

/// What every passage does to the lips: as the band usually plays, fresh.
fn loads(setting: &Setting<'_>) -> Vec<Vec<PartLoads>> {
    let conditions = Conditions {
        posture: usual_posture(setting.band),
        ..Conditions::default()
    };
    // The built-in table reads; a test shows it.
    load_steps(setting, conditions).unwrap_or_default()
}

/// Whether the tune goes on into each passage without a breath.
fn tight(setting: &Setting<'_>) -> Vec<bool> {
    let notes = &setting.lines.melody.notes;
    let into = |passage: &Passage| {
        let next = notes.partition_point(|n| n.onset < passage.start);
        let before = next.checked_sub(1).and_then(|b| notes.get(b));
        let pair = before.zip(notes.get(next));
        pair.is_some_and(|(before, now)| before.end >= now.onset)
    };
    setting.passages.iter().map(into).collect()
}

/// The roles of all parts in all passages.
fn choose(show: &Show<'_, '_>, pools: &[Pool<'_, '_>], taken: &BTreeMap<usize, usize>) -> Chosen {
    let taken = |at: usize| pools[at].taken(taken.get(&at).copied());
    let ways: Vec<Vec<usize>> = (0..pools.len())
        .map(|at| match taken(at) {
            Some(place) => vec![place],
            None => (0..pools[at].ways.len()).collect(),
        })
        .collect();
    let roles = |at: usize, i: usize| &pools[at].ways[ways[at][i]].roles;
    let mut chosen: Option<(f64, Chosen)> = None;
    // Repeats do not lie side by side: the path is taken again with those of the path before.
    for _ in 0..ROUNDS {
        let repeats = |at: usize, i: usize| -> f64 {
            let Some((_, last)) = &chosen else { return 0.0 };
            let last = last.roles();
            let model = show
                .model(at)
                .map(|m| show.repeat(at, &last[m], roles(at, i)));
            let copies = show.copies(at).iter();
            let copies = copies.map(|c| show.repeat(*c, roles(at, i), &last[*c]));
            // Each side of a repeat sees the other as it was.
            0.5 * (model.unwrap_or(0.0) + copies.sum::<f64>())
        };
        let own = |at: usize| -> Vec<f64> {
            let all =
                (0..ways[at].len()).map(|i| pools[at].ways[ways[at][i]].cost + repeats(at, i));
            all.collect()
        };
        let own: Vec<Vec<f64>> = (0..pools.len()).map(own).collect();
        let step = |to: usize, a: usize, b: usize| -> f64 {
            show.step(to, roles(to - 1, a), roles(to, b)).0.iter().sum()
        };
        let (path, _) = cheapest_path(&own, &step);
        let found: Vec<Vec<PartRole>> = path
            .iter()
            .enumerate()
            .map(|(at, i)| roles(at, *i).clone())
            .collect();
        let found = Chosen::of(show, found);
        let cost = show.cost(&found);
        if chosen.as_ref().is_some_and(|(best, _)| cost >= *best) {
            break;
        }
        chosen = Some((cost, found));
    }
    let mut chosen = chosen.map(|c| c.1).unwrap_or_default();
    settle(show, pools, &mut chosen, &|at| taken(at).is_some());
    chosen
}

/// How often the path is taken at the most.
const ROUNDS: usize = 4;

fn lower_bound(pools: &[Pool<'_, '_>], taken: &BTreeMap<usize, usize>) -> f64 {
    let least = |(at, pool): (usize, &Pool<'_, '_>)| {
        let took = pool.taken(taken.get(&at).copied());
        let took = took.and_then(|place| pool.ways.get(place));
        took.map_or(pool.lower_bound, |way| way.cost)
    };
    pools.iter().enumerate().map(least).sum()
}

/// A passage of the plan with what it costs and what else could be taken.
fn in_words(
    show: &Show<'_, '_>,
    pools: &[Pool<'_, '_>],
    chosen: &Chosen,
    at: usize,
    taken: &BTreeMap<usize, usize>,
) -> PassagePlan {
    let (scene, pool, roles) = (&show.scenes[at], &pools[at], &chosen.roles()[at]);
    let number = pool.ways.iter().position(|w| w.roles == *roles);
    PassagePlan {
        passage: scene.passage,
        way: name(scene, roles),
        roles: roles.clone(),
        figure: None,
        terms: costs_in_words(&show.pays(at, chosen)),
        number: number.map(|n| n + 1),
        taken: pool.taken(taken.get(&at).copied()).is_some(),
        others: alternatives(show, pool, chosen, at),
        rests: rest_reasons(show, pool, chosen, at),
    }
}

fn drum_music<'a>(setting: &Setting<'a>) -> DrumMusic<'a> {
    DrumMusic {
        reading: setting.reading,
        lines: setting.lines,
        meters: setting.meters,
    }
}

/// Where parts rest because of the keys that were found, and those that the file writes.
fn closed_for_keys(setting: &Setting<'_>) -> Closed {
    let mut closed = Closed::default();
    let found = setting.reading.keys.iter();
    let found: Vec<(Tick, KeySignature)> = found.map(|k| (k.start, k.signature)).collect();
    close_for_keys(setting.band, &[&found, setting.signatures], &mut closed);
    closed
}
