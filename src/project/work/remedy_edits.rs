//! Edits that mend a finding.

use super::desk::{Desk, Done, Refused, Way};
use super::fit::{Suits, fitted, one_at_a_time, put};
use super::hand_over::hand_over;
use super::lengths::is;
use super::pitches::about;
use super::selection::{NoteId, Selection, id_of};
use super::sheet::{Sheet, hull};
use super::words::{bars_in_words, octaves_in_words, parts_in_words};
use crate::band::PartId;
use crate::music::{BarNumber, Interval, Sounding, Tick};
use crate::score::DraftNote;
use std::collections::BTreeSet;

/// An edit that mends a finding.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Mend {
    /// Notes go so many octaves up or down.
    Octaves(Vec<NoteId>, Way, u8),
    /// A note takes another pitch.
    Pitch(NoteId, Sounding),
    /// Notes are left out.
    LeaveOut(Vec<NoteId>),
    /// A note is left out, and the one before, which it follows at once, is held through it.
    HoldOver(NoteId),
    /// A note ends sooner.
    EndAt(NoteId, Tick),
    /// A part plays one note where it has several at once: what was held over ends, and of those
    /// struck together the highest stays.
    OneAtATime(PartId, Tick),
    /// A part rests in bars; what it holds over into them ends at their barlines.
    Rest(PartId, BTreeSet<BarNumber>),
    /// Another part plays notes too, in the octave that suits it.
    PlayToo(Vec<NoteId>, PartId),
    /// A part takes notes of the sketch, in the octave that suits it.
    Take(PartId, Vec<DraftNote>),
    /// A note of the tune is played as the sketch has it by all who play another in its place.
    Restore(Tick, Sounding),
    /// Notes are played so many dynamics softer.
    Softer(Vec<NoteId>, u8),
    /// A part's notes that begin in bars go to another part, and it rests.
    HandOver(PartId, PartId, (BarNumber, BarNumber)),
    /// Notes are played so many dynamics louder.
    Louder(Vec<NoteId>, u8),
}

/// A step of dynamics in velocities ([`Dynamic::of_velocity`](crate::music::Dynamic::of_velocity)).
const STEP: u8 = 16;

/// Makes the edit.
///
/// # Errors
/// As the edits by hand; also where the draft is not the one that the edit was thought of for.
pub(super) fn mended(desk: &Desk<'_>, mend: &Mend) -> Result<Done, Refused> {
    match mend {
        Mend::Octaves(notes, way, count) => octaves(desk, notes, *way, *count),
        Mend::Pitch(note, pitch) => {
            let how = format!("move {} to {pitch}", about(desk, &[*note]));
            let after = NoteId {
                pitch: *pitch,
                ..*note
            };
            each(desk, &[*note], how, Some(after), |n| n.pitch = *pitch)
        }
        Mend::LeaveOut(notes) => leave_out(desk, notes),
        Mend::HoldOver(note) => hold_over(desk, note),
        Mend::EndAt(note, at) => {
            let how = format!("shorten {}", about(desk, &[*note]));
            each(desk, &[*note], how, Some(*note), |n| {
                n.duration = at.since(n.onset).min(n.duration);
            })
        }
        Mend::OneAtATime(part, at) => one_at_once(desk, *part, *at),
        Mend::Rest(part, bars) => rest(desk, *part, bars),
        Mend::PlayToo(notes, with) => play_too(desk, notes, *with),
        Mend::Take(part, notes) => take(desk, *part, notes),
        Mend::Restore(onset, sketch) => restore(desk, *onset, *sketch),
        Mend::Softer(notes, steps) => {
            let how = format!("soften {}", about(desk, notes));
            let by = steps.saturating_mul(STEP);
            each(desk, notes, how, None, |n| {
                n.velocity = n.velocity.saturating_sub(by).max(1);
            })
        }
        Mend::HandOver(from, to, bars) => hand_over(desk, *from, &[*to], *bars),
        Mend::Louder(notes, steps) => {
            let how = format!("strengthen {}", about(desk, notes));
            let by = steps.saturating_mul(STEP);
            each(desk, notes, how, None, |n| {
                n.velocity = n.velocity.saturating_add(by).min(127);
            })
        }
    }
}

/// Changes each of some notes.
fn each(
    desk: &Desk<'_>,
    notes: &[NoteId],
    name: String,
    after: Option<NoteId>,
    change: impl Fn(&mut DraftNote),
) -> Result<Done, Refused> {
    let mut sheet = Sheet::of(desk);
    for id in notes {
        let note = sheet.line(id.part).iter_mut().find(|n| is(n, id));
        change(note.ok_or_else(|| Refused::NoNotes(about(desk, &[*id])))?);
    }
    let selection = after.map_or_else(|| around(desk, notes), |n| Selection::of_note(desk, n));
    sheet.finish(name, selection)
}

/// The bars and parts of notes.
fn around(desk: &Desk<'_>, notes: &[NoteId]) -> Selection {
    let bars = hull(notes.iter().map(|n| desk.meters.bar(n.onset)));
    let (a, b) = bars.unwrap_or((BarNumber(1), BarNumber(1)));
    Selection::of(a, b, notes.iter().map(|n| n.part))
}

fn octaves(desk: &Desk<'_>, notes: &[NoteId], way: Way, count: u8) -> Result<Done, Refused> {
    let count = i16::from(count);
    let by = if way == Way::Up { count } else { -count };
    let how = octaves_in_words(by).unwrap_or_default();
    let moved = |p: Sounding| p.up(Interval::octaves(by));
    if let Some(id) = notes.iter().find(|n| moved(n.pitch).is_none()) {
        return Err(Refused::NoPitch {
            part: parts_in_words(desk.band, &[id.part]),
            place: desk.meters.place(id.onset),
        });
    }
    let after = match notes {
        [only] => moved(only.pitch).map(|pitch| NoteId { pitch, ..*only }),
        _ => None,
    };
    let name = format!("set {} {how}", about(desk, notes));
    each(desk, notes, name, after, |n| {
        n.pitch = moved(n.pitch).unwrap_or(n.pitch);
    })
}

fn leave_out(desk: &Desk<'_>, notes: &[NoteId]) -> Result<Done, Refused> {
    let mut sheet = Sheet::of(desk);
    for id in notes {
        sheet.line(id.part).retain(|n| !is(n, id));
    }
    let name = format!("leave out {}", about(desk, notes));
    sheet.finish(name, around(desk, notes))
}

fn hold_over(desk: &Desk<'_>, id: &NoteId) -> Result<Done, Refused> {
    let mut sheet = Sheet::of(desk);
    let line = sheet.line(id.part);
    let missing = || Refused::NoNotes(about(desk, &[*id]));
    let at = line.iter().position(|n| is(n, id)).ok_or_else(missing)?;
    let gone = line.remove(at);
    let before = line.iter_mut().rfind(|n| n.end() == gone.onset);
    let before = before.ok_or(Refused::NotAdjoining)?;
    before.duration = before.duration + gone.duration;
    let kept = id_of(id.part, before);
    let name = format!("hold {} over the next", about(desk, &[kept]));
    sheet.finish(name, Selection::of_note(desk, kept))
}

fn one_at_once(desk: &Desk<'_>, part: PartId, at: Tick) -> Result<Done, Refused> {
    let mut sheet = Sheet::of(desk);
    let line = sheet.line(part);
    let highest = line.iter().filter(|n| n.onset == at).map(|n| n.pitch).max();
    line.retain(|n| n.onset != at || Some(n.pitch) == highest);
    for note in line.iter_mut().filter(|n| n.onset < at) {
        note.duration = note.duration.min(at.since(note.onset));
    }
    let bar = desk.meters.bar(at);
    let who = parts_in_words(desk.band, &[part]);
    let name = format!("one note at a time for {who} in bar {bar}");
    sheet.finish(name, Selection::of(bar, bar, [part]))
}

fn rest(desk: &Desk<'_>, part: PartId, bars: &BTreeSet<BarNumber>) -> Result<Done, Refused> {
    let mut sheet = Sheet::of(desk);
    let line = sheet.line(part);
    for bar in bars {
        let (start, end) = desk.span((*bar, *bar));
        line.retain(|n| n.onset < start || end <= n.onset);
        for note in line.iter_mut().filter(|n| n.onset < start) {
            note.duration = note.duration.min(start.since(note.onset));
        }
    }
    let (a, b) = hull(bars.iter().copied()).unwrap_or((BarNumber(1), BarNumber(1)));
    let place = if bars.len() > 1 && bars.len() < b.0.saturating_sub(a.0) as usize + 1 {
        format!("{} bars of {a}-{b}", bars.len())
    } else {
        bars_in_words((a, b))
    };
    let name = format!("rest {} in {place}", parts_in_words(desk.band, &[part]));
    sheet.finish(name, Selection::of(a, b, [part]))
}

fn play_too(desk: &Desk<'_>, notes: &[NoteId], with: PartId) -> Result<Done, Refused> {
    let found = |id: &NoteId| {
        let note = desk.line(id.part).iter().find(|n| is(n, id)).copied();
        note.ok_or_else(|| Refused::NoNotes(about(desk, &[*id])))
    };
    let all: Vec<DraftNote> = notes.iter().map(found).collect::<Result<_, _>>()?;
    let name = format!(
        "let {} play {} too",
        parts_in_words(desk.band, &[with]),
        about(desk, notes)
    );
    taken(desk, with, &all, name)
}

fn take(desk: &Desk<'_>, part: PartId, notes: &[DraftNote]) -> Result<Done, Refused> {
    let ids: Vec<NoteId> = notes.iter().map(|n| id_of(part, n)).collect();
    let name = format!("give the sketch's notes to {}", about(desk, &ids));
    taken(desk, part, notes, name)
}

/// Puts notes into a part that is free there.
fn taken(desk: &Desk<'_>, id: PartId, notes: &[DraftNote], name: String) -> Result<Done, Refused> {
    let part = desk.part(id).ok_or(Refused::NoPart)?;
    let (Some(first), Some(last)) = (notes.first(), notes.last()) else {
        return Err(Refused::NothingChanges);
    };
    let free = |n: &DraftNote| DraftNote {
        locked: false,
        ..*n
    };
    let notes = one_at_a_time(part, notes.iter().map(free).collect(), true);
    let mut sheet = Sheet::of(desk);
    let notes = fitted(&mut sheet, part, &notes, Suits::Best);
    let span = (first.onset, Tick(last.onset.0.saturating_add(1)));
    put(&mut sheet, id, part, span, notes);
    let bars = (desk.meters.bar(first.onset), desk.meters.bar(last.onset));
    sheet.finish(name, Selection::of(bars.0, bars.1, [id]))
}

fn restore(desk: &Desk<'_>, onset: Tick, sketch: Sounding) -> Result<Done, Refused> {
    let changes = desk.draft.melody_changes.iter();
    let mut here = changes.filter(|c| c.onset == onset && c.sketch == sketch);
    let change = here.next().ok_or(Refused::NothingChanges)?;
    let mut sheet = Sheet::of(desk);
    for (part, pitch) in &change.parts {
        let line = sheet.line(*part);
        let note = line
            .iter_mut()
            .find(|n| n.onset == onset && n.pitch == *pitch);
        if let Some(note) = note {
            note.pitch = in_the_octave_of(sketch, *pitch);
        }
    }
    let parts: Vec<PartId> = change.parts.iter().map(|p| p.0).collect();
    let bar = desk.meters.bar(onset);
    let name = format!("put the tune's {sketch} in bar {bar} back");
    sheet.finish(name, Selection::of(bar, bar, parts))
}

/// A pitch in the octave that is nearest to another.
pub(super) fn in_the_octave_of(pitch: Sounding, near: Sounding) -> Sounding {
    let all = (-10..=10).filter_map(|o| pitch.up(Interval::octaves(o)));
    all.min_by_key(|p| p.distance(near)).unwrap_or(pitch)
}
