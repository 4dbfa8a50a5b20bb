//! Adding a note, deleting notes.

use super::desk::{Desk, Done, Refused};
use super::lengths::is;
use super::pitches::{about, chord_tones, chosen};
use super::selection::{NoteId, Selection};
use super::sheet::Sheet;
use crate::band::{Part, PartId};
use crate::music::{Sounding, Tick, Ticks};
use crate::score::{DraftNote, Role};

/// How loud a note is where neither the part nor the sketch tells: mezzo forte
/// ([`Dynamic`](crate::music::Dynamic)).
const USUAL_VELOCITY: u8 = 80;

/// Deletes the selected notes; the part rests there.
///
/// # Errors
/// Where no note is selected.
pub fn delete(desk: &Desk<'_>, selection: &Selection) -> Result<Done, Refused> {
    let notes = chosen(desk, selection)?;
    let mut sheet = Sheet::of(desk);
    for id in &notes {
        let line = sheet.line(id.part);
        if let Some(at) = line.iter().position(|n| is(n, id)) {
            line.remove(at);
        }
    }
    let name = format!("delete {}", about(desk, &notes));
    sheet.finish(name, selection.bars_only())
}

/// Adds a note of a length to a part, but no longer than until its next note (on a part that plays
/// chords: the next of its pitch). Without a pitch it is the chord tone nearest to the note before, or
/// to the middle of what the players can be relied on for.
///
/// # Errors
/// Where the place is after the end of the piece, the part sounds there already, no chord is known and
/// no pitch given, or nobody plays the pitch.
pub fn add(
    desk: &Desk<'_>,
    part: PartId,
    (at, length): (Tick, Ticks),
    pitch: Option<Sounding>,
) -> Result<Done, Refused> {
    let about = desk.part(part).ok_or(Refused::NoPart)?;
    let place = desk.meters.place(at);
    if at >= desk.meters.bar_end(desk.last_bar()) {
        return Err(Refused::AfterEnd(place));
    }
    if length.is_zero() {
        return Err(Refused::TooShort);
    }
    let line = desk.line(part);
    let before = line.iter().rfind(|n| n.onset < at);
    let pitch = match pitch {
        Some(pitch) => pitch,
        None => default_pitch(desk, about, before, at).ok_or(Refused::NoChord(place))?,
    };
    let same = |n: &&DraftNote| !about.instrument.chordal || n.pitch == pitch;
    let here = |n: &&DraftNote| n.onset <= at && at < n.end();
    if let Some(sounding) = line.iter().filter(same).find(here) {
        return Err(Refused::Taken {
            part: about.name.clone(),
            pitch: sounding.pitch,
            place,
        });
    }
    let next = line.iter().filter(same).find(|n| n.onset > at);
    let room = next.map_or(length, |n| n.onset.since(at).min(length));
    let note = DraftNote {
        onset: at,
        pitch,
        duration: room,
        velocity: velocity(desk, before, at),
        role: Role::Harmony,
        locked: false,
    };
    let mut sheet = Sheet::of(desk);
    if room < length {
        sheet.tell("the note ends where the next one begins".to_owned());
    }
    sheet.line(part).push(note);
    let id = NoteId {
        part,
        onset: at,
        pitch,
    };
    let name = format!("add a note to {} in bar {}", about.name, place.bar);
    sheet.finish(name, Selection::of_note(desk, id))
}

/// The chord tone nearest to the note before, the lower of two as near; inside what the players can
/// reach, if there is one.
fn default_pitch(
    desk: &Desk<'_>,
    part: &Part,
    before: Option<&DraftNote>,
    at: Tick,
) -> Option<Sounding> {
    let tones = chord_tones(desk, at)?;
    let easy = part.limits.comfortable;
    let middle = Sounding::nearest((i32::from(easy.low.midi()) + i32::from(easy.high.midi())) / 2);
    let near = before.map_or(middle, |n| n.pitch);
    let all = (0..=127_u8).filter_map(Sounding::new);
    all.filter(|p| tones.contains(p.class()))
        .min_by_key(|p| (!part.limits.range.contains(*p), p.distance(near), *p))
}

/// As loud as the note before in the part, or as the sketch there.
fn velocity(desk: &Desk<'_>, before: Option<&DraftNote>, at: Tick) -> u8 {
    let sketch = || {
        let slice = desk.reading.slice(at)?;
        let notes = slice
            .sounding
            .iter()
            .filter_map(|i| desk.reading.notes.get(*i));
        notes.map(|n| n.velocity).max()
    };
    before
        .map(|n| n.velocity)
        .or_else(sketch)
        .unwrap_or(USUAL_VELOCITY)
}
