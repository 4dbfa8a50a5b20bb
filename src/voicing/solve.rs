//! The whole voicing, in order: lines, hand-overs, then chords choir by choir.

use super::chords::{Chords, Solution};
use super::company::{keep_company, leave_lines_alone};
use super::cover::{cover, plays};
use super::held::harmony_notes;
use super::part_notes::PartNotes;
use super::set_line::set_lines;
use super::{Effort, Problem, Voiced};
use crate::band::PartId;
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
    let ready = Ready::of(problem);
    let chords = ready.chords(problem);
    let Solution {
        chosen,
        cost,
        bound,
        status,
    } = chords.solve(0..chords.steps.len(), effort, progress);
    let steps = chords.steps;
    let Ready {
        mut has,
        mut melody_changes,
        ..
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
    Voiced {
        draft: Draft {
            lines,
            melody_changes,
        },
        cost: cost as f64 / 1000.0,
        lower_bound: bound as f64 / 1000.0,
        status,
    }
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
        let costs = ChanceCosts::of_band(problem.band);
        let mut has: Vec<PartNotes> = Vec::with_capacity(costs.len());
        for (id, part) in problem.band.ids() {
            let mut notes = PartNotes::locked(problem, id);
            set_lines(problem, id, &costs[id.0], &mut notes);
            notes.keep_apart(&Apart::of(part, problem.tempo), |n| !n.locked);
            has.push(notes);
        }
        let melody_changes = cover(problem, &costs, &mut has);
        leave_lines_alone(problem, &mut has);
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

/// Lists the notes of the tune that went because a part must not be heard alone with them.
fn lost_for_company(problem: &Problem<'_>, has: &[PartNotes], changes: &mut Vec<MelodyChange>) {
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
