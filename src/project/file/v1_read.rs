//! Reading version 1 of the project file. What the program cannot hold is an error that names its
//! place; nothing is left out.

use super::v1::{
    AsideV1, BarRow, ChangeV1, ConditionsV1, DocumentV1, DraftV1, EditV1, HistoryV1, LineV1,
    LockNoteRow, LockV1, LockedV1, MelodyChangeV1, NoteRow, PostureV1, RevisionV1, SeatedV1,
    SketchBytesV1, SpliceV1, StartV1, TagsV1, TakenV1, TimesV1, TuneV1, TurnV1,
};
use crate::band::load::{Conditions, Start};
use crate::band::playing::Posture;
use crate::band::{Band, PartId, read_band};
use crate::export::base64;
use crate::music::{BarNumber, Sounding, Tick, Ticks};
use crate::plan::timeline::{AnyTimeline, read_timeline};
use crate::project::change::{Change, LockedBars, NamedChange, Seated, SketchBytes, Turn};
use crate::project::document::{Document, PutAside, SketchFile};
use crate::project::edit::Edit;
use crate::project::history::{History, Revision};
use crate::project::splice::Splice;
use crate::score::{
    BarSet, Draft, DraftNote, Lock, Locks, MelodyChange, PartLine, Role, TuneRules,
};
use crate::sketch::{Note, Tags, Times, read_tags};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// More bars than any piece has; a set of bars that names more is a mistake and would fill the
/// memory.
const MOST_BARS: u64 = 100_000;
/// Farthest that a sketch is moved, in semitones: all of MIDI.
const FARTHEST: i16 = 127;

/// What is wrong, and where in the project.
pub(in crate::project) type Wrong = String;

fn within<T>(place: impl std::fmt::Display, result: Result<T, Wrong>) -> Result<T, Wrong> {
    result.map_err(|wrong| format!("{place}: {wrong}"))
}

/// Each of some rows read, with its number from 1 where it cannot be.
fn each<R, T>(
    what: &str,
    rows: Vec<R>,
    mut read: impl FnMut(R) -> Result<T, Wrong>,
) -> Result<Vec<T>, Wrong> {
    let rows = rows.into_iter().enumerate();
    rows.map(|(i, row)| read(row).map_err(|wrong| format!("{what} {}: {wrong}", i + 1)))
        .collect()
}

fn whole(number: u64) -> Result<usize, Wrong> {
    usize::try_from(number).map_err(|_| format!("{number} is too large a number"))
}

fn timeline(text: Option<String>) -> Result<Arc<Option<AnyTimeline>>, Wrong> {
    let read = text.map(|text| read_timeline(&text)).transpose();
    read.map(Arc::new).map_err(|wrong| wrong.to_string())
}

/// Reads what the parts of a file hold. Bands are kept, since steps name the same ones again.
#[derive(Default)]
pub(in crate::project) struct Reader {
    bands: BTreeMap<String, Arc<Band>>,
}

impl Reader {
    pub(super) fn document(&mut self, file: DocumentV1) -> Result<Document, Wrong> {
        let band = within("band", self.band(file.band))?;
        Ok(Document {
            title: file.title,
            sketch: Arc::new(SketchFile {
                name: file.sketch.name,
                bytes: within("sketch", sketch_bytes(&file.sketch.bytes))?,
                times: times(file.sketch.times),
                transpose: within("sketch", transpose(file.sketch.transpose))?,
            }),
            tags: Arc::new(within("tags", tags(&file.tags))?),
            conditions: conditions(&file.conditions),
            styles: file.styles,
            taken: Arc::new(within("taken", taken(file.taken))?),
            tune: Arc::new(within("tune", tune(file.tune))?),
            locks: Arc::new(within("locks", locks(file.locks, &band))?),
            draft: Arc::new(within("draft", draft(file.draft, &band))?),
            aside: Arc::new(file.aside.into_iter().map(aside).collect()),
            timeline: within("timeline", timeline(file.timeline))?,
            band,
        })
    }

    pub(super) fn history(&mut self, file: HistoryV1) -> Result<History, Wrong> {
        let revisions = each("revision", file.revisions, |row| self.revision(row))?;
        let next = file.next.map(whole).transpose()?;
        History::from_parts(revisions, next, whole(file.now)?)
    }

    fn revision(&mut self, file: RevisionV1) -> Result<Revision, Wrong> {
        Ok(Revision {
            parent: whole(file.parent)?,
            next: file.next.map(whole).transpose()?,
            edit: self.edit(file.edit)?,
        })
    }

    pub(in crate::project) fn edit(&mut self, file: EditV1) -> Result<Edit, Wrong> {
        Ok(Edit {
            name: file.name,
            changes: each("change", file.changes, |change| self.change(change))?,
        })
    }

    fn change(&mut self, file: ChangeV1) -> Result<Change, Wrong> {
        Ok(match file {
            ChangeV1::Title(t) => Change::Title(turn(t, Ok)?),
            ChangeV1::Sketch(t) => Change::Sketch(Box::new(turn(t, named_bytes)?)),
            ChangeV1::Times(t) => Change::Times(turn(t, |one| Ok(times(one)))?),
            ChangeV1::Transpose(t) => Change::Transpose(turn(t, transpose)?),
            ChangeV1::Band(t) => Change::Band(turn(t, |text| self.band(text))?),
            ChangeV1::Seated(t) => Change::Seated(Box::new(turn(*t, |one| self.seated(one))?)),
            ChangeV1::Tags(rows) => Change::Tags(tag_splice(&rows)?),
            ChangeV1::Conditions(t) => Change::Conditions(turn(t, |one| Ok(conditions(&one)))?),
            ChangeV1::Styles(t) => Change::Styles(turn(t, Ok)?),
            ChangeV1::Taken(t) => Change::Taken(turn(t, |rows| Ok(Arc::new(taken(rows)?)))?),
            ChangeV1::Tune(t) => Change::Tune(turn(t, |rules| Ok(Arc::new(tune(rules)?)))?),
            ChangeV1::Notes(rows) => Change::Notes {
                part: rows.part,
                removed: each("note", rows.removed, note)?,
                added: each("note", rows.added, note)?,
            },
            ChangeV1::Melody(rows) => Change::Melody(splice(rows, named_change)?),
            ChangeV1::Lock(row) => Change::Lock {
                part: row.part,
                turn: Turn {
                    before: row.before.map(locked).transpose()?,
                    after: row.after.map(locked).transpose()?,
                },
            },
            ChangeV1::Aside(rows) => Change::Aside(splice(rows, |row| Ok(aside(row)))?),
            ChangeV1::Timeline(t) => Change::Timeline(Box::new(turn(t, timeline)?)),
        })
    }

    fn seated(&mut self, file: SeatedV1) -> Result<Seated, Wrong> {
        let band = within("band", self.band(file.band))?;
        Ok(Seated {
            draft: Arc::new(within("draft", draft(file.draft, &band))?),
            locks: Arc::new(within("locks", locks(file.locks, &band))?),
            band,
        })
    }

    fn band(&mut self, text: String) -> Result<Arc<Band>, Wrong> {
        if let Some(known) = self.bands.get(&text) {
            return Ok(known.clone());
        }
        let band = read_band(&text).map_err(|e| format!("the roster, {e}"))?;
        let band = Arc::new(band);
        self.bands.insert(text, band.clone());
        Ok(band)
    }
}

fn turn<R, T>(
    file: TurnV1<R>,
    mut read: impl FnMut(R) -> Result<T, Wrong>,
) -> Result<Turn<T>, Wrong> {
    Ok(Turn {
        before: read(file.before)?,
        after: read(file.after)?,
    })
}

fn splice<R, T>(
    file: SpliceV1<R>,
    mut read: impl FnMut(R) -> Result<T, Wrong>,
) -> Result<Splice<T>, Wrong> {
    Ok(Splice {
        at: whole(file.at)?,
        removed: each("row", file.removed, &mut read)?,
        added: each("row", file.added, &mut read)?,
    })
}

fn sketch_bytes(text: &str) -> Result<Vec<u8>, Wrong> {
    base64::to_bytes(text).map_err(|at| format!("its bytes are no base64 at character {}", at + 1))
}

fn named_bytes(file: SketchBytesV1) -> Result<SketchBytes, Wrong> {
    Ok(SketchBytes {
        name: file.name,
        bytes: within("sketch", sketch_bytes(&file.bytes))?,
    })
}

fn transpose(semitones: i16) -> Result<i16, Wrong> {
    if semitones.unsigned_abs() > FARTHEST.unsigned_abs() {
        return Err(format!("it is moved by {semitones} semitones"));
    }
    Ok(semitones)
}

const fn times(file: TimesV1) -> Times {
    match file {
        TimesV1::Auto => Times::Auto,
        TimesV1::Written => Times::Written,
        TimesV1::Played => Times::Played,
    }
}

const fn conditions(file: &ConditionsV1) -> Conditions {
    Conditions {
        posture: match file.posture {
            PostureV1::Seated => Posture::Seated,
            PostureV1::Marching => Posture::Marching,
        },
        start: match file.start {
            StartV1::Fresh => Start::Fresh,
            StartV1::MidProgramme => Start::MidProgramme,
        },
    }
}

fn tags(text: &str) -> Result<Tags, Wrong> {
    read_tags(text).map_err(|e| e.to_string())
}

fn tag_splice(file: &TagsV1) -> Result<Splice<crate::sketch::Tag>, Wrong> {
    Ok(Splice {
        at: whole(file.at)?,
        removed: within("tags", tags(&file.removed))?.0,
        added: within("tags", tags(&file.added))?.0,
    })
}

fn taken(rows: Vec<TakenV1>) -> Result<BTreeMap<(u32, u32), usize>, Wrong> {
    let mut taken = BTreeMap::new();
    for TakenV1 { bars, way } in rows {
        if taken.insert(bars, whole(way)?).is_some() {
            return Err(format!("bars {}-{} are named twice", bars.0, bars.1));
        }
    }
    Ok(taken)
}

fn tune(file: TuneV1) -> Result<TuneRules, Wrong> {
    let restored: BTreeSet<Tick> = file.restored.into_iter().map(Tick).collect();
    Ok(TuneRules {
        as_written: bars(&file.as_written)?,
        may_change: bars(&file.may_change)?,
        restored,
    })
}

fn bars(rows: &[BarRow]) -> Result<BarSet, Wrong> {
    let mut count: u64 = 0;
    for (first, last) in rows {
        if first > last {
            return Err(format!("bars {first}-{last} are the wrong way round"));
        }
        count += u64::from(last - first) + 1;
        if count > MOST_BARS {
            return Err(format!("more than {MOST_BARS} bars are named"));
        }
    }
    let all = rows.iter().flat_map(|(first, last)| *first..=*last);
    Ok(BarSet(all.map(BarNumber).collect()))
}

fn part(name: &str, band: &Band) -> Result<PartId, Wrong> {
    let found = band.ids().find(|(_, part)| part.name == name);
    let found = found.map(|(id, _)| id);
    found.ok_or_else(|| format!("the band has no part `{}`", plain(name)))
}

/// Words of the file are quoted: nothing of theirs may steer a terminal.
pub(super) fn plain(text: &str) -> String {
    text.replace(char::is_control, "\u{fffd}")
}

fn locks(rows: Vec<LockV1>, band: &Band) -> Result<Locks, Wrong> {
    let mut seen = BTreeSet::new();
    let locks = each("lock", rows, |row| {
        let part = once(part(&row.part, band)?, &row.part, &mut seen)?;
        let LockedBars { bars, notes } = locked(LockedV1 {
            bars: row.bars,
            notes: row.notes,
        })?;
        Ok(Lock { part, bars, notes })
    });
    Ok(Locks(locks?))
}

fn once(part: PartId, name: &str, seen: &mut BTreeSet<PartId>) -> Result<PartId, Wrong> {
    if seen.insert(part) {
        return Ok(part);
    }
    Err(format!("`{}` is named twice", plain(name)))
}

fn locked(file: LockedV1) -> Result<LockedBars, Wrong> {
    Ok(LockedBars {
        bars: bars(&file.bars)?,
        notes: each("note", file.notes, lock_note)?,
    })
}

fn pitch(midi: u8) -> Result<Sounding, Wrong> {
    Sounding::new(midi).ok_or_else(|| format!("pitch {midi} is over 127"))
}

fn duration(ticks: u64) -> Result<Ticks, Wrong> {
    if ticks == 0 {
        return Err("it has no length".to_owned());
    }
    Ok(Ticks(ticks))
}

fn velocity(velocity: u8) -> Result<u8, Wrong> {
    if (1..=127).contains(&velocity) {
        return Ok(velocity);
    }
    Err(format!("velocity {velocity} is not from 1 to 127"))
}

fn lock_note((onset, midi, length, strength, channel): LockNoteRow) -> Result<Note, Wrong> {
    if channel > 15 {
        return Err(format!("channel {channel} is over 15"));
    }
    Ok(Note {
        onset: Tick(onset),
        pitch: pitch(midi)?,
        duration: duration(length)?,
        velocity: velocity(strength)?,
        channel,
    })
}

fn draft(file: DraftV1, band: &Band) -> Result<Draft, Wrong> {
    let mut seen = BTreeSet::new();
    let lines = each("line", file.lines, |row: LineV1| {
        let part = once(part(&row.part, band)?, &row.part, &mut seen)?;
        let notes = each("note", row.notes, note)?;
        Ok(PartLine { part, notes })
    });
    let melody_changes = each("change of the tune", file.melody_changes, |row| {
        let named = named_change(row)?;
        named.in_band(band).ok_or_else(|| {
            let names: Vec<String> = named.parts.iter().map(|p| plain(&p.0)).collect();
            format!("the band has not all of its parts, {}", names.join(", "))
        })
    });
    let melody_changes: Vec<MelodyChange> = melody_changes?;
    Ok(Draft {
        lines: lines?,
        melody_changes,
    })
}

fn note((onset, midi, length, strength, role, locked): NoteRow) -> Result<DraftNote, Wrong> {
    const ROLES: [Role; 6] = [
        Role::Melody,
        Role::Counterline,
        Role::Harmony,
        Role::Bass,
        Role::Figure,
        Role::Rest,
    ];
    let known = ROLES.into_iter().find(|r| r.word() == role);
    Ok(DraftNote {
        onset: Tick(onset),
        pitch: pitch(midi)?,
        duration: duration(length)?,
        velocity: velocity(strength)?,
        role: known.ok_or_else(|| format!("`{}` is no role", plain(&role)))?,
        locked,
    })
}

fn named_change(file: MelodyChangeV1) -> Result<NamedChange, Wrong> {
    let parts = file.parts.into_iter();
    let parts: Result<Vec<_>, Wrong> = parts.map(|(name, p)| Ok((name, pitch(p)?))).collect();
    Ok(NamedChange {
        onset: Tick(file.onset),
        sketch: pitch(file.sketch)?,
        new: file.new.map(pitch).transpose()?,
        parts: parts?,
        reason: file.reason,
    })
}

fn aside(file: AsideV1) -> PutAside {
    PutAside {
        kind: file.kind,
        part: file.part,
        at: Tick(file.at),
        reason: file.reason,
    }
}
