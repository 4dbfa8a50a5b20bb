//! The whole voicing, in order: lines, hand-overs, then chords choir by choir.

use super::chords::{Chords, Solution};
use super::company::{keep_company, leave_lines_alone};
use super::cover::{cover, plays};
use super::held::harmony_notes;
use super::part_notes::PartNotes;
use super::price_book::PriceBook;
use super::resolve::Kept;
use super::set_line::set_lines;
use super::{Effort, Problem, Voiced};
use crate::band::PartId;
use crate::music::Tick;
use crate::plan::Apart;
use crate::plan::fit::ChanceCosts;
use crate::score::{Draft, MelodyChange, PartLine, Role};
use std::collections::BTreeSet;

/// Voices a sketch for a band with the usual effort; see [`voice_with`].
pub fn voice(problem: &Problem<'_>, progress: &mut dyn FnMut(f64)) -> Voiced {
    voice_with(problem, &Effort::default(), progress)
}

/// Voices a sketch for a band. Every hard limit holds in the answer: ranges, remarks, locks, one
/// note at a time, and stretches that remarks close to a part. `progress` is told the share that is done, 0 to 1.
pub fn voice_with(
    problem: &Problem<'_>,
    effort: &Effort<'_>,
    progress: &mut dyn FnMut(f64),
) -> Voiced {
    voice_ready(problem, Ready::of(problem), effort, (None, progress)).0
}

/// Voices a sketch and keeps what makes a re-solve quick; see [`resolve`](super::resolve()).
pub fn voice_kept(
    problem: &Problem<'_>,
    effort: &Effort<'_>,
    progress: &mut dyn FnMut(f64),
) -> (Voiced, Kept) {
    let mut prices = PriceBook::default();
    let ready = Ready::of(problem);
    let (voiced, costs) = voice_ready(problem, ready, effort, (Some(&mut prices), progress));
    (voiced, Kept { costs, prices })
}

fn voice_ready(
    problem: &Problem<'_>,
    ready: Ready,
    effort: &Effort<'_>,
    (prices, progress): (Option<&mut PriceBook>, &mut dyn FnMut(f64)),
) -> (Voiced, Vec<ChanceCosts>) {
    let chords = ready.chords(problem);
    let all = 0..chords.steps.len();
    let Solution {
        chosen,
        cost,
        bound,
        status,
    } = chords.solve_keeping(all, effort, prices, progress);
    let steps = chords.steps;
    let Ready {
        mut has,
        mut melody_changes,
        costs,
    } = ready;
    for (id, notes) in has.iter_mut().enumerate() {
        let apart = Apart::of(&problem.band.parts[id], problem.tempo);
        notes.add(harmony_notes(&steps, &chosen, id, &apart));
        // Around locks and lines that were fixed before, harmony gives way.
        notes.keep_apart(&apart, |n| n.role == Role::Harmony && !n.locked);
    }
    keep_company(problem, &mut has);
    // What the harmony happens to play after all is not lost.
    melody_changes.retain(|c| !has.iter().any(|h| plays(h, c.onset, c.sketch.class())));
    lost_for_company(problem, &has, &mut melody_changes);
    let line = |(i, notes): (usize, PartNotes)| PartLine {
        part: PartId(i),
        notes: notes.notes,
    };
    let lines = has.into_iter().enumerate().map(line).collect();
    let voiced = Voiced {
        draft: Draft {
            lines,
            melody_changes,
        },
        cost: cost as f64 / 1000.0,
        lower_bound: bound as f64 / 1000.0,
        status,
        conflicts: Vec::new(),
    };
    let all = (Tick::ZERO, Tick(u64::MAX));
    (voiced.with_conflicts(problem, all), costs)
}

/// What stands before the chords are solved: locks, lines and hand-overs.
pub struct Ready {
    costs: Vec<ChanceCosts>,
    has: Vec<PartNotes>,
    melody_changes: Vec<MelodyChange>,
}

impl Ready {
    /// Sets lines around locks, and hands over what nobody carries.
    #[must_use]
    pub fn of(problem: &Problem<'_>) -> Self {
        Self::with_costs(problem, ChanceCosts::of_band(problem.band))
    }

    /// The same with clean chances that are there already.
    #[must_use]
    pub fn with_costs(problem: &Problem<'_>, costs: Vec<ChanceCosts>) -> Self {
        let ids = problem.band.ids();
        let mut has: Vec<PartNotes> = ids.map(|(id, _)| PartNotes::locked(problem, id)).collect();
        let melody_changes = set_all_lines(problem, &costs, &mut has, &|_| true);
        Self {
            costs,
            has,
            melody_changes,
        }
    }

    /// The chords around it.
    #[must_use]
    pub fn chords<'a>(&'a self, problem: &'a Problem<'a>) -> Chords<'a> {
        Chords::new(problem, &self.costs, &self.has)
    }
}

/// Sets lines for some parts around what all have already, and hands over what nobody carries. Gives
/// the notes of the tune that nobody can play.
pub(super) fn set_all_lines(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    has: &mut [PartNotes],
    sets: &dyn Fn(PartId) -> bool,
) -> Vec<MelodyChange> {
    let all = problem.band.ids().zip(has.iter_mut().zip(costs));
    for ((id, part), (notes, costs)) in all.filter(|((id, _), _)| sets(*id)) {
        set_lines(problem, id, costs, notes);
        notes.keep_apart(&Apart::of(part, problem.tempo), |n| !n.locked);
    }
    let changes = cover(problem, costs, has);
    leave_lines_alone(problem, has);
    changes
}

/// Lists the notes of the tune that went because a part must not be heard alone with them.
pub(super) fn lost_for_company(
    problem: &Problem<'_>,
    has: &[PartNotes],
    changes: &mut Vec<MelodyChange>,
) {
    let before = changes.len();
    let listed: BTreeSet<_> = changes.iter().map(|c| (c.onset, c.sketch)).collect();
    for note in &problem.lines.melody.notes {
        let played = has.iter().any(|h| plays(h, note.onset, note.pitch.class()));
        if !played && !listed.contains(&(note.onset, note.pitch)) {
            changes.push(MelodyChange {
                onset: note.onset,
                sketch: note.pitch,
                reason: "only a part that is never to be heard alone could play it".to_owned(),
            });
        }
    }
    if changes.len() > before {
        changes.sort_by_key(|c| (c.onset, c.sketch));
    }
}
