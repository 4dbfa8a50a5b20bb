//! Writing version 1 of the project file.

use super::v1::{
    AsideV1, BarRow, ChangeV1, ConditionsV1, DocumentV1, DraftV1, EditV1, FileV1, HistoryV1,
    LineV1, LockNoteRow, LockTurnV1, LockV1, LockedV1, MelodyChangeV1, NoteRow, NotesV1, PostureV1,
    RevisionV1, SeatedV1, SketchBytesV1, SketchV1, SpliceV1, StartV1, TagsV1, TakenV1, TimesV1,
    TuneV1, TurnV1,
};
use crate::band::load::{Conditions, Start};
use crate::band::playing::Posture;
use crate::band::{Band, PartId, write_band};
use crate::export::base64;
use crate::plan::timeline::{AnyTimeline, write_timeline};
use crate::project::change::{Change, LockedBars, NamedChange, Seated, SketchBytes, Turn};
use crate::project::document::{Document, PutAside};
use crate::project::edit::Edit;
use crate::project::history::{History, Revision};
use crate::project::project::Project;
use crate::project::splice::Splice;
use crate::score::as_ranges;
use crate::score::{BarSet, Draft, DraftNote, Locks, MelodyChange, PartLine, TuneRules};
use crate::sketch::{Note, Tag, Tags, Times, write_tags};
use std::collections::BTreeMap;

/// A project as one value.
pub(in crate::project) fn file(project: &Project) -> FileV1 {
    FileV1 {
        format: super::FORMAT.to_owned(),
        version: super::VERSION,
        document: document(project.document()),
        history: Some(history(project.history())),
    }
}

pub(super) fn document(document: &Document) -> DocumentV1 {
    let band = &document.band;
    DocumentV1 {
        title: document.title.clone(),
        sketch: SketchV1 {
            name: document.sketch.name.clone(),
            times: times(document.sketch.times),
            transpose: document.sketch.transpose,
            bytes: base64::to_text(&document.sketch.bytes),
        },
        band: write_band(band),
        tags: write_tags(&document.tags),
        conditions: conditions(document.conditions),
        styles: document.styles.clone(),
        taken: taken(&document.taken),
        tune: tune(&document.tune),
        locks: locks(&document.locks, band),
        draft: draft(&document.draft, band),
        aside: document.aside.iter().map(aside).collect(),
        timeline: timeline(&document.timeline),
    }
}

pub(super) fn history(history: &History) -> HistoryV1 {
    HistoryV1 {
        now: history.now() as u64,
        next: history.next(0).map(|n| n as u64),
        revisions: history.revisions().iter().map(revision).collect(),
    }
}

fn revision(revision: &Revision) -> RevisionV1 {
    RevisionV1 {
        parent: revision.parent as u64,
        next: revision.next.map(|n| n as u64),
        edit: edit(&revision.edit),
    }
}

pub(in crate::project) fn edit(edit: &Edit) -> EditV1 {
    EditV1 {
        name: edit.name.clone(),
        changes: edit.changes.iter().map(change).collect(),
    }
}

fn change(change: &Change) -> ChangeV1 {
    match change {
        Change::Title(t) => ChangeV1::Title(turn(t, Clone::clone)),
        Change::Sketch(t) => ChangeV1::Sketch(turn(t, sketch_bytes)),
        Change::Times(t) => ChangeV1::Times(turn(t, |one| times(*one))),
        Change::Transpose(t) => ChangeV1::Transpose(turn(t, |one| *one)),
        Change::Band(t) => ChangeV1::Band(turn(t, |band| write_band(band))),
        Change::Seated(t) => ChangeV1::Seated(Box::new(turn(t, seated))),
        Change::Tags(splice) => ChangeV1::Tags(tags(splice)),
        Change::Conditions(t) => ChangeV1::Conditions(turn(t, |one| conditions(*one))),
        Change::Styles(t) => ChangeV1::Styles(turn(t, Clone::clone)),
        Change::Taken(t) => ChangeV1::Taken(turn(t, |all| taken(all))),
        Change::Tune(t) => ChangeV1::Tune(turn(t, |rules| tune(rules))),
        Change::Notes {
            part,
            removed,
            added,
        } => ChangeV1::Notes(NotesV1 {
            part: part.clone(),
            removed: removed.iter().map(note).collect(),
            added: added.iter().map(note).collect(),
        }),
        Change::Melody(all) => ChangeV1::Melody(splice(all, named_change)),
        Change::Lock { part, turn } => ChangeV1::Lock(LockTurnV1 {
            part: part.clone(),
            before: turn.before.as_ref().map(locked),
            after: turn.after.as_ref().map(locked),
        }),
        Change::Aside(all) => ChangeV1::Aside(splice(all, aside)),
        Change::Timeline(t) => ChangeV1::Timeline(turn(t, |one| timeline(one))),
    }
}

fn timeline(timeline: &Option<AnyTimeline>) -> Option<String> {
    timeline.as_ref().map(write_timeline)
}

fn turn<T, R>(turn: &Turn<T>, write: impl Fn(&T) -> R) -> TurnV1<R> {
    TurnV1 {
        before: write(&turn.before),
        after: write(&turn.after),
    }
}

fn splice<T, R>(splice: &Splice<T>, write: impl Fn(&T) -> R) -> SpliceV1<R> {
    SpliceV1 {
        at: splice.at as u64,
        removed: splice.removed.iter().map(&write).collect(),
        added: splice.added.iter().map(&write).collect(),
    }
}

fn sketch_bytes(sketch: &SketchBytes) -> SketchBytesV1 {
    SketchBytesV1 {
        name: sketch.name.clone(),
        bytes: base64::to_text(&sketch.bytes),
    }
}

fn seated(seated: &Seated) -> SeatedV1 {
    SeatedV1 {
        band: write_band(&seated.band),
        draft: draft(&seated.draft, &seated.band),
        locks: locks(&seated.locks, &seated.band),
    }
}

fn tags(splice: &Splice<Tag>) -> TagsV1 {
    TagsV1 {
        at: splice.at as u64,
        removed: write_tags(&Tags(splice.removed.clone())),
        added: write_tags(&Tags(splice.added.clone())),
    }
}

const fn times(times: Times) -> TimesV1 {
    match times {
        Times::Auto => TimesV1::Auto,
        Times::Written => TimesV1::Written,
        Times::Played => TimesV1::Played,
    }
}

const fn conditions(conditions: Conditions) -> ConditionsV1 {
    ConditionsV1 {
        posture: match conditions.posture {
            Posture::Seated => PostureV1::Seated,
            Posture::Marching => PostureV1::Marching,
        },
        start: match conditions.start {
            Start::Fresh => StartV1::Fresh,
            Start::MidProgramme => StartV1::MidProgramme,
        },
    }
}

fn taken(taken: &BTreeMap<(u32, u32), usize>) -> Vec<TakenV1> {
    let one = |(bars, way): (&(u32, u32), &usize)| TakenV1 {
        bars: *bars,
        way: *way as u64,
    };
    taken.iter().map(one).collect()
}

fn tune(rules: &TuneRules) -> TuneV1 {
    TuneV1 {
        as_written: bars(&rules.as_written),
        may_change: bars(&rules.may_change),
        restored: rules.restored.iter().map(|t| t.0).collect(),
    }
}

fn bars(bars: &BarSet) -> Vec<BarRow> {
    let all = as_ranges(bars.0.iter().copied()).into_iter();
    all.map(|(first, last)| (first.0, last.0)).collect()
}

/// A part's name; a part that the band has not gets a name that none has.
fn name(part: PartId, band: &Band) -> String {
    let part = band.parts.get(part.0);
    part.map_or_else(String::new, |p| p.name.clone())
}

fn locks(locks: &Locks, band: &Band) -> Vec<LockV1> {
    let lock = |lock: &crate::score::Lock| LockV1 {
        part: name(lock.part, band),
        bars: bars(&lock.bars),
        notes: lock.notes.iter().map(lock_note).collect(),
    };
    locks.0.iter().map(lock).collect()
}

fn locked(locked: &LockedBars) -> LockedV1 {
    LockedV1 {
        bars: bars(&locked.bars),
        notes: locked.notes.iter().map(lock_note).collect(),
    }
}

const fn lock_note(note: &Note) -> LockNoteRow {
    let pitch = note.pitch.midi();
    (
        note.onset.0,
        pitch,
        note.duration.0,
        note.velocity,
        note.channel,
    )
}

fn draft(draft: &Draft, band: &Band) -> DraftV1 {
    let line = |line: &PartLine| LineV1 {
        part: name(line.part, band),
        notes: line.notes.iter().map(note).collect(),
    };
    DraftV1 {
        lines: draft.lines.iter().map(line).collect(),
        melody_changes: draft
            .melody_changes
            .iter()
            .map(|c| melody_change(c, band))
            .collect(),
    }
}

fn note(note: &DraftNote) -> NoteRow {
    (
        note.onset.0,
        note.pitch.midi(),
        note.duration.0,
        note.velocity,
        note.role.word().to_owned(),
        note.locked,
    )
}

fn melody_change(change: &MelodyChange, band: &Band) -> MelodyChangeV1 {
    let parts = change.parts.iter();
    MelodyChangeV1 {
        onset: change.onset.0,
        sketch: change.sketch.midi(),
        new: change.new.map(crate::music::Sounding::midi),
        parts: parts.map(|(id, p)| (name(*id, band), p.midi())).collect(),
        reason: change.reason.clone(),
    }
}

fn named_change(change: &NamedChange) -> MelodyChangeV1 {
    let parts = change.parts.iter();
    MelodyChangeV1 {
        onset: change.onset.0,
        sketch: change.sketch.midi(),
        new: change.new.map(crate::music::Sounding::midi),
        parts: parts.map(|(name, p)| (name.clone(), p.midi())).collect(),
        reason: change.reason.clone(),
    }
}

fn aside(one: &PutAside) -> AsideV1 {
    AsideV1 {
        kind: one.kind.clone(),
        part: one.part.clone(),
        at: one.at.0,
        reason: one.reason.clone(),
    }
}
