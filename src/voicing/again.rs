//! The notes of a part's harmony where a draft before was solved again: what stays, stays to the tick.

use super::before::Stand;
use super::candidates::Choice;
use super::chords::Chords;
use super::part_notes::PartNotes;
use crate::band::PartId;
use crate::music::Tick;
use crate::plan::Apart;
use crate::score::{DraftNote, Role};

use super::before::is_chord_note;

/// The notes of a part in the steps in which it was free. Where it does as before, its notes are
/// those of the draft; a note is held over steps until it is struck again. What would be struck too
/// soon is held or left out, as in a first solve.
pub(super) fn notes_again(
    chords: &Chords<'_>,
    chosen: &[Vec<Choice>],
    part: PartId,
    drafted: &PartNotes,
    apart: &Apart<'_>,
) -> Vec<DraftNote> {
    let mut made = Made {
        notes: Vec::new(),
        from: None,
        drafted,
        apart,
    };
    for (s, (step, choices)) in chords.steps.iter().zip(chosen).enumerate() {
        let Stand::Free(Some(was)) = chords.stand(part, s) else {
            made.from = None;
            continue;
        };
        let Some(choice) = choices.get(part.0) else {
            continue;
        };
        if choice.sounds == was {
            made.keep(step.start, step.end);
            continue;
        }
        made.from = None;
        let Some(pitch) = choice.sounds else { continue };
        let note = DraftNote {
            onset: step.start,
            pitch,
            duration: step.end.since(step.start),
            velocity: step.velocity,
            role: Role::Harmony,
            locked: false,
        };
        let struck = step.struck.contains(pitch.class());
        made.add(note, struck, |n| step.tones.contains(n.pitch.class()));
    }
    made.notes
}

struct Made<'a> {
    notes: Vec<DraftNote>,
    /// The onset of the drafted note that the last note was copied from.
    from: Option<Tick>,
    drafted: &'a PartNotes,
    apart: &'a Apart<'a>,
}

impl Made<'_> {
    /// Copies what the draft has in a step.
    fn keep(&mut self, start: Tick, end: Tick) {
        let held = self.drafted.sounding(start).filter(|n| n.onset < start);
        let notes = &self.drafted.notes;
        let from = notes.partition_point(|n| n.onset < start);
        let begun = notes[from..].iter().take_while(|n| n.onset < end);
        for note in held.into_iter().chain(begun).filter(|n| is_chord_note(n)) {
            let until = note.end().min(end);
            let onset = note.onset.max(start);
            if let Some(last) = self.notes.last_mut()
                && self.from == Some(note.onset)
                && last.end() == onset
            {
                last.duration = last.duration + until.since(onset);
                continue;
            }
            self.from = Some(note.onset);
            self.notes.push(DraftNote {
                onset,
                duration: until.since(onset),
                ..*note
            });
        }
    }

    /// Adds a new note, or holds the last one.
    fn add(&mut self, note: DraftNote, struck: bool, may_sound: impl Fn(&DraftNote) -> bool) {
        let before = self.drafted.last_before(note.onset).map(|n| n.onset);
        let last = self.notes.last().map(|n| n.onset);
        let too_soon = last
            .or(before)
            .is_some_and(|before| !self.apart.in_time(before, note.onset));
        match self.notes.last_mut() {
            Some(last)
                if last.pitch == note.pitch
                    && last.end() == note.onset
                    && (too_soon || !struck) =>
            {
                last.duration = last.duration + note.duration;
            }
            Some(last) if too_soon => {
                if last.end() == note.onset && may_sound(last) {
                    last.duration = last.duration + note.duration;
                }
            }
            None if too_soon => {}
            _ => self.notes.push(note),
        }
    }
}
