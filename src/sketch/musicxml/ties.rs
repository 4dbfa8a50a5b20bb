//! Tied notes as one.

use crate::music::{SpelledName, Tick, Ticks};
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
    /// How far from where it is written it is struck and let go, in ticks.
    pub(super) off: (i64, i64),
}

impl Sounded {
    /// As it is played: struck and let go off what is written, where anything is left of it then.
    pub(super) fn as_played(mut self) -> Self {
        let (start, end) = (
            self.note.onset.0.saturating_add_signed(self.off.0),
            self.note.end().0.saturating_add_signed(self.off.1),
        );
        if self.off != (0, 0) && start < end {
            self.note.onset = Tick(start);
            self.note.duration = Ticks(end - start);
            self.played.onset = self.note.onset;
            self.played.duration = self.note.duration;
        }
        self
    }
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
                first.off.1 = note.off.1;
            }
            None => joined.push(note),
        }
        if note.ties_on {
            let key = (note.note.pitch.midi(), note.note.end());
            open.entry(key).or_default().push(place);
        }
    }
    loose += open.values().map(Vec::len).sum::<usize>();
    let played = joined.into_iter().map(Sounded::as_played);
    (played.collect(), loose)
}
