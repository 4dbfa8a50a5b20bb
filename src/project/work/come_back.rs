//! A draft that comes back into the open show: what was changed elsewhere, and taking that as locks.

use super::desk::Desk;
use crate::band::PartId;
use crate::music::Tick;
use crate::notation::concert_name;
use crate::review::with_roles;
use crate::score::returned::{Returned, returned};
use crate::score::{Draft, DraftNote, Lock, Locks, PartLine, Role, own_passages};
use crate::sketch::{Note, Song, Track};
use thiserror::Error;

/// A draft that came back, held against the one in the show.
#[derive(Clone, PartialEq, Debug)]
pub struct CameBack {
    /// What was changed, a sentence each.
    pub told: Vec<String>,
    /// The draft with what was changed in it.
    pub draft: Draft,
    /// The locks, with the bars of each part that were changed.
    pub locks: Locks,
    /// How many bars of parts are locked by it.
    pub bars: usize,
}

/// Why what came back is not taken.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum NotTaken {
    /// No track is named like a part.
    #[error(
        "no track of it is named like a part of the band; send the draft out and change that file"
    )]
    NoParts,
    /// All is as in the show.
    #[error("nothing was changed: it is the draft of this show")]
    Unchanged,
    /// Bars were put in or cut out.
    #[error(
        "bars were put in or cut out ({0}); the sketch of this show has other bars, so bring the file in as a show of its own"
    )]
    OtherBars(String),
    /// Nobody meant anything by what is different.
    #[error("nothing is to be taken: {0}")]
    NothingMeant(String),
}

/// Holds a draft that came back against the one in the show, and makes what was changed into locks.
///
/// # Errors
/// Where nothing can or need be taken; the sentence says why.
pub fn come_back(desk: &Desk<'_>, sketch: &Song, back: &Song) -> Result<CameBack, NotTaken> {
    let found = returned(back, &sent(desk, sketch), desk.band);
    let onto = (desk.meters, desk.quarter);
    if own_passages(
        &crate::score::whole_tracks(back),
        desk.band,
        (&back.meters, back.quarter),
    )
    .tracks
    .is_empty()
    {
        return Err(NotTaken::NoParts);
    }
    if found.is_unchanged() {
        return Err(NotTaken::Unchanged);
    }
    let told = found.in_words(desk.band);
    if !found.bars.is_straight() {
        let bars = told.iter().take(2).cloned();
        return Err(NotTaken::OtherBars(bars.collect::<Vec<_>>().join("; ")));
    }
    let new = own_passages(&found.locks, desk.band, onto).locks;
    if new.0.is_empty() {
        return Err(NotTaken::NothingMeant(told.join("; ")));
    }
    let draft = with_locks(desk, &new);
    Ok(CameBack {
        told: with_advice(told, &found),
        draft,
        bars: new.0.iter().map(|l| l.bars.0.len()).sum(),
        locks: desk.locks.clone().overlaid(new, desk.meters),
    })
}

fn with_advice(mut told: Vec<String>, found: &Returned) -> Vec<String> {
    if !found.sketch.is_empty() {
        told.push("the sketch of this show stays as it is".to_owned());
    }
    told
}

/// What would be sent out now: the sketch, and a track for each part.
fn sent(desk: &Desk<'_>, sketch: &Song) -> Song {
    let own = own_passages(sketch, desk.band, (desk.meters, desk.quarter)).tracks;
    let tracks = sketch.tracks.iter().enumerate();
    let tracks = tracks.filter(|(i, _)| !own.contains(i)).map(|(_, t)| t);
    let name = |n: &DraftNote| Some(concert_name(desk.reading, n.onset, n.pitch));
    let parts = desk.band.ids().map(|(id, part)| Track {
        name: part.name.clone(),
        notes: desk.line(id).iter().map(plain).collect(),
        names: desk.line(id).iter().map(name).collect(),
        ..Track::default()
    });
    Song {
        tracks: tracks.cloned().chain(parts).collect(),
        ..sketch.clone()
    }
}

fn plain(note: &DraftNote) -> Note {
    Note {
        onset: note.onset,
        pitch: note.pitch,
        duration: note.duration,
        velocity: note.velocity,
        channel: 0,
    }
}

/// The draft with what locks hold in their bars. What sounds over into such a bar ends where it begins.
fn with_locks(desk: &Desk<'_>, locks: &Locks) -> Draft {
    let mut draft = desk.draft.clone();
    if draft.lines.is_empty() {
        let none = |(part, _): (PartId, _)| PartLine {
            part,
            notes: Vec::new(),
        };
        draft.lines = desk.band.ids().map(none).collect();
    }
    for lock in &locks.0 {
        let Some(line) = draft.lines.iter_mut().find(|l| l.part == lock.part) else {
            continue;
        };
        cut_out(&mut line.notes, lock, desk);
        let new = PartLine {
            part: lock.part,
            notes: lock.notes.iter().map(fixed).collect(),
        };
        let new = with_roles(&[new], desk.reading, desk.meters);
        line.notes.extend(new.into_iter().flat_map(|l| l.notes));
        line.notes.sort();
    }
    draft
}

fn fixed(note: &Note) -> DraftNote {
    DraftNote {
        onset: note.onset,
        pitch: note.pitch,
        duration: note.duration,
        velocity: note.velocity,
        role: Role::Harmony,
        locked: true,
    }
}

fn cut_out(notes: &mut Vec<DraftNote>, lock: &Lock, desk: &Desk<'_>) {
    notes.retain(|n| !lock.bars.contains(n.onset, desk.meters));
    let spans: Vec<(Tick, Tick)> = lock.bars.spans(desk.meters);
    for note in notes {
        let next = spans.partition_point(|(start, _)| *start <= note.onset);
        if let Some((start, _)) = spans.get(next) {
            note.duration = note.duration.min(start.since(note.onset));
        }
    }
}
