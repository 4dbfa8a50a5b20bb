//! The chords of a re-solve: runs of steps in which something is free, with a step on either side.

use super::Progress;
use super::before::Stand;
use super::candidates::{Choice, fixed_choice};
use super::chords::Chords;
use super::effort::{Effort, Status};
use super::part_notes::PartNotes;
use super::price_book::PriceBook;
use super::solve_stretch::{Start, solve_from};
use super::stretch::{ChoirChain, Paths, Stretch};
use super::terms::FORBIDDEN;
use crate::band::PartId;
use crate::music::Tick;
use std::ops::Range;

/// At most so many steps are looked ahead for the note that a part leads into after a rest.
const MOST_AHEAD: usize = 64;

/// What came of the runs.
#[derive(Clone, Debug, Default)]
pub(super) struct Ran {
    /// A choice for every part at every step; nothing chosen outside the runs.
    pub chosen: Vec<Vec<Choice>>,
    pub cost: i64,
    pub bound: i64,
    pub status: Status,
    /// What the draft before cost, where it is allowed.
    pub before: Option<i64>,
    /// Units of [`Term::Moved`](super::Term::Moved).
    pub moved: f64,
    /// Rounds of prices, of the stretch that took most.
    pub rounds: usize,
}

/// Solves every run, one after the other.
pub(super) fn solve_runs(
    chords: &Chords<'_>,
    drafted: &[PartNotes],
    prices: &mut PriceBook,
    effort: &Effort<'_>,
    progress: &mut dyn FnMut(Progress),
) -> Ran {
    let starts: Vec<Tick> = chords.steps.iter().map(|s| s.start).collect();
    let rows = (0..starts.len()).map(|s| as_drafted(chords, drafted, s));
    let mut ran = Ran {
        chosen: rows.collect(),
        before: Some(0),
        ..Ran::default()
    };
    let runs = runs(chords, drafted.len());
    let total: usize = runs.iter().map(Range::len).sum();
    let mut done = 0;
    for run in runs {
        let mut from = run.start;
        while from < run.end {
            let before = before(chords, drafted, &ran.chosen, from);
            let (mut stretch, to) = chords.stretch(from..run.end, before.as_deref(), effort);
            // What stands before the first step cannot be otherwise.
            stretch.lead_counts = from == run.start;
            let paths = drafted_paths(chords, &stretch, before.as_deref(), &ran.chosen[from..to]);
            let cost = paths.as_ref().map(|p| stretch.cost(p, 0..stretch.len()));
            let cost = cost.filter(|c| *c < i64::from(FORBIDDEN));
            ran.before = ran.before.zip(cost).map(|(a, b)| a + b);
            let start = Start {
                drafted: paths.filter(|_| cost.is_some()),
                prices: Some((&mut *prices, &starts[from..to])),
            };
            let solved = solve_from(&stretch, effort, start);
            for (choir, path) in stretch.choirs.iter().zip(&solved.paths) {
                for (s, (stage, state)) in choir.stages.iter().zip(path).enumerate() {
                    for (id, choice) in choir.parts.iter().zip(stage.picked(*state)) {
                        ran.chosen[from + s][id.0] = choice;
                    }
                }
            }
            ran.cost += solved.cost;
            ran.bound += solved.bound;
            ran.rounds = ran.rounds.max(solved.rounds);
            ran.status = ran.status.max(solved.status);
            done += to - from;
            from = to;
            progress(Progress::of(done, total, ran.cost, ran.bound));
        }
    }
    let moved = ran.chosen.iter().zip(&chords.steps).enumerate();
    let of_step = |(s, (row, step)): (usize, (&Vec<Choice>, &super::steps::Step))| {
        let is_moved = |(id, c): &(usize, &Choice)| matches!(chords.stand(PartId(*id), s), Stand::Free(Some(was)) if was != c.sounds);
        row.iter().enumerate().filter(is_moved).count() as f64 * step.weight()
    };
    ran.moved = moved.map(of_step).sum();
    ran
}

/// The runs, in order: steps in which a part is free, the step before and after, and further on
/// until every such part with a greatest leap has come to a note that stays.
fn runs(chords: &Chords<'_>, parts: usize) -> Vec<Range<usize>> {
    let count = chords.steps.len();
    let free = |s: usize, id: usize| matches!(chords.stand(PartId(id), s), Stand::Free(_));
    let mut runs: Vec<Range<usize>> = Vec::new();
    let mut waiting = vec![0_usize; parts];
    for s in 0..count {
        let mut open = false;
        for (id, wait) in waiting.iter_mut().enumerate() {
            if free(s, id) {
                open = true;
                let limited = chords.passing(PartId(id), s).most.is_some();
                *wait = if limited { MOST_AHEAD } else { 1 };
            } else if *wait > 0 {
                open = true;
                let sounds = chords.sounds_as_drafted(PartId(id), s);
                *wait = if sounds { 0 } else { *wait - 1 };
            }
        }
        if !open {
            continue;
        }
        match runs.last_mut().filter(|r| s <= r.end + 1) {
            Some(run) => run.end = s + 1,
            None => runs.push(s.saturating_sub(1)..s + 1),
        }
    }
    runs
}

/// What every part does at a step in the draft before.
fn as_drafted(chords: &Chords<'_>, drafted: &[PartNotes], s: usize) -> Vec<Choice> {
    let of = |id: usize| match chords.stand(PartId(id), s) {
        Stand::Fixed => chords.fixed(PartId(id), s),
        Stand::Held(sounds) | Stand::Free(Some(sounds)) => Choice::held(sounds),
        Stand::Free(None) => fixed_choice(&drafted[id], &chords.steps[s]),
    };
    (0..drafted.len()).map(of).collect()
}

/// What every part did before a step: as chosen, and over rests the last note of the draft.
fn before(
    chords: &Chords<'_>,
    drafted: &[PartNotes],
    chosen: &[Vec<Choice>],
    s: usize,
) -> Option<Vec<Choice>> {
    let was = chosen.get(s.checked_sub(1)?)?;
    let end = chords.steps.get(s)?.start;
    let one = |(choice, notes): (&Choice, &PartNotes)| {
        let last = notes.last_before(end).map(|n| n.pitch);
        Choice {
            leave: choice.leave.or(last),
            anchored: choice.anchored || choice.leave.is_none(),
            ..*choice
        }
    };
    Some(was.iter().zip(drafted).map(one).collect())
}

/// The draft before as paths; `None` where something of it is not among the choices.
fn drafted_paths(
    chords: &Chords<'_>,
    stretch: &Stretch,
    before: Option<&[Choice]>,
    rows: &[Vec<Choice>],
) -> Option<Paths> {
    let path = |choir: &ChoirChain| {
        let was = |id: &PartId| before.and_then(|b| b.get(id.0)).copied();
        let parts = choir.parts.iter();
        let nothing = |id: &PartId| chords.nothing_yet(*id);
        let last = parts.map(|id| was(id).unwrap_or_else(|| nothing(id)));
        let mut last: Vec<Choice> = last.collect();
        let mut path = Vec::with_capacity(choir.stages.len());
        for (stage, row) in choir.stages.iter().zip(rows) {
            let mut state = 0;
            for (p, id) in choir.parts.iter().enumerate() {
                let choices = stage.choices.get(p)?;
                let wanted = row.get(id.0)?;
                let sounds = |c: &Choice| c.sounds == wanted.sounds && c.fixed == wanted.fixed;
                let remembers = |c: &Choice| c.enter.is_some() || c.leave == last[p].leave;
                let same = |c: &Choice| sounds(c) && remembers(c);
                let at = choices.iter().position(same);
                let at = at.or_else(|| choices.iter().position(sounds))?;
                last[p] = choices[at];
                state = state * choices.len() + at;
            }
            path.push(state);
        }
        Some(path)
    };
    stretch.choirs.iter().map(path).collect()
}
