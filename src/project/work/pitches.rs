//! Moving notes to other pitches: the next chord tone, a step of the key, an octave, any pitch.

use super::desk::{Desk, Done, Refused, Way};
use super::selection::{NoteId, Selection};
use super::sheet::{Sheet, hull};
use super::words::{bars_in_words, notes_in_words, parts_in_words};
use crate::band::PartId;
use crate::music::{Interval, KeySignature, PitchClass, PitchClassSet, Sounding, Tick};

/// Moves every selected note to the nearest tone above or below of the chord that the sketch has where
/// the note begins: of the tones that are sounded there, not those that the chord's name would add.
///
/// # Errors
/// Where no note is selected, a note has no chord or no pitch to move to, or nobody plays it there.
pub fn next_chord_tone(desk: &Desk<'_>, selection: &Selection, way: Way) -> Result<Done, Refused> {
    let how = format!("{} to the next chord tone", way.word());
    moved(desk, selection, &how, |note| {
        let tones = chord_tones(desk, note.onset)
            .ok_or_else(|| Refused::NoChord(desk.meters.place(note.onset)))?;
        nearest(desk, note, way, tones)
    })
}

/// Moves every selected note by a step of the key's natural scale. A note that is not in the scale
/// moves to its nearest tone on that side.
///
/// # Errors
/// Where no note is selected, no key is known, there is no pitch to move to, or nobody plays it.
pub fn step(desk: &Desk<'_>, selection: &Selection, way: Way) -> Result<Done, Refused> {
    let how = format!("{} a step", way.word());
    moved(desk, selection, &how, |note| {
        let key = desk.reading.key(note.onset);
        let key = key.ok_or_else(|| Refused::NoKey(desk.meters.place(note.onset)))?;
        nearest(desk, note, way, scale(key.signature))
    })
}

/// Moves every selected note by an octave.
///
/// # Errors
/// Where no note is selected, or nobody plays a note there.
pub fn octave(desk: &Desk<'_>, selection: &Selection, way: Way) -> Result<Done, Refused> {
    let how = format!("{} an octave", way.word());
    let by = match way {
        Way::Up => Interval::OCTAVE,
        Way::Down => Interval::OCTAVE.inverse(),
    };
    moved(desk, selection, &how, |note| {
        note.pitch.up(by).ok_or_else(|| no_pitch(desk, note))
    })
}

/// Moves the selected note to a pitch.
///
/// # Errors
/// Where not one note is selected, or nobody plays it there.
pub fn to_pitch(desk: &Desk<'_>, selection: &Selection, pitch: Sounding) -> Result<Done, Refused> {
    let [only] = selection.notes(desk)[..] else {
        return Err(Refused::NotOneNote);
    };
    let selection = Selection::of_note(desk, only);
    moved(desk, &selection, &format!("to {pitch}"), |_| Ok(pitch))
}

/// The pitch classes of the chord at a tick that the sketch sounds; `None` where it has no chord.
pub(super) fn chord_tones(desk: &Desk<'_>, at: Tick) -> Option<PitchClassSet> {
    let span = desk.reading.chord(at)?;
    let all = span.chord.classes();
    let there: PitchClassSet = all.iter().filter(|c| !span.missing.contains(*c)).collect();
    Some(if there.is_empty() { all } else { there })
}

/// The tones of a signature's natural scale.
fn scale(signature: KeySignature) -> PitchClassSet {
    let tonic = PitchClass::of(7 * i32::from(signature.fifths()));
    [0, 2, 4, 5, 7, 9, 11]
        .map(|up| tonic.up(up))
        .into_iter()
        .collect()
}

fn nearest(
    desk: &Desk<'_>,
    note: &NoteId,
    way: Way,
    classes: PitchClassSet,
) -> Result<Sounding, Refused> {
    let mut pitches = way.pitches(note.pitch);
    let found = pitches.find(|p| classes.contains(p.class()));
    found.ok_or_else(|| no_pitch(desk, note))
}

fn no_pitch(desk: &Desk<'_>, note: &NoteId) -> Refused {
    Refused::NoPitch {
        part: parts_in_words(desk.band, &[note.part]),
        place: desk.meters.place(note.onset),
    }
}

/// The notes that an edit is about, never none.
pub(super) fn chosen(desk: &Desk<'_>, selection: &Selection) -> Result<Vec<NoteId>, Refused> {
    let notes = selection.notes(desk);
    let known = notes.iter().all(|n| n.part.0 < desk.band.parts.len());
    match notes.is_empty() {
        _ if !known => Err(Refused::NoPart),
        true => Err(Refused::NoNotes(format!(
            "{} of {}",
            bars_in_words(selection.bars),
            parts_in_words(desk.band, &selection.known_parts(desk))
        ))),
        false => Ok(notes),
    }
}

/// What an edit is about, in words: `a note of Trumpet 1 in bar 12`.
pub(super) fn about(desk: &Desk<'_>, notes: &[NoteId]) -> String {
    let mut parts: Vec<PartId> = notes.iter().map(|n| n.part).collect();
    parts.dedup();
    let bars = hull(notes.iter().map(|n| desk.meters.bar(n.onset)));
    let place = bars.map_or_else(String::new, |b| format!(" in {}", bars_in_words(b)));
    format!(
        "{} of {}{place}",
        notes_in_words(notes.len()),
        parts_in_words(desk.band, &parts)
    )
}

fn moved(
    desk: &Desk<'_>,
    selection: &Selection,
    how: &str,
    to: impl Fn(&NoteId) -> Result<Sounding, Refused>,
) -> Result<Done, Refused> {
    let notes = chosen(desk, selection)?;
    let mut sheet = Sheet::of(desk);
    let mut after = selection.clone();
    // Each note is found once, though two may change places.
    let mut places = Vec::with_capacity(notes.len());
    for id in &notes {
        let line = sheet.line(id.part);
        let at = line
            .iter()
            .position(|n| (n.onset, n.pitch) == (id.onset, id.pitch));
        places.push((at, to(id)?));
    }
    for (id, (at, pitch)) in notes.iter().zip(places) {
        let line = sheet.line(id.part);
        if let Some(note) = at.and_then(|at| line.get_mut(at)) {
            note.pitch = pitch;
        }
        if selection.note == Some(*id) {
            after = Selection::of_note(desk, NoteId { pitch, ..*id });
        }
    }
    sheet.finish(format!("move {} {how}", about(desk, &notes)), after)
}
