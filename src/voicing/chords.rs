//! The chords of the whole sketch: every choir solved exactly in turn, the others held, until
//! nothing improves.

use super::Problem;
use super::candidates::{Around, Choice, fixed_choice, harmony_choices, own_cost, with_memory};
use super::chain::{Stage, cheapest_path};
use super::choir::{StepStates, add_counts, choirs, joint_costs, move_cost, way_cost, with_shared};
use super::costs::{FORBIDDEN, Milli};
use super::coverage::{Counts, MOST_TONES, Tones};
use super::part_notes::PartNotes;
use super::steps::{Step, steps};
use crate::band::PartId;
use crate::music::{Interval, Sounding, Tick};
use crate::plan::fit::ChanceCosts;
use crate::plan::line::OneLine;
use crate::score::Role;
use std::collections::BTreeSet;
use std::ops::Range;

/// Choirs are improved in turn at most so often; in practice two or three rounds settle.
const MOST_ROUNDS: usize = 4;

/// A stretch solved at once has about so many steps; it ends with a passage.
const WINDOW_STEPS: usize = 240;

/// The chords of the whole sketch, ready to solve.
pub struct Chords<'a> {
    problem: &'a Problem<'a>,
    costs: &'a [ChanceCosts],
    has: &'a [PartNotes],
    /// The steps, in order.
    pub steps: Vec<Step>,
    around: Vec<Around>,
    tones: Vec<Tones>,
    carried: Vec<[bool; MOST_TONES]>,
    choirs: Vec<Vec<PartId>>,
    players: Vec<Vec<u16>>,
}

impl<'a> Chords<'a> {
    /// The chords of a problem, around what the parts have already.
    #[must_use]
    pub fn new(problem: &'a Problem<'a>, costs: &'a [ChanceCosts], has: &'a [PartNotes]) -> Self {
        let passages = problem.plan.passages.iter().map(|p| p.passage.start);
        let locks = has.iter().flat_map(|h| &h.shut).flat_map(|(a, b)| [*a, *b]);
        let cuts: BTreeSet<Tick> = passages.chain(locks).collect();
        let steps = steps(problem, &cuts);
        let tones: Vec<Tones> = steps.iter().map(Tones::of).collect();
        let carried = steps
            .iter()
            .zip(&tones)
            .map(|(s, t)| carried(s, t, has))
            .collect();
        let around = steps.iter().map(|s| around(problem, s, has)).collect();
        let choirs = choirs(problem.band);
        let count = |id: &PartId| {
            u16::try_from(problem.band.part(*id).players.count())
                .unwrap_or(u16::MAX)
                .min(99)
        };
        let players = choirs
            .iter()
            .map(|c| c.iter().map(count).collect())
            .collect();
        Self {
            problem,
            costs,
            has,
            steps,
            around,
            tones,
            carried,
            choirs,
            players,
        }
    }

    /// A choice for every part at every step, and the cost in thousandths.
    pub fn solve(&self, progress: &mut dyn FnMut(f64)) -> (Vec<Vec<Choice>>, i64) {
        let parts = self.problem.band.parts.len();
        let mut chosen = vec![
            vec![
                Choice {
                    anchored: true,
                    fixed: true,
                    ..Choice::default()
                };
                parts
            ];
            self.steps.len()
        ];
        let mut cost = 0;
        for window in self.windows() {
            let (start, all) = (window.start as f64, self.steps.len().max(1) as f64);
            let mut within = |share: f64| progress((start + share * window.len() as f64) / all);
            cost += self.solve_window(&window, &mut chosen, &mut within);
        }
        progress(1.0);
        (chosen, cost)
    }

    /// Stretches of steps that end with passages.
    fn windows(&self) -> Vec<Range<usize>> {
        let starts: BTreeSet<Tick> = self
            .problem
            .plan
            .passages
            .iter()
            .map(|p| p.passage.start)
            .collect();
        let mut windows = Vec::new();
        let mut from = 0;
        for (i, step) in self.steps.iter().enumerate().skip(1) {
            let size = i - from;
            if size >= WINDOW_STEPS && (starts.contains(&step.start) || size >= 2 * WINDOW_STEPS) {
                windows.push(from..i);
                from = i;
            }
        }
        if from < self.steps.len() {
            windows.push(from..self.steps.len());
        }
        windows
    }

    fn solve_window(
        &self,
        window: &Range<usize>,
        chosen: &mut [Vec<Choice>],
        progress: &mut dyn FnMut(f64),
    ) -> i64 {
        let states: Vec<Vec<StepStates>> = self
            .choirs
            .iter()
            .map(|choir| self.states(choir, window, chosen))
            .collect();
        let mut own_cost = vec![0_i64; self.choirs.len()];
        for round in 0..MOST_ROUNDS {
            let mut changed = false;
            for c in 0..self.choirs.len() {
                let done = round * self.choirs.len() + c;
                progress(done as f64 / (MOST_ROUNDS * self.choirs.len()) as f64);
                changed |= self.improve(c, window, &states[c], chosen, &mut own_cost[c]);
            }
            if !changed && round > 0 {
                break;
            }
        }
        let shared = window.clone().map(|s| self.shared_cost(s, chosen));
        own_cost.iter().sum::<i64>() + shared.sum::<i64>()
    }

    /// Solves one choir exactly with the others held; gives whether its notes changed.
    fn improve(
        &self,
        c: usize,
        window: &Range<usize>,
        states: &[StepStates],
        chosen: &mut [Vec<Choice>],
        own: &mut i64,
    ) -> bool {
        let choir = &self.choirs[c];
        let start = Stage {
            sizes: vec![1; choir.len()],
            joint: vec![0],
            moves: Vec::new(),
        };
        let mut stages = vec![start];
        for (s, state) in window.clone().zip(states) {
            let others = self.counts(s, chosen, Some(c));
            let (tones, carried) = (&self.tones[s], &self.carried[s]);
            let joint = with_shared(state, tones, &self.players[c], &others, carried);
            let (sizes, moves) = (state.stage.sizes.clone(), state.stage.moves.clone());
            stages.push(Stage {
                sizes,
                joint,
                moves,
            });
        }
        let Some((path, cost)) = cheapest_path(&stages) else {
            return false;
        };
        let mut changed = false;
        let mut shared = 0_i64;
        for ((s, state), picked) in window.clone().zip(states).zip(&path[1..]) {
            for (p, part) in choir.iter().enumerate() {
                let choice = state.choices[p][picked[p]];
                changed |= chosen[s][part.0] != choice;
                chosen[s][part.0] = choice;
            }
            if state.choices.iter().flatten().any(|choice| !choice.fixed) {
                shared += self.shared_cost(s, chosen);
            }
        }
        *own = cost - shared;
        changed
    }

    /// What choirs share at a step, as chosen.
    fn shared_cost(&self, step: usize, chosen: &[Vec<Choice>]) -> i64 {
        let counts = self.counts(step, chosen, None);
        i64::from(self.tones[step].cost(&counts, &self.carried[step]))
    }

    /// Players on each tone of a step, one choir left out if asked.
    fn counts(&self, step: usize, chosen: &[Vec<Choice>], without: Option<usize>) -> Counts {
        let mut counts = Counts::default();
        for (c, choir) in self.choirs.iter().enumerate() {
            if Some(c) != without {
                let picked = choir.iter().map(|id| chosen[step][id.0]);
                add_counts(&mut counts, &self.tones[step], &self.players[c], picked);
            }
        }
        counts
    }

    /// All states of a choir in a window, with their costs but for what choirs share.
    fn states(
        &self,
        choir: &[PartId],
        window: &Range<usize>,
        chosen: &[Vec<Choice>],
    ) -> Vec<StepStates> {
        let start = |id: &PartId| match window.start.checked_sub(1) {
            Some(before) => vec![chosen[before][id.0]],
            None => vec![Choice {
                anchored: true,
                fixed: true,
                ..Choice::default()
            }],
        };
        let mut before: Vec<Vec<Choice>> = choir.iter().map(start).collect();
        let mut all = Vec::with_capacity(window.len());
        for s in window.clone() {
            let choices: Vec<Vec<Choice>> = choir
                .iter()
                .zip(&before)
                .map(|(id, b)| self.choices(*id, s, choir.len(), b))
                .collect();
            let own: Vec<Vec<Milli>> = choir
                .iter()
                .zip(&choices)
                .map(|(id, c)| self.own(*id, s, c))
                .collect();
            let moves = choir
                .iter()
                .enumerate()
                .map(|(p, id)| self.moves(*id, s, &before[p], &choices[p]));
            let stage = Stage {
                sizes: choices.iter().map(Vec::len).collect(),
                joint: joint_costs(&self.steps[s], &choices, &own),
                moves: moves.collect(),
            };
            before.clone_from(&choices);
            all.push(StepStates { choices, stage });
        }
        all
    }

    fn choices(&self, id: PartId, s: usize, choir: usize, before: &[Choice]) -> Vec<Choice> {
        let (step, part, has) = (&self.steps[s], self.problem.band.part(id), &self.has[id.0]);
        let choices = if self.is_harmony(id, step) && !has.is_busy(step.start, step.end) {
            harmony_choices(part, &self.costs[id.0], step, self.around[s], choir)
        } else {
            vec![fixed_choice(has, step)]
        };
        if part.limits.max_leap.is_some() {
            with_memory(choices, before, choir)
        } else {
            choices
        }
    }

    fn is_harmony(&self, id: PartId, step: &Step) -> bool {
        let passage = self.problem.plan.passage(step.start);
        passage.is_some_and(|p| p.roles[id.0].role == Role::Harmony)
    }

    fn own(&self, id: PartId, s: usize, choices: &[Choice]) -> Vec<Milli> {
        let part = self.problem.band.part(id);
        let cost =
            |c: &Choice| own_cost(part, &self.costs[id.0], &self.steps[s], self.around[s], *c);
        choices.iter().map(cost).collect()
    }

    fn moves(&self, id: PartId, s: usize, before: &[Choice], now: &[Choice]) -> Vec<Milli> {
        let most = self
            .problem
            .band
            .part(id)
            .limits
            .max_leap
            .map(Interval::size);
        let was = s.saturating_sub(1);
        let steps = (&self.steps[was], &self.steps[s]);
        let around = (self.around[was], self.around[s]);
        let (costs, step) = (&self.costs[id.0], &self.steps[s]);
        let alone = |b: &Choice| b.enter.map_or(0, |to| costs.alone(to, &step.moment));
        let now: Vec<(Choice, i32)> = now.iter().map(|b| (*b, alone(b))).collect();
        let row = |a: &Choice| {
            let cost = |b: &(Choice, i32)| match move_cost(most, steps, around, *a, b.0) {
                FORBIDDEN => FORBIDDEN,
                cost => cost + way_cost(costs, step, *a, *b),
            };
            now.iter().map(cost).collect::<Vec<_>>()
        };
        before.iter().flat_map(row).collect()
    }
}

/// The tones of a step that tune, bass and locks sound already.
fn carried(step: &Step, tones: &Tones, has: &[PartNotes]) -> [bool; MOST_TONES] {
    let mut carried = [false; MOST_TONES];
    for note in has.iter().filter_map(|h| h.sounding(step.start)) {
        if let Some(place) = tones.place(note.pitch.class()).filter(|p| *p < MOST_TONES) {
            carried[place] = true;
        }
    }
    carried
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
