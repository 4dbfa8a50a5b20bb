//! Tied notes as one.

use crate::music::{SpelledName, Tick};
use crate::sketch::song::{Note, Played};
use std::collections::BTreeMap;

/// A note as played, before ties are joined.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Sounded {
    /// The note.
    pub(super) note: Note,
    /// How it is to be told.
    pub(super) played: Played,
    /// Its name.
    pub(super) name: Option<SpelledName>,
    /// Its staff, from 1.
    pub(super) staff: u8,
    /// Whether it goes on in another note.
    pub(super) ties_on: bool,
    /// Whether it goes on from another note.
    pub(super) tied: bool,
}

/// Joins tied notes of a part: a note goes on in the one of the same pitch that begins where it ends, whatever its voice
/// and staff, and also where that one does not say that it is tied; one that does goes first. Tells how many ties lead
/// to nothing or come from nothing.
pub(super) fn join_ties(mut notes: Vec<Sounded>) -> (Vec<Sounded>, usize) {
    notes.sort_by_key(|n| (n.note.onset, n.note.pitch, !n.tied));
    let mut open: BTreeMap<(u8, Tick), Vec<usize>> = BTreeMap::new();
    let mut joined: Vec<Sounded> = Vec::with_capacity(notes.len());
    let mut loose = 0;
    for note in notes {
        let key = (note.note.pitch.midi(), note.note.onset);
        let from = open.get_mut(&key).and_then(Vec::pop);
        loose += usize::from(note.tied && from.is_none());
        let place = from.unwrap_or(joined.len());
        match joined.get_mut(place) {
            Some(first) => {
                first.note.duration = first.note.duration + note.note.duration;
                first.played.duration = first.note.duration;
            }
            None => joined.push(note),
        }
        if note.ties_on {
            let key = (note.note.pitch.midi(), note.note.end());
            open.entry(key).or_default().push(place);
        }
    }
    loose += open.values().map(Vec::len).sum::<usize>();
    (joined, loose)
}
