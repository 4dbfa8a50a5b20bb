//! The notes of a part's harmony, from what was chosen step by step.

use super::candidates::Choice;
use super::steps::Step;
use crate::plan::Apart;
use crate::score::{DraftNote, Role};

/// The notes of a part's harmony: a note is held over steps until it is struck again.
///
/// Where the director gave a greatest speed, what would be struck too soon is not: the part holds
/// what it has, if the sketch sounds that all through the step, and else rests until the next step.
pub(super) fn harmony_notes(
    steps: &[Step],
    chosen: &[Vec<Choice>],
    part: usize,
    apart: &Apart<'_>,
) -> Vec<DraftNote> {
    let mut notes: Vec<DraftNote> = Vec::new();
    for (step, choices) in steps.iter().zip(chosen) {
        let choice = choices[part];
        let Some(pitch) = choice.sounds.filter(|_| !choice.fixed) else {
            continue;
        };
        let length = step.end.since(step.start);
        let too_soon = notes
            .last()
            .is_some_and(|last| !apart.in_time(last.onset, step.start));
        match notes.last_mut() {
            Some(last)
                if last.pitch == pitch
                    && last.end() == step.start
                    && (too_soon || !step.struck.contains(pitch.class())) =>
            {
                last.duration = last.duration + length;
            }
            Some(last) if too_soon => {
                if last.end() == step.start && step.tones.contains(last.pitch.class()) {
                    last.duration = last.duration + length;
                }
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
