//! A draft that comes back into the open show: what was changed elsewhere, and taking that as locks.

use super::desk::Desk;
use crate::band::PartId;
use crate::export::midi::MidiError;
use crate::music::Tick;
use crate::notation::concert_name;
use crate::project::Document;
use crate::project::other_bars::{moved_locks, with_other_bars};
use crate::review::with_roles;
use crate::score::lock::up_to;
use crate::score::returned::{BarMap, Returned, TooManyBars, returned};
use crate::score::{Draft, DraftNote, Lock, Locks, PartLine, Role, own_passages};
use crate::sketch::{Note, Song, Track, read_sketch};
use std::sync::Arc;
use thiserror::Error;

/// A draft that came back, held against the one in the show.
#[derive(Clone, PartialEq, Debug)]
pub struct CameBack {
    /// What was changed, a sentence each.
    pub told: Vec<String>,
    /// How many bars of parts are locked by it.
    pub bars: usize,
    /// The show that it was held against.
    pub before: Document,
    /// The show with what was changed, locked; where bars were put in or cut out with the sketch that came back.
    pub after: Document,
}

/// Why what came back is not taken.
#[derive(Debug, Error)]
pub enum NotTaken {
    /// No track is named like a part.
    #[error(
        "no track of it is named like a part of the band; send the draft out and change that file"
    )]
    NoParts,
    /// All is as in the show.
    #[error("nothing was changed: it is the draft of this show")]
    Unchanged,
    /// Bars were put in or cut out, and there is no sketch.
    #[error(
        "bars were put in or cut out ({0}), and it holds no sketch to go with them; leave the sketch in the file"
    )]
    NoSketch(String),
    /// Nobody meant anything by what is different.
    #[error("nothing is to be taken: {0}")]
    NothingMeant(String),
    /// It is too long.
    #[error(transparent)]
    TooLong(#[from] TooManyBars),
    /// Its sketch cannot be kept.
    #[error(transparent)]
    Sketch(#[from] MidiError),
}

/// Holds a draft that came back against the one in the show, and makes what was changed into locks. Where bars were put
/// in or cut out, its sketch takes the place of the show's, and locks, tags and all else that is said of bars move along.
///
/// # Errors
/// Where nothing can or need be taken; the sentence says why.
pub fn come_back(
    document: &Document,
    desk: &Desk<'_>,
    sketch: &Song,
    back: &Song,
) -> Result<CameBack, NotTaken> {
    let found = returned(back, &sent(desk, sketch), desk.band)?;
    if found.without_parts.tracks.len() == back.tracks.len() {
        return Err(NotTaken::NoParts);
    }
    if found.is_unchanged() {
        return Err(NotTaken::Unchanged);
    }
    let mut told = found.in_words(desk.band);
    let new = own_passages(&found.locks, desk.band, (desk.meters, desk.quarter)).locks;
    let straight = found.bars.is_straight();
    if straight && new.0.is_empty() {
        return Err(NotTaken::NothingMeant(told.join("; ")));
    }
    let bars = new.0.iter().map(|l| l.bars.0.len()).sum();
    let after = if straight {
        if !found.sketch.is_empty() {
            told.push("the sketch of this show stays as it is".to_owned());
        }
        Document {
            draft: Arc::new(with_locks(desk, &new)),
            locks: Arc::new(desk.locks.clone().overlaid(new, desk.meters)),
            ..document.clone()
        }
    } else {
        let (after, notes) = longer(document, (desk, sketch), (&found, back))?;
        told.extend(notes);
        after
    };
    Ok(CameBack {
        told,
        bars,
        before: document.clone(),
        after,
    })
}

/// The show with the bars of what came back.
fn longer(
    document: &Document,
    (desk, sketch): (&Desk<'_>, &Song),
    (found, back): (&Returned, &Song),
) -> Result<(Document, Vec<String>), NotTaken> {
    let piano = &found.without_parts;
    if piano.tracks.iter().all(|t| t.notes.is_empty()) {
        let bars: Vec<String> = found.in_words(desk.band).into_iter().take(2).collect();
        return Err(NotTaken::NoSketch(bars.join("; ")));
    }
    let onto = (&back.meters, back.quarter);
    let map = BarMap::new(&found.bars, sketch, back);
    let reading = read_sketch(piano, &[]);
    let lines = own_passages(&found.sent, desk.band, onto)
        .locks
        .lines(desk.band);
    let draft = Draft {
        lines: with_roles(&lines, &reading, onto.0),
        melody_changes: Vec::new(),
    };
    let locks = moved_locks(&map, desk.locks);
    let moved = Desk {
        band: desk.band,
        reading: &reading,
        meters: onto.0,
        quarter: onto.1,
        passages: &[],
        draft: &draft,
        locks: &locks,
    };
    // What was locked before stays so, also where the draft had something else.
    let held = with_locks(&moved, &locks);
    let moved = Desk {
        draft: &held,
        ..moved
    };
    let new = own_passages(&found.locks, desk.band, onto).locks;
    let draft = with_locks(&moved, &new);
    let locks = locks.clone().overlaid(new, onto.0);
    Ok(with_other_bars(
        document,
        (&map, found.bars_back()),
        piano,
        (draft, locks),
    )?)
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
        note.duration = up_to(&spans, note.onset, note.duration);
    }
}
