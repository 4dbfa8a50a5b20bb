//! What is different between two documents, as changes.

use super::change::{Change, LockedBars, NamedChange, Seated, SketchBytes, Turn};
use super::document::{Document, SketchFile};
use super::splice::Splice;
use crate::band::{Band, PartId};
use crate::score::{Draft, DraftNote, Lock, Locks, PartLine};
use std::cmp::Ordering;
use std::sync::Arc;

/// The changes that make one document of another, in the order in which they are made.
pub(super) fn changes_between(before: &Document, after: &Document) -> Vec<Change> {
    let mut changes = Vec::new();
    changes.extend(Turn::between(&before.title, &after.title).map(Change::Title));
    changes.extend(of_sketch(&before.sketch, &after.sketch));
    changes.extend(of_parts(before, after));
    changes.extend(Splice::between(&before.tags.0, &after.tags.0).map(Change::Tags));
    changes.extend(Turn::between(&before.conditions, &after.conditions).map(Change::Conditions));
    changes.extend(Turn::between(&before.styles, &after.styles).map(Change::Styles));
    changes.extend(shared(&before.taken, &after.taken).map(Change::Taken));
    changes.extend(shared(&before.tune, &after.tune).map(Change::Tune));
    changes.extend(Splice::between(&before.aside, &after.aside).map(Change::Aside));
    let timeline = shared(&before.timeline, &after.timeline).map(Box::new);
    changes.extend(timeline.map(Change::Timeline));
    changes
}

/// As [`Turn::between`], without a look at values that are one and the same.
fn shared<T: PartialEq>(before: &Arc<T>, after: &Arc<T>) -> Option<Turn<Arc<T>>> {
    if Arc::ptr_eq(before, after) {
        return None;
    }
    Turn::between(before, after)
}

fn of_sketch(before: &SketchFile, after: &SketchFile) -> Vec<Change> {
    let mut changes = Vec::new();
    if (&before.name, &before.bytes) != (&after.name, &after.bytes) {
        let bytes = |of: &SketchFile| SketchBytes {
            name: of.name.clone(),
            bytes: of.bytes.clone(),
        };
        changes.push(Change::Sketch(Box::new(Turn {
            before: bytes(before),
            after: bytes(after),
        })));
    }
    changes.extend(Turn::between(&before.times, &after.times).map(Change::Times));
    changes.extend(Turn::between(&before.transpose, &after.transpose).map(Change::Transpose));
    changes
}

/// Band, draft and locks: part by part where the parts stay in their places, else as a whole.
fn of_parts(before: &Document, after: &Document) -> Vec<Change> {
    let fine = by_part(before, after);
    fine.unwrap_or_else(|| {
        let seated = |of: &Document| Seated {
            band: of.band.clone(),
            draft: of.draft.clone(),
            locks: of.locks.clone(),
        };
        let turn = Turn {
            before: seated(before),
            after: seated(after),
        };
        vec![Change::Seated(Box::new(turn))]
    })
}

/// `None` where that cannot be told part by part.
fn by_part(before: &Document, after: &Document) -> Option<Vec<Change>> {
    let band = &after.band;
    if !same_places(&before.band, band) {
        return None;
    }
    let mut changes = Vec::new();
    changes.extend(shared(&before.band, &after.band).map(Change::Band));
    if !Arc::ptr_eq(&before.draft, &after.draft) {
        changes.extend(of_draft(&before.draft, &after.draft, band)?);
    }
    if !Arc::ptr_eq(&before.locks, &after.locks) {
        changes.extend(of_locks(&before.locks, &after.locks, band)?);
    }
    Some(changes)
}

fn same_places(before: &Band, after: &Band) -> bool {
    let names =
        |band: &'_ Band| -> Vec<String> { band.parts.iter().map(|p| p.name.clone()).collect() };
    names(before) == names(after)
}

fn of_draft(before: &Draft, after: &Draft, band: &Band) -> Option<Vec<Change>> {
    if before == after {
        return Some(Vec::new());
    }
    let places = |draft: &Draft| -> Vec<PartId> { draft.lines.iter().map(|l| l.part).collect() };
    let (old, new) = (places(before), places(after));
    if old != new || !old.is_sorted_by(|a, b| a < b) {
        return None;
    }
    let mut changes = Vec::new();
    for (before, after) in before.lines.iter().zip(&after.lines) {
        changes.extend(of_line(before, after, band)?);
    }
    let named = |draft: &Draft| -> Option<Vec<NamedChange>> {
        let all = draft.melody_changes.iter();
        all.map(|c| NamedChange::of(c, band)).collect()
    };
    let melody = Splice::between(&named(before)?, &named(after)?);
    changes.extend(melody.map(Change::Melody));
    Some(changes)
}

fn of_line(before: &PartLine, after: &PartLine, band: &Band) -> Option<Option<Change>> {
    if before.notes == after.notes {
        return Some(None);
    }
    // What is put in is found its place by order; a line out of order would not come out the same.
    if !before.notes.is_sorted() || !after.notes.is_sorted() {
        return None;
    }
    let (removed, added) = difference(&before.notes, &after.notes);
    Some(Some(Change::Notes {
        part: band.parts.get(before.part.0)?.name.clone(),
        removed,
        added,
    }))
}

/// Of two sorted lists what is in the first alone, and what is in the second alone.
fn difference(before: &[DraftNote], after: &[DraftNote]) -> (Vec<DraftNote>, Vec<DraftNote>) {
    let (mut removed, mut added) = (Vec::new(), Vec::new());
    let (mut old, mut new) = (before.iter().peekable(), after.iter().peekable());
    loop {
        let order = match (old.peek(), new.peek()) {
            (Some(a), Some(b)) => a.cmp(b),
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (None, None) => return (removed, added),
        };
        match order {
            Ordering::Less => removed.extend(old.next()),
            Ordering::Greater => added.extend(new.next()),
            Ordering::Equal => {
                old.next();
                new.next();
            }
        }
    }
}

fn of_locks(before: &Locks, after: &Locks, band: &Band) -> Option<Vec<Change>> {
    let in_order = |locks: &Locks| locks.0.is_sorted_by(|a, b| a.part < b.part);
    let known = |locks: &Locks| locks.0.iter().all(|l| l.part.0 < band.parts.len());
    if ![before, after].iter().all(|l| in_order(l) && known(l)) {
        return None;
    }
    let bars = |lock: &Lock| LockedBars {
        bars: lock.bars.clone(),
        notes: lock.notes.clone(),
    };
    let change = |(id, part): (PartId, &crate::band::Part)| {
        let (before, after) = (before.of(id), after.of(id));
        (before != after).then(|| Change::Lock {
            part: part.name.clone(),
            turn: Turn {
                before: before.map(bars),
                after: after.map(bars),
            },
        })
    };
    Some(band.ids().filter_map(change).collect())
}
