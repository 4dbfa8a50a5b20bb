//! Moving through the notes of the sketch by keys. The sketch stands between woodwinds and brass: going down from
//! the part above it leads into it, and on to the part below.

use super::Session;
use crate::app::actions::Action;
use crate::app::sheet::lanes::Whose;
use crate::music::{BarNumber, Tick};
use crate::project::standing::Look;
use crate::project::work::Side;
use crate::sketch::ReadNote;

impl Session {
    /// Does what moves within the sketch, out of it or into it; false where an action does nothing of the kind.
    pub(super) fn move_in_sketch(&mut self, action: Action) -> bool {
        let Some(look) = self.look.as_ref() else {
            return false;
        };
        let Some(at) = self.sketch_notes.last().copied() else {
            return self.enter_sketch(action);
        };
        let notes = &look.ready.reading.notes;
        if let Some(side) = up_or_down(action) {
            match struck_with(notes, at, side) {
                Some(next) => self.select_in_sketch(vec![next]),
                None => self.leave_sketch(at, side),
            }
            return true;
        }
        let next = match action {
            Action::ExtendOn => {
                let more = self.sketch_notes.iter().max().map_or(at, |last| last + 1);
                let more = (more < notes.len()).then_some(more);
                self.sketch_notes.iter().copied().chain(more).collect()
            }
            Action::ExtendBack if self.sketch_notes.len() > 1 => {
                self.sketch_notes[..self.sketch_notes.len() - 1].to_vec()
            }
            Action::SelectPassage => {
                let onset = notes.get(at).map_or(Tick::ZERO, |n| n.onset);
                let passage = look.ready.passages.iter().find(|p| p.contains(onset));
                let here = |n: &ReadNote| passage.is_some_and(|p| p.contains(n.onset));
                picked(notes, here)
            }
            Action::SelectPart => {
                let line = notes.get(at).map(|n| n.line);
                picked(notes, |n| Some(n.line) == line)
            }
            _ => match stepped(look, at, action) {
                Some(next) => vec![next],
                None => return false,
            },
        };
        self.select_in_sketch(next);
        true
    }

    /// Selects notes of the sketch and brings the last of them into view.
    fn select_in_sketch(&mut self, notes: Vec<usize>) {
        self.select_sketch(notes);
        let look = self.look.as_ref();
        let last = self.sketch_notes.last().and_then(|last| {
            let note = look?.ready.reading.notes.get(*last)?;
            Some(look?.song.meters.bar(note.onset))
        });
        if let Some(bar) = last {
            self.bring_into_view(bar, None);
        }
        self.bring_lane_into_view(Whose::Sketch);
    }

    /// Goes into the sketch where it is the next that stands above or below the selected part.
    fn enter_sketch(&mut self, action: Action) -> bool {
        let Some((part, at)) = self.place() else {
            return false;
        };
        let parts = self.selection.as_ref().map_or(0, |s| s.parts.len());
        let Some(side) = up_or_down(action).filter(|_| parts == 1) else {
            return false;
        };
        if self.beside(Whose::Part(part), side) != Some(Whose::Sketch) {
            return false;
        }
        let Some(look) = self.look.as_ref() else {
            return false;
        };
        let notes = &look.ready.reading.notes;
        let first = notes.partition_point(|n| n.onset < at);
        let Some(first) = (first < notes.len()).then_some(first) else {
            return false;
        };
        let together = (first..notes.len()).take_while(|i| notes[*i].onset == notes[first].onset);
        let by_pitch = |i: &usize| notes[*i].pitch;
        let nearest = match side {
            Side::After => together.max_by_key(by_pitch),
            Side::Before => together.min_by_key(by_pitch),
        };
        self.select_in_sketch(nearest.into_iter().collect());
        true
    }

    /// Goes from the sketch to the part above or below it, in the same bar.
    fn leave_sketch(&mut self, at: usize, side: Side) {
        let look = self.look.as_ref();
        let bar = look.and_then(|look| {
            let note = look.ready.reading.notes.get(at)?;
            Some(look.song.meters.bar(note.onset))
        });
        let beside = self.beside(Whose::Sketch, side);
        if let (Some(bar), Some(Whose::Part(part))) = (bar, beside) {
            self.go_to(bar, Some(part));
        }
    }

    /// Whose lane stands above or below one.
    fn beside(&self, whose: Whose, side: Side) -> Option<Whose> {
        let lanes = self.engraved.lanes();
        let here = lanes.iter().position(|l| l.whose == whose)?;
        let there = match side {
            Side::Before => here.checked_sub(1)?,
            Side::After => here + 1,
        };
        lanes.get(there).map(|l| l.whose)
    }
}

const fn up_or_down(action: Action) -> Option<Side> {
    match action {
        Action::PartAbove => Some(Side::Before),
        Action::PartBelow => Some(Side::After),
        _ => None,
    }
}

fn picked(notes: &[ReadNote], wanted: impl Fn(&ReadNote) -> bool) -> Vec<usize> {
    (0..notes.len()).filter(|i| wanted(&notes[*i])).collect()
}

/// Of the notes struck with one the next above it or below it.
fn struck_with(notes: &[ReadNote], at: usize, side: Side) -> Option<usize> {
    let here = notes.get(at)?;
    let from = notes.partition_point(|n| n.onset < here.onset);
    let together = (from..notes.len()).take_while(|i| notes[*i].onset == here.onset);
    let key = |i: &usize| (notes[*i].pitch, *i);
    match side {
        Side::Before => together.filter(|i| key(i) > key(&at)).min_by_key(key),
        Side::After => together.filter(|i| key(i) < key(&at)).max_by_key(key),
    }
}

/// The note that an action leads to from another: the one before or after, or the first of a bar.
fn stepped(look: &Look, at: usize, action: Action) -> Option<usize> {
    let notes = &look.ready.reading.notes;
    let meters = &look.song.meters;
    let onset = notes.get(at)?.onset;
    let bar = meters.bar(onset);
    let last = notes.len().saturating_sub(1);
    let of_bar = |bar: BarNumber| {
        let first = notes.partition_point(|n| n.onset < meters.bar_start(bar));
        first.min(last)
    };
    Some(match action {
        Action::NoteBefore => at.saturating_sub(1),
        Action::NoteAfter => (at + 1).min(last),
        Action::BarBefore => of_bar(BarNumber(bar.0.saturating_sub(1).max(1))),
        Action::BarAfter => of_bar(BarNumber(bar.0.saturating_add(1))),
        Action::ToStart => 0,
        Action::ToEnd => last,
        _ => return None,
    })
}
