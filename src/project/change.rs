//! A change: one kind of thing of a document that becomes another, with what it was.

use super::document::{Document, PutAside, SketchFile};
use super::edit::EditError;
use super::splice::Splice;
use crate::band::load::Conditions;
use crate::band::{Band, PartId};
use crate::music::{Sounding, Tick};
use crate::plan::timeline::AnyTimeline;
use crate::score::{BarSet, Draft, DraftNote, Lock, Locks, MelodyChange, TuneRules};
use crate::sketch::{Note, Tag, Tags, Times};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A value before and after.
#[derive(Clone, PartialEq, Debug)]
pub struct Turn<T> {
    /// What it was.
    pub before: T,
    /// What it is.
    pub after: T,
}

impl<T: Clone + PartialEq> Turn<T> {
    /// The turn from one value to another; `None` where they are equal.
    pub(super) fn between(before: &T, after: &T) -> Option<Self> {
        (before != after).then(|| Self {
            before: before.clone(),
            after: after.clone(),
        })
    }

    fn inverse(&self) -> Self {
        Self {
            before: self.after.clone(),
            after: self.before.clone(),
        }
    }

    /// Turns a value over.
    fn apply(&self, value: &mut T, what: &str) -> Result<(), EditError> {
        if *value != self.before {
            return Err(EditError::new(what));
        }
        value.clone_from(&self.after);
        Ok(())
    }
}

/// The sketch's bytes under a name.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SketchBytes {
    /// The name of the file.
    pub name: String,
    /// The bytes of the file: MIDI or MusicXML.
    pub bytes: Vec<u8>,
}

/// A band with all that is known by the places of its parts.
#[derive(Clone, PartialEq, Debug)]
pub struct Seated {
    /// The band.
    pub band: Arc<Band>,
    /// The notes of its parts.
    pub draft: Arc<Draft>,
    /// What is locked of its parts.
    pub locks: Arc<Locks>,
}

/// A change of the tune, with parts by their names.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NamedChange {
    /// Where the sketch has the note.
    pub onset: Tick,
    /// The sketch's pitch.
    pub sketch: Sounding,
    /// What stands in its place; `None`: nothing does.
    pub new: Option<Sounding>,
    /// Who plays that, and at which pitch.
    pub parts: Vec<(String, Sounding)>,
    /// What became of it and why.
    pub reason: String,
}

impl NamedChange {
    /// `None` for parts of another band.
    pub(super) fn of(change: &MelodyChange, band: &Band) -> Option<Self> {
        let named = |(part, pitch): &(PartId, Sounding)| {
            let part = band.parts.get(part.0)?;
            Some((part.name.clone(), *pitch))
        };
        Some(Self {
            onset: change.onset,
            sketch: change.sketch,
            new: change.new,
            parts: change.parts.iter().map(named).collect::<Option<_>>()?,
            reason: change.reason.clone(),
        })
    }

    /// `None` for names of another band.
    pub(super) fn in_band(&self, band: &Band) -> Option<MelodyChange> {
        let seated =
            |(name, pitch): &(String, Sounding)| part_named(band, name).map(|part| (part, *pitch));
        Some(MelodyChange {
            onset: self.onset,
            sketch: self.sketch,
            new: self.new,
            parts: self.parts.iter().map(seated).collect::<Option<_>>()?,
            reason: self.reason.clone(),
        })
    }
}

/// What is locked of a part.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LockedBars {
    /// The bars.
    pub bars: BarSet,
    /// The notes in them.
    pub notes: Vec<Note>,
}

/// A change of a document. Parts go by their names, so that a change can be read by itself.
#[derive(Clone, PartialEq, Debug)]
pub enum Change {
    /// The title.
    Title(Turn<String>),
    /// The sketch itself.
    Sketch(Box<Turn<SketchBytes>>),
    /// Which of the sketch's times count.
    Times(Turn<Times>),
    /// By how many semitones the sketch is moved.
    Transpose(Turn<i16>),
    /// The band, with the same parts in the same places.
    Band(Turn<Arc<Band>>),
    /// The band with other parts, or the draft as a whole.
    Seated(Box<Turn<Seated>>),
    /// What is said of the sketch's lines.
    Tags(Splice<Tag>),
    /// The conditions of the show.
    Conditions(Turn<Conditions>),
    /// The styles.
    Styles(Turn<Vec<String>>),
    /// Ways of scoring taken.
    Taken(Turn<Arc<BTreeMap<(u32, u32), usize>>>),
    /// What may be done with the tune.
    Tune(Turn<Arc<TuneRules>>),
    /// Notes of a part.
    Notes {
        /// The part's name.
        part: String,
        /// Notes taken out, in order.
        removed: Vec<DraftNote>,
        /// Notes put in, in order.
        added: Vec<DraftNote>,
    },
    /// What was changed in the tune.
    Melody(Splice<NamedChange>),
    /// What is locked of a part; `None` for nothing.
    Lock {
        /// The part's name.
        part: String,
        /// What was and what is locked.
        turn: Turn<Option<LockedBars>>,
    },
    /// Findings put aside.
    Aside(Splice<PutAside>),
    /// How intense the show is wanted.
    Timeline(Box<Turn<Arc<Option<AnyTimeline>>>>),
}

impl Change {
    /// The change that takes this one back.
    #[must_use]
    pub fn inverse(&self) -> Self {
        match self {
            Self::Title(turn) => Self::Title(turn.inverse()),
            Self::Sketch(turn) => Self::Sketch(Box::new(turn.inverse())),
            Self::Times(turn) => Self::Times(turn.inverse()),
            Self::Transpose(turn) => Self::Transpose(turn.inverse()),
            Self::Band(turn) => Self::Band(turn.inverse()),
            Self::Seated(turn) => Self::Seated(Box::new(turn.inverse())),
            Self::Tags(splice) => Self::Tags(splice.inverse()),
            Self::Conditions(turn) => Self::Conditions(turn.inverse()),
            Self::Styles(turn) => Self::Styles(turn.inverse()),
            Self::Taken(turn) => Self::Taken(turn.inverse()),
            Self::Tune(turn) => Self::Tune(turn.inverse()),
            Self::Notes {
                part,
                removed,
                added,
            } => Self::Notes {
                part: part.clone(),
                removed: added.clone(),
                added: removed.clone(),
            },
            Self::Melody(splice) => Self::Melody(splice.inverse()),
            Self::Lock { part, turn } => Self::Lock {
                part: part.clone(),
                turn: turn.inverse(),
            },
            Self::Aside(splice) => Self::Aside(splice.inverse()),
            Self::Timeline(turn) => Self::Timeline(Box::new(turn.inverse())),
        }
    }

    /// Makes the change.
    ///
    /// # Errors
    /// Where what it changes is not as it was; the document may then be half changed.
    pub(super) fn apply(&self, document: &mut Document) -> Result<(), EditError> {
        match self {
            Self::Title(turn) => turn.apply(&mut document.title, "the title"),
            Self::Sketch(turn) => {
                let sketch = Arc::make_mut(&mut document.sketch);
                apply_bytes(turn, sketch)
            }
            Self::Times(turn) => {
                let sketch = Arc::make_mut(&mut document.sketch);
                turn.apply(&mut sketch.times, "the choice of times")
            }
            Self::Transpose(turn) => {
                let sketch = Arc::make_mut(&mut document.sketch);
                turn.apply(&mut sketch.transpose, "the key of the sketch")
            }
            Self::Band(turn) => turn.apply(&mut document.band, "the band"),
            Self::Seated(turn) => apply_seated(turn, document),
            Self::Tags(splice) => {
                let tags = splice.applied(&document.tags.0);
                let tags = tags.ok_or_else(|| EditError::new("the list of tags"))?;
                document.tags = Arc::new(Tags(tags));
                Ok(())
            }
            Self::Conditions(turn) => turn.apply(&mut document.conditions, "how it is played"),
            Self::Styles(turn) => turn.apply(&mut document.styles, "the choice of styles"),
            Self::Taken(turn) => turn.apply(&mut document.taken, "the choice of ways"),
            Self::Tune(turn) => turn.apply(&mut document.tune, "what may be done with the tune"),
            Self::Notes {
                part,
                removed,
                added,
            } => apply_notes(part, removed, added, document),
            Self::Melody(splice) => apply_melody(splice, document),
            Self::Lock { part, turn } => apply_lock(part, turn, document),
            Self::Aside(splice) => {
                let aside = splice.applied(&document.aside);
                let aside = aside.ok_or_else(|| EditError::new("the list of what is put aside"))?;
                document.aside = Arc::new(aside);
                Ok(())
            }
            Self::Timeline(turn) => turn.apply(&mut document.timeline, "the timeline"),
        }
    }
}

fn part_named(band: &Band, name: &str) -> Option<PartId> {
    let mut ids = band.ids();
    ids.find(|(_, part)| part.name == name).map(|(id, _)| id)
}

fn apply_bytes(turn: &Turn<SketchBytes>, sketch: &mut SketchFile) -> Result<(), EditError> {
    if (&sketch.name, &sketch.bytes) != (&turn.before.name, &turn.before.bytes) {
        return Err(EditError::new("the sketch"));
    }
    sketch.name.clone_from(&turn.after.name);
    sketch.bytes.clone_from(&turn.after.bytes);
    Ok(())
}

fn apply_seated(turn: &Turn<Seated>, document: &mut Document) -> Result<(), EditError> {
    let Seated { band, draft, locks } = &turn.before;
    if (band, draft, locks) != (&document.band, &document.draft, &document.locks) {
        return Err(EditError::new("the band or its draft"));
    }
    document.band = turn.after.band.clone();
    document.draft = turn.after.draft.clone();
    document.locks = turn.after.locks.clone();
    Ok(())
}

fn apply_notes(
    part: &str,
    removed: &[DraftNote],
    added: &[DraftNote],
    document: &mut Document,
) -> Result<(), EditError> {
    let fail = || EditError::new(format!("the line of {part}"));
    let id = part_named(&document.band, part).ok_or_else(fail)?;
    let draft = Arc::make_mut(&mut document.draft);
    let line = draft.lines.iter_mut().find(|l| l.part == id);
    let line = line.ok_or_else(fail)?;
    let mut left = removed.iter().peekable();
    line.notes.retain(|note| left.next_if_eq(&note).is_none());
    if left.next().is_some() {
        return Err(fail());
    }
    line.notes.extend(added);
    line.notes.sort();
    Ok(())
}

fn apply_melody(splice: &Splice<NamedChange>, document: &mut Document) -> Result<(), EditError> {
    let fail = || EditError::new("the list of changes of the tune");
    let named = |c| NamedChange::of(c, &document.band);
    let before: Option<Vec<NamedChange>> =
        document.draft.melody_changes.iter().map(named).collect();
    let after = before.and_then(|list| splice.applied(&list));
    let after: Option<Vec<MelodyChange>> =
        after.and_then(|list| list.iter().map(|c| c.in_band(&document.band)).collect());
    Arc::make_mut(&mut document.draft).melody_changes = after.ok_or_else(fail)?;
    Ok(())
}

fn apply_lock(
    part: &str,
    turn: &Turn<Option<LockedBars>>,
    document: &mut Document,
) -> Result<(), EditError> {
    let fail = || EditError::new(format!("what is locked of {part}"));
    let id = part_named(&document.band, part).ok_or_else(fail)?;
    let locks = &mut Arc::make_mut(&mut document.locks).0;
    let found = locks.iter().position(|l| l.part == id);
    let now = found.map(|at| locks.remove(at)).map(|lock| LockedBars {
        bars: lock.bars,
        notes: lock.notes,
    });
    if now != turn.before {
        return Err(fail());
    }
    if let Some(LockedBars { bars, notes }) = turn.after.clone() {
        let at = locks.partition_point(|l| l.part < id);
        let part = id;
        locks.insert(at, Lock { part, bars, notes });
    }
    Ok(())
}
