//! What a draft before has at every step, and which of it may change.

use super::part_notes::PartNotes;
use super::scope::Scope;
use super::steps::Step;
use crate::band::PartId;
use crate::music::Sounding;
use crate::score::{DraftNote, Role};

/// What a part may do at a step.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Stand {
    /// Nothing but its lock, its line or its rest.
    Fixed,
    /// What it sounds in the draft before, or its rest there.
    Held(Option<Sounding>),
    /// Any chord tone; inside, what it sounds in the draft before, where there is one.
    Free(Option<Option<Sounding>>),
}

/// Whether a note of a draft lies in a scope with all the steps in which it sounds.
#[must_use]
pub fn may_move(scope: &Scope, steps: &[Step], part: PartId, note: &DraftNote) -> bool {
    let first = steps.partition_point(|s| s.end <= note.onset);
    let past = steps.partition_point(|s| s.start < note.end());
    let ends = steps
        .get(first)
        .zip(past.checked_sub(1).and_then(|l| steps.get(l)));
    ends.is_some_and(|(first, last)| {
        scope.covers(part, first.start.min(note.onset), last.end.max(note.end()))
    })
}

/// What every part does in a draft before, for some steps in a row.
#[derive(Clone, Debug, Default)]
pub struct Before {
    /// By step, then part.
    stands: Vec<Vec<Stand>>,
}

/// Whether a note of a draft is of those that a solve of chords makes.
#[must_use]
pub fn is_chord_note(note: &DraftNote) -> bool {
    note.role == Role::Harmony && !note.locked
}

impl Before {
    /// That of a draft: within the scope parts are free, but where a note stands that sounds over the
    /// scope's edge. `drafted` has all notes of every part.
    #[must_use]
    pub fn of(drafted: &[PartNotes], steps: &[Step], scope: &Scope) -> Self {
        let stand = |step: &Step, (id, notes): (usize, &PartNotes)| {
            let here = notes
                .sounding(step.start)
                .filter(|n| is_chord_note(n))
                .copied();
            let id = PartId(id);
            let whole = here.is_none_or(|n| may_move(scope, steps, id, &n));
            if whole && scope.covers(id, step.start, step.end) {
                Stand::Free(Some(here.map(|n| n.pitch)))
            } else {
                Stand::Held(here.map(|n| n.pitch))
            }
        };
        let row = |step: &Step| drafted.iter().enumerate().map(|d| stand(step, d)).collect();
        Self {
            stands: steps.iter().map(row).collect(),
        }
    }

    /// What a part may do at a step, if it is free to fill the chord there at all.
    #[must_use]
    pub fn stand(&self, id: PartId, s: usize) -> Stand {
        let row = self.stands.get(s);
        row.and_then(|r| r.get(id.0))
            .copied()
            .unwrap_or(Stand::Fixed)
    }
}
