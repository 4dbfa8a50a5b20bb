//! Longer, shorter, in two, as one.

use super::desk::{Desk, Done, Refused};
use super::pitches::{about, chosen};
use super::selection::{NoteId, Selection};
use super::sheet::Sheet;
use crate::music::{Tick, Ticks};
use crate::score::DraftNote;

/// Makes every selected note longer by a step of the grid, but no longer than until the next note of
/// its part (on a part that plays chords: the next of its pitch). Those that have no room stay.
///
/// # Errors
/// Where no note is selected or none has room.
pub fn longer(desk: &Desk<'_>, selection: &Selection, grid: Ticks) -> Result<Done, Refused> {
    let notes = chosen(desk, selection)?;
    let mut sheet = Sheet::of(desk);
    let (mut any, mut short) = (false, 0);
    for id in &notes {
        let chordal = desk.part(id.part).is_some_and(|p| p.instrument.chordal);
        let line = sheet.line(id.part);
        let mut later = line.iter().filter(|n| n.onset > id.onset);
        let next = later.find(|n| !chordal || n.pitch == id.pitch);
        let next = next.map(|n| n.onset);
        let Some(note) = line.iter_mut().find(|n| is(n, id)) else {
            continue;
        };
        let room = next.map_or(grid, |next| next.since(note.end()));
        short += usize::from(room < grid);
        let more = room.min(grid);
        any |= !more.is_zero();
        note.duration = note.duration + more;
    }
    if !any {
        return Err(Refused::NoRoom);
    }
    if short > 0 {
        sheet.tell("where the next note begins sooner, notes grew only so far".to_owned());
    }
    let name = format!("make {} longer", about(desk, &notes));
    sheet.finish(name, selection.clone())
}

/// Makes every selected note shorter by a step of the grid. Those that are no longer than a step stay.
///
/// # Errors
/// Where no note is selected or none is longer than a step.
pub fn shorter(desk: &Desk<'_>, selection: &Selection, grid: Ticks) -> Result<Done, Refused> {
    let notes = chosen(desk, selection)?;
    let mut sheet = Sheet::of(desk);
    let mut any = false;
    for id in &notes {
        let mut line = sheet.line(id.part).iter_mut();
        if let Some(note) = line.find(|n| is(n, id) && n.duration > grid) {
            note.duration = note.duration - grid;
            any |= !grid.is_zero();
        }
    }
    if !any {
        return Err(Refused::TooShort);
    }
    let name = format!("make {} shorter", about(desk, &notes));
    sheet.finish(name, selection.clone())
}

/// Cuts every selected note in two at a tick, or in halves; the second is struck again.
///
/// # Errors
/// Where no note is selected, or one would have a part without length.
pub fn split(desk: &Desk<'_>, selection: &Selection, at: Option<Tick>) -> Result<Done, Refused> {
    let notes = chosen(desk, selection)?;
    let mut sheet = Sheet::of(desk);
    for id in &notes {
        let line = sheet.line(id.part);
        let Some(note) = line.iter_mut().find(|n| is(n, id)) else {
            continue;
        };
        let end = note.end();
        let at = at.unwrap_or(Tick(note.onset.0.saturating_add(note.duration.0 / 2)));
        if at <= note.onset || end <= at {
            return Err(Refused::NotInside);
        }
        note.duration = at.since(note.onset);
        let second = DraftNote {
            onset: at,
            duration: end.since(at),
            ..*note
        };
        line.push(second);
    }
    let name = format!("split {}", about(desk, &notes));
    sheet.finish(name, selection.clone())
}

/// Makes one of adjoining notes: of the selected note and the next, at the first one's pitch; or where
/// bars are selected, of all that adjoin there at one pitch.
///
/// # Errors
/// Where no note is selected, or no two adjoin.
pub fn join(desk: &Desk<'_>, selection: &Selection) -> Result<Done, Refused> {
    let notes = chosen(desk, selection)?;
    let any_pitch = selection.note.is_some();
    let mut sheet = Sheet::of(desk);
    let mut gone: Vec<NoteId> = Vec::new();
    for id in &notes {
        if gone.contains(id) {
            continue;
        }
        let line = sheet.line(id.part);
        let Some(mut at) = line.iter().position(|n| is(n, id)) else {
            continue;
        };
        loop {
            let first = line[at];
            let next = line.iter().position(|n| {
                let other = NoteId {
                    part: id.part,
                    onset: n.onset,
                    pitch: n.pitch,
                };
                let inside = any_pitch || (n.pitch == first.pitch && notes.contains(&other));
                n.onset == first.end() && inside
            });
            let Some(next) = next else { break };
            let second = line.remove(next);
            gone.push(NoteId {
                part: id.part,
                onset: second.onset,
                pitch: second.pitch,
            });
            at -= usize::from(next < at);
            line[at].duration = first.duration + second.duration;
            if any_pitch {
                break;
            }
        }
    }
    if gone.is_empty() {
        return Err(Refused::NotAdjoining);
    }
    let name = format!("join {}", about(desk, &notes));
    sheet.finish(name, selection.clone())
}

pub(super) fn is(note: &DraftNote, id: &NoteId) -> bool {
    (note.onset, note.pitch) == (id.onset, id.pitch)
}
