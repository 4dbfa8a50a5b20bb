//! The chords of the whole sketch, made ready stretch by stretch and solved.

use super::Progress;
use super::before::{Before, Stand};
use super::candidates::{Around, Choice, fixed_choice, harmony_choices, with_memory};
use super::chain::{Stage, split};
use super::choir::{choirs, joint_costs};
use super::coverage::{Counts, Coverage, MOST_MARKS, units};
use super::effort::{Effort, Status};
use super::moves::{Passing, tell_together};
use super::note_cost::Place;
use super::part_notes::PartNotes;
use super::price_book::PriceBook;
use super::solve_stretch::{Start, solve_from};
use super::steps::{Step, steps_around};
use super::stretch::{ChoirChain, ChoirStage, Stretch};
use super::terms::{FORBIDDEN, Milli, Sum, Weights};
use super::{Problem, side_by_side};
use crate::band::PartId;
use crate::music::{Interval, Sounding, Tick};
use crate::plan::fit::ChanceCosts;
use crate::plan::line::OneLine;
use crate::score::Role;
use std::collections::BTreeSet;
use std::ops::Range;

/// A stretch solved at once has about so many joint states in all its choirs (memory: about 20 bytes
/// each); it ends with a passage where it can.
const STRETCH_STATES: usize = 3_000_000;
/// Steps of a piece that one thread works on while others work on other choirs and pieces.
const PIECE_STEPS: usize = 24;

/// The chords of the whole sketch, ready to solve.
pub struct Chords<'a> {
    pub(super) problem: &'a Problem<'a>,
    costs: &'a [ChanceCosts],
    has: &'a [PartNotes],
    /// The steps, in order.
    pub steps: Vec<Step>,
    around: Vec<Around>,
    choirs: Vec<Vec<PartId>>,
    units: Vec<u16>,
    /// By step: which parts are free to fill the chord, and how loud the loudest of them is.
    free: Vec<(Vec<bool>, u16)>,
    /// What a draft before has, where one is solved again.
    before: Option<Before>,
}

/// What came of the chords.
#[derive(Clone, Debug, Default)]
pub struct Solution {
    /// A choice for every part at every step.
    pub chosen: Vec<Vec<Choice>>,
    /// What they cost, in thousandths of a point.
    pub cost: i64,
    /// What no other choice can cost less than.
    pub bound: i64,
    /// How good the choice is known to be.
    pub status: Status,
}

impl<'a> Chords<'a> {
    /// The chords of a problem, around what the parts have already.
    #[must_use]
    pub fn new(problem: &'a Problem<'a>, costs: &'a [ChanceCosts], has: &'a [PartNotes]) -> Self {
        let steps = steps_around(problem, has);
        Self::of_steps(problem, costs, has, steps)
    }

    /// The chords of some steps in a row.
    #[must_use]
    pub fn of_steps(
        problem: &'a Problem<'a>,
        costs: &'a [ChanceCosts],
        has: &'a [PartNotes],
        steps: Vec<Step>,
    ) -> Self {
        let around = steps.iter().map(|s| around(problem, s, has)).collect();
        let units = units(problem.band);
        let free = steps
            .iter()
            .map(|s| free(problem, s, has, &units))
            .collect();
        Self {
            problem,
            costs,
            has,
            steps,
            around,
            choirs: choirs(problem.band),
            units,
            free,
            before: None,
        }
    }

    /// The same where a draft before is solved again.
    #[must_use]
    pub fn with_before(mut self, before: Before) -> Self {
        self.before = Some(before);
        self
    }

    /// What a part may do at a step.
    #[must_use]
    pub fn stand(&self, id: PartId, s: usize) -> Stand {
        match &self.before {
            _ if !self.is_free(id, s) => Stand::Fixed,
            Some(before) => before.stand(id, s),
            None => Stand::Free(None),
        }
    }

    /// The choirs of the band.
    #[must_use]
    pub fn choirs(&self) -> &[Vec<PartId>] {
        &self.choirs
    }

    /// How much every part counts in the balance of chord tones.
    #[must_use]
    pub fn units(&self) -> &[u16] {
        &self.units
    }

    /// The steps that begin in some stretch of time.
    #[must_use]
    pub fn within(&self, start: Tick, end: Tick) -> Range<usize> {
        let from = self.steps.partition_point(|s| s.start < start);
        let to = self.steps.partition_point(|s| s.start < end);
        from..to.max(from)
    }

    /// Solves some steps, the rest left silent; `progress` is told the share that is done.
    pub fn solve(
        &self,
        steps: Range<usize>,
        effort: &Effort<'_>,
        progress: &mut dyn FnMut(Progress),
    ) -> Solution {
        self.solve_keeping(steps, effort, None, progress)
    }

    /// The same, from the prices of a solve before, which are replaced.
    pub fn solve_keeping(
        &self,
        steps: Range<usize>,
        effort: &Effort<'_>,
        mut prices: Option<&mut PriceBook>,
        progress: &mut dyn FnMut(Progress),
    ) -> Solution {
        let starts: Vec<Tick> = self.steps.iter().map(|s| s.start).collect();
        let parts = self.problem.band.parts.len();
        let mut all = Solution {
            chosen: vec![vec![NOTHING_YET; parts]; self.steps.len()],
            ..Solution::default()
        };
        let mut from = steps.start;
        while from < steps.end {
            let before = (from > steps.start).then(|| all.chosen[from - 1].clone());
            let (stretch, to) = self.stretch(from..steps.end, before.as_deref(), effort);
            let start = Start {
                drafted: None,
                prices: prices.as_deref_mut().map(|book| (book, &starts[from..to])),
            };
            let solved = solve_from(&stretch, effort, start);
            for (at, s) in (from..to).enumerate() {
                for (choir, path) in stretch.choirs.iter().zip(&solved.paths) {
                    let picked = choir.stages[at].picked(path[at]);
                    for (id, choice) in choir.parts.iter().zip(picked) {
                        all.chosen[s][id.0] = choice;
                    }
                }
            }
            all.cost += solved.cost;
            all.bound += solved.bound;
            all.status = all.status.max(solved.status);
            from = to;
            progress(Progress::of(
                from - steps.start,
                steps.len(),
                all.cost,
                all.bound,
            ));
        }
        if all.cost == all.bound {
            all.status = Status::Optimal;
        }
        all
    }

    /// A stretch made ready from some steps on, and where it ends. `before` is what the parts did in
    /// the step before it; nothing for the first stretch.
    #[must_use]
    pub fn stretch(
        &self,
        steps: Range<usize>,
        before: Option<&[Choice]>,
        effort: &Effort<'_>,
    ) -> (Stretch, usize) {
        let (choices, end) = self.all_choices(&steps, before);
        let within = steps.start..end;
        let coverage: Vec<Coverage> = within.clone().map(|s| self.coverage(s)).collect();
        let mut work: Vec<_> = choices
            .into_iter()
            .zip(&self.choirs)
            .map(|(choices, parts)| (choices, parts, ChoirChain::default()))
            .collect();
        side_by_side::for_each(&mut work, effort.threads, |(choices, parts, chain)| {
            *chain = self.chain(
                parts,
                within.start,
                std::mem::take(choices),
                &coverage,
                before,
            );
        });
        let pieces = (0..within.len()).step_by(PIECE_STEPS).collect();
        let stretch = Stretch {
            choirs: work.into_iter().map(|w| w.2).collect(),
            coverage,
            pieces,
            lead_counts: before.is_none(),
        };
        (stretch, end)
    }

    /// The stretches in which a solution was found, one behind the other.
    #[must_use]
    pub fn stretches(&self, chosen: &[Vec<Choice>]) -> Vec<Range<usize>> {
        let mut all = Vec::new();
        let mut from = 0;
        while from < self.steps.len() {
            let before = from.checked_sub(1).and_then(|b| chosen.get(b));
            let (_, to) = self.all_choices(&(from..self.steps.len()), before.map(Vec::as_slice));
            all.push(from..to);
            from = to;
        }
        all
    }

    /// One choir over a stretch, as [`Self::stretch`] makes it.
    #[must_use]
    pub fn choir_chain(
        &self,
        choir: usize,
        steps: Range<usize>,
        before: Option<&[Choice]>,
    ) -> ChoirChain {
        let Some(parts) = self.choirs.get(choir) else {
            return ChoirChain::default();
        };
        let coverage: Vec<Coverage> = steps.clone().map(|s| self.coverage(s)).collect();
        let start = |id: &PartId| self.start_choices(before, *id);
        let mut was: Vec<Vec<Choice>> = parts.iter().map(start).collect();
        let mut all = Vec::with_capacity(steps.len());
        for s in steps.clone() {
            let each = parts.iter().zip(&was);
            let now: Vec<Vec<Choice>> = each
                .map(|(id, b)| self.choices(*id, s, parts.len(), b))
                .collect();
            was.clone_from(&now);
            all.push(now);
        }
        self.chain(parts, steps.start, all, &coverage, before)
    }

    /// What each kind of a choir's states makes the marks cost at a step, beside what the other
    /// choirs do in a solution.
    #[must_use]
    pub fn shared_costs(
        &self,
        choir: &ChoirChain,
        at: usize,
        s: usize,
        chosen: &[Vec<Choice>],
    ) -> Vec<Milli> {
        let coverage = self.coverage(s);
        let mut others: Counts = [0; MOST_MARKS];
        let all = chosen.get(s).into_iter().flatten().enumerate();
        for (part, choice) in all.filter(|(p, _)| !choir.parts.contains(&PartId(*p))) {
            coverage.add(&mut others, *choice, self.units[part]);
        }
        let cost = |sums: &Counts| {
            let mut counts = others;
            for (sum, n) in counts.iter_mut().zip(sums) {
                *sum += n;
            }
            coverage.cost(&counts)
        };
        let stage = choir.stages.get(at);
        stage.map_or_else(Vec::new, |s| s.sums.iter().map(cost).collect())
    }

    fn passage_starts(&self) -> BTreeSet<Tick> {
        let passages = &self.problem.plan.passages;
        passages.iter().map(|p| p.passage.start).collect()
    }

    /// What every part of every choir could do at every step, as far as a stretch goes.
    fn all_choices(
        &self,
        steps: &Range<usize>,
        before: Option<&[Choice]>,
    ) -> (Vec<Vec<Vec<Vec<Choice>>>>, usize) {
        let starts = self.passage_starts();
        let start = |id: &PartId| self.start_choices(before, *id);
        let mut was: Vec<Vec<Vec<Choice>>> = self
            .choirs
            .iter()
            .map(|c| c.iter().map(start).collect())
            .collect();
        let mut all: Vec<Vec<Vec<Vec<Choice>>>> = vec![Vec::new(); self.choirs.len()];
        let mut states = 0;
        for s in steps.clone() {
            let full = states >= STRETCH_STATES;
            let ends = starts.contains(&self.steps[s].start) || states >= 2 * STRETCH_STATES;
            if full && ends && s > steps.start {
                return (all, s);
            }
            for (c, parts) in self.choirs.iter().enumerate() {
                let now: Vec<Vec<Choice>> = parts
                    .iter()
                    .zip(&was[c])
                    .map(|(id, b)| self.choices(*id, s, parts.len(), b))
                    .collect();
                states += now.iter().map(Vec::len).product::<usize>();
                was[c].clone_from(&now);
                all[c].push(now);
            }
        }
        (all, steps.end)
    }

    fn chain(
        &self,
        parts: &[PartId],
        start: usize,
        all: Vec<Vec<Vec<Choice>>>,
        coverage: &[Coverage],
        before: Option<&[Choice]>,
    ) -> ChoirChain {
        let units: Vec<u16> = parts.iter().map(|id| self.units[id.0]).collect();
        let mut stages: Vec<ChoirStage> = Vec::with_capacity(all.len());
        for (at, choices) in all.into_iter().enumerate() {
            let was = stages.last().map(|s| s.choices.as_slice());
            let stage = self.stage(parts, start + at, &choices, was);
            stages.push(ChoirStage::new(choices, stage, &coverage[at], &units));
        }
        let settled = |id: &PartId| before.and_then(|b| b.get(id.0)).copied();
        let from: Vec<Choice> = parts
            .iter()
            .map(|id| settled(id).unwrap_or_else(|| self.nothing_yet(*id)))
            .collect();
        let lead = stages.first().map(|s| self.lead(parts, start, &from, s));
        ChoirChain {
            parts: parts.to_vec(),
            stages,
            lead: lead.unwrap_or_default(),
        }
    }

    fn stage(
        &self,
        parts: &[PartId],
        s: usize,
        choices: &[Vec<Choice>],
        was: Option<&[Vec<Choice>]>,
    ) -> Stage {
        let own: Vec<Vec<Milli>> = parts
            .iter()
            .zip(choices)
            .map(|(id, c)| self.own(*id, s, c))
            .collect();
        let moves = was.map(|was| {
            let each = parts.iter().zip(was.iter().zip(choices));
            each.map(|(id, (a, b))| self.moves(*id, s, a, b)).collect()
        });
        Stage {
            sizes: choices.iter().map(Vec::len).collect(),
            joint: joint_costs(&self.steps[s], choices, &own, self.problem.weights),
            moves: moves.unwrap_or_default(),
            together: was.map_or_else(Vec::new, |was| self.together(parts, was, choices)),
        }
    }

    /// The cost of coming to each state of the first stage from what was played before.
    fn lead(&self, parts: &[PartId], s: usize, from: &[Choice], first: &ChoirStage) -> Vec<Milli> {
        let moves: Vec<Vec<Milli>> = parts
            .iter()
            .zip(from.iter().zip(&first.choices))
            .map(|(id, (a, now))| self.moves(*id, s, &[*a], now))
            .collect();
        let states = 0..first.stage.joint.len();
        let counts = self.counts_together(parts, s);
        let cost = |state| {
            let at = split(state, &first.stage.sizes);
            let mut together = Sum::new(self.problem.weights);
            if counts {
                tell_together(from, &first.picked(state), &mut together);
            }
            let each = moves.iter().zip(at).map(|(m, i)| m[i]);
            each.fold(together.milli, |sum: Milli, m| (sum + m).min(FORBIDDEN))
        };
        states.map(cost).collect()
    }

    pub(super) fn choices(
        &self,
        id: PartId,
        s: usize,
        choir: usize,
        before: &[Choice],
    ) -> Vec<Choice> {
        let part = self.problem.band.part(id);
        let choices = match self.stand(id, s) {
            Stand::Fixed => vec![self.fixed(id, s)],
            Stand::Held(sounds) => vec![Choice::held(sounds)],
            Stand::Free(was) => {
                let place = self.place(id, s);
                harmony_choices(&place, self.problem.weights, choir, was.flatten())
            }
        };
        if part.limits.max_leap.is_some() {
            with_memory(choices, before, choir)
        } else {
            choices
        }
    }

    /// What a part does at a step in which it is not free.
    #[must_use]
    pub fn fixed(&self, id: PartId, s: usize) -> Choice {
        fixed_choice(&self.has[id.0], &self.steps[s])
    }

    /// Whether a part that is not free at a step plays in it.
    #[must_use]
    pub fn sounds_as_drafted(&self, id: PartId, s: usize) -> bool {
        match self.stand(id, s) {
            Stand::Fixed => self.fixed(id, s).enter.is_some(),
            Stand::Held(sounds) => sounds.is_some(),
            Stand::Free(_) => false,
        }
    }

    /// What the lines do around a step.
    #[must_use]
    pub fn around(&self, s: usize) -> Around {
        self.around.get(s).copied().unwrap_or_default()
    }

    /// Whether a part is free to fill the chord of a step.
    #[must_use]
    pub fn is_free(&self, id: PartId, s: usize) -> bool {
        self.free[s].0[id.0]
    }

    /// A part at a step.
    #[must_use]
    pub fn place(&self, id: PartId, s: usize) -> Place<'_> {
        Place {
            part: self.problem.band.part(id),
            costs: &self.costs[id.0],
            step: &self.steps[s],
            around: self.around[s],
            loudest: self.units[id.0] >= self.free[s].1,
            was: match self.stand(id, s) {
                Stand::Free(was) => was,
                _ => None,
            },
        }
    }

    /// What choirs share at a step.
    #[must_use]
    pub fn coverage(&self, s: usize) -> Coverage {
        let step = &self.steps[s];
        let sounding = self.has.iter().filter_map(|h| h.sounding(step.start));
        let sounding: Vec<Sounding> = sounding.map(|n| n.pitch).collect();
        let ids = self.problem.band.ids();
        let free: Vec<u16> = ids
            .filter(|(id, _)| self.is_free(*id, s))
            .map(|(id, _)| self.units[id.0])
            .collect();
        let sums = (free.iter().sum(), free.len() as u16);
        Coverage::of(step, self.around[s], &sounding, sums, self.problem.weights)
    }

    fn own(&self, id: PartId, s: usize, choices: &[Choice]) -> Vec<Milli> {
        let place = self.place(id, s);
        let cost = |c: &Choice| {
            let mut sum = Sum::new(self.problem.weights);
            place.tell(*c, &mut sum).map_or(FORBIDDEN, |()| sum.milli)
        };
        choices.iter().map(cost).collect()
    }

    /// Two steps that follow one another, for one part.
    #[must_use]
    pub fn passing(&self, id: PartId, s: usize) -> Passing<'_> {
        let was = s.saturating_sub(1);
        Passing {
            steps: (&self.steps[was], &self.steps[s]),
            around: (self.around[was], self.around[s]),
            most: self
                .problem
                .band
                .part(id)
                .limits
                .max_leap
                .map(Interval::size),
            costs: &self.costs[id.0],
        }
    }

    fn moves(&self, id: PartId, s: usize, before: &[Choice], now: &[Choice]) -> Vec<Milli> {
        let passing = self.passing(id, s);
        let weights: &Weights = self.problem.weights;
        let now: Vec<(Choice, i32)> = now.iter().map(|b| (*b, self.alone(id, s, b))).collect();
        let row = |a: &Choice| {
            let costs = now.iter().map(|b| passing.cost(*a, *b, weights));
            costs.collect::<Vec<_>>()
        };
        before.iter().flat_map(row).collect()
    }

    /// What the clean chance of a choice's first note costs from nowhere, in thousandths.
    #[must_use]
    pub fn alone(&self, id: PartId, s: usize, choice: &Choice) -> i32 {
        let costs = &self.costs[id.0];
        choice
            .enter
            .map_or(0, |to| costs.alone(to, &self.steps[s].moment))
    }

    /// What a part did before the first step: nothing, but for what it has before the sketch begins.
    #[must_use]
    pub fn nothing_yet(&self, id: PartId) -> Choice {
        let begin = self.steps.first().map_or(Tick::ZERO, |s| s.start);
        let last = self.has.get(id.0).and_then(|h| h.last_before(begin));
        Choice {
            leave: last.map(|n| n.pitch),
            ..NOTHING_YET
        }
    }

    /// What a part may come from at the beginning of a stretch.
    fn start_choices(&self, before: Option<&[Choice]>, id: PartId) -> Vec<Choice> {
        match before.and_then(|b| b.get(id.0)) {
            Some(choice) => vec![*choice, NOTHING_YET],
            None => vec![self.nothing_yet(id)],
        }
    }
}

/// What a part did before the first step, if it has nothing before it.
pub const NOTHING_YET: Choice = Choice {
    sounds: None,
    enter: None,
    leave: None,
    anchored: true,
    fixed: true,
};

/// Which parts are free to fill the chord of a step, and what the loudest of them counts.
fn free(problem: &Problem<'_>, step: &Step, has: &[PartNotes], units: &[u16]) -> (Vec<bool>, u16) {
    let passage = problem.plan.passage(step.start);
    let is_free = |(i, own): (usize, &PartNotes)| {
        let role = passage.and_then(|p| p.roles.get(i));
        role.is_some_and(|r| r.role == Role::Harmony) && !own.is_busy(step.start, step.end)
    };
    let free: Vec<bool> = has.iter().enumerate().map(is_free).collect();
    let loud = free.iter().zip(units).filter(|(f, _)| **f).map(|(_, u)| *u);
    let loudest = loud.max().unwrap_or(0);
    (free, loudest)
}

fn around(problem: &Problem<'_>, step: &Step, has: &[PartNotes]) -> Around {
    let at = step.start;
    let carriers = |role| {
        has.iter()
            .filter_map(move |h| h.sounding(at))
            .filter(move |n| n.role == role)
            .map(|n| n.pitch)
    };
    let pitch = |line: &OneLine| -> Option<Sounding> { line.at(at).map(|n| n.pitch) };
    Around {
        tune: pitch(&problem.lines.melody),
        bass: pitch(&problem.lines.bass),
        top: carriers(Role::Melody).max(),
        floor: carriers(Role::Bass).min(),
    }
}
