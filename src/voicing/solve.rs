//! The whole voicing, in order: lines, hand-overs, then chords choir by choir.

use super::candidates::Choice;
use super::chords::Chords;
use super::cover::{cover, plays};
use super::part_notes::PartNotes;
use super::set_line::set_lines;
use super::steps::Step;
use super::{Problem, Voiced};
use crate::band::PartId;
use crate::plan::fit::ChanceCosts;
use crate::score::{Draft, DraftNote, PartLine, Role};

/// Voices a sketch for a band. Every hard limit holds in the answer: ranges, remarks, locks, one
/// note at a time. `progress` is told the share that is done, 0 to 1.
pub fn voice(problem: &Problem<'_>, progress: &mut dyn FnMut(f64)) -> Voiced {
    let costs = ChanceCosts::of_band(problem.band);
    let mut has: Vec<PartNotes> = Vec::with_capacity(costs.len());
    for (id, part) in problem.band.ids() {
        let mut notes = PartNotes::locked(problem, id);
        set_lines(problem, id, &costs[id.0], &mut notes);
        notes.keep_leaps(part.limits.max_leap, |n| !n.locked);
        has.push(notes);
    }
    let mut melody_changes = cover(problem, &costs, &mut has);
    let chords = Chords::new(problem, &costs, &has);
    let (chosen, cost) = chords.solve(progress);
    let steps = chords.steps;
    for (id, notes) in has.iter_mut().enumerate() {
        notes.add(harmony_notes(&steps, &chosen, id));
        // Around locks and lines that were fixed before, harmony gives way.
        let most = problem.band.parts[id].limits.max_leap;
        notes.keep_leaps(most, |n| n.role == Role::Harmony && !n.locked);
    }
    // What the harmony happens to play after all is not lost.
    melody_changes.retain(|c| !has.iter().any(|h| plays(h, c.onset, c.sketch.class())));
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
    }
}

/// The notes of a part's harmony: a note is held over steps until it is struck again.
fn harmony_notes(steps: &[Step], chosen: &[Vec<Choice>], part: usize) -> Vec<DraftNote> {
    let mut notes: Vec<DraftNote> = Vec::new();
    for (step, choices) in steps.iter().zip(chosen) {
        let choice = choices[part];
        let Some(pitch) = choice.sounds.filter(|_| !choice.fixed) else {
            continue;
        };
        let length = step.end.since(step.start);
        match notes.last_mut() {
            Some(last)
                if last.pitch == pitch
                    && last.end() == step.start
                    && !step.struck.contains(pitch.class()) =>
            {
                last.duration = last.duration + length;
            }
            _ => notes.push(DraftNote {
                onset: step.start,
                pitch,
                duration: length,
                velocity: step.velocity,
                role: Role::Harmony,
                locked: false,
            }),
        }
    }
    notes
}
