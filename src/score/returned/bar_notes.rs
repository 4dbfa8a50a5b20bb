//! The notes of a song bar by bar, in shares of a quarter that do not depend on the file.

use super::changes::PlainNote;
use crate::band::{Band, PartId};
use crate::music::{BarNumber, Sounding, SpelledName, Tick, TicksPerQuarter};
use crate::score::own_passages::{own_passages, part_of, whole_tracks};
use crate::sketch::{Note, Song};
use std::collections::BTreeMap;

/// Parts of a quarter in which files are compared: all usual divisions divide it (2^7 * 3^2 * 5 * 7, ours).
pub(super) const GRID: u64 = 40_320;
/// Notes are compared by eighths of a quarter where bars are held against bars: so what was rounded otherwise, or
/// lasts otherwise, is still the same.
const COARSE: u64 = GRID / 8;

/// Names of notes by whose, where and which they are.
type Names = BTreeMap<(Option<PartId>, Tick, Sounding), SpelledName>;

/// A note as a key: whose, where in its bar on a coarse grid, and which.
type Key = (usize, u64, u8);

/// What bars are recognised by.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct BarKey {
    /// How long it is.
    pub(super) length: u64,
    /// Its notes, in order.
    pub(super) notes: Vec<Key>,
}

/// A song as parts and a sketch, bar by bar.
pub(super) struct Sheet<'a> {
    /// The song.
    pub song: &'a Song,
    /// Its tracks that are named like parts.
    pub own: Vec<usize>,
    /// All notes of each part, in the song's ticks.
    parts: BTreeMap<PartId, Vec<Note>>,
    /// How many bars it has.
    pub bars: u32,
    /// Notes by part (none: the sketch) and bar.
    by_bar: BTreeMap<(Option<PartId>, BarNumber), Vec<Named>>,
}

/// A note in its bar, with the name that the file gives it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Named {
    /// The note.
    pub note: PlainNote,
    /// Its name at concert pitch; none where the file has none, as MIDI.
    pub name: Option<SpelledName>,
}

impl<'a> Sheet<'a> {
    pub fn of(song: &'a Song, band: &Band) -> Self {
        let whole = whole_tracks(song);
        let own = own_passages(&whole, band, (&song.meters, song.quarter));
        let parts: BTreeMap<PartId, Vec<Note>> =
            (own.locks.0.into_iter().map(|l| (l.part, l.notes))).collect();
        let end = song.end();
        let bars = if end == Tick::ZERO {
            0
        } else {
            song.meters.bar(Tick(end.0 - 1)).0
        };
        let mut sheet = Self {
            song,
            own: own.tracks,
            parts: BTreeMap::new(),
            bars,
            by_bar: BTreeMap::new(),
        };
        let mut names = BTreeMap::new();
        for (index, track) in whole.tracks.iter().enumerate() {
            let part = part_of(track, band).map(|(id, _)| id);
            let notes = track.notes.iter().enumerate();
            names.extend(
                notes.filter_map(|(i, n)| Some(((part, n.onset, n.pitch), whole.name(index, i)?))),
            );
            if !sheet.own.contains(&index) {
                sheet.put(None, &track.notes, &names);
            }
        }
        for (part, notes) in &parts {
            sheet.put(Some(*part), notes, &names);
        }
        let in_order = |notes: &mut Vec<Named>| notes.sort_by_key(|n| n.note);
        sheet.by_bar.values_mut().for_each(in_order);
        sheet.parts = parts;
        sheet
    }

    fn put(&mut self, part: Option<PartId>, notes: &[Note], names: &Names) {
        for note in notes {
            let bar = self.song.meters.bar(note.onset);
            let start = self.song.meters.bar_start(bar);
            let quarter = self.song.quarter;
            let plain = PlainNote {
                at: on_grid(note.onset.since(start).0, quarter),
                length: on_grid(note.duration.0, quarter).max(1),
                pitch: note.pitch,
            };
            let name = names.get(&(part, note.onset, note.pitch)).copied();
            let named = Named { note: plain, name };
            self.by_bar.entry((part, bar)).or_default().push(named);
        }
    }

    /// The notes of a part in a bar, in order.
    pub fn bar(&self, part: Option<PartId>, bar: BarNumber) -> &[Named] {
        self.by_bar.get(&(part, bar)).map_or(&[], Vec::as_slice)
    }

    /// All notes of a part.
    pub fn notes_of(&self, part: PartId) -> &[Note] {
        self.parts.get(&part).map_or(&[], Vec::as_slice)
    }

    /// The parts that have notes.
    pub fn parts(&self) -> impl Iterator<Item = PartId> {
        self.parts.keys().copied()
    }

    /// What its bars are recognised by, from the first.
    pub fn keys(&self) -> Vec<BarKey> {
        let mut keys: Vec<BarKey> = (1..=self.bars)
            .map(|bar| {
                let meters = &self.song.meters;
                let (start, end) = (
                    meters.bar_start(BarNumber(bar)),
                    meters.bar_end(BarNumber(bar)),
                );
                BarKey {
                    length: on_grid(end.since(start).0, self.song.quarter),
                    notes: Vec::new(),
                }
            })
            .collect();
        for ((part, bar), notes) in &self.by_bar {
            let who = part.map_or(0, |p| p.0 + 1);
            let key = bar.0.checked_sub(1).and_then(|b| keys.get_mut(b as usize));
            if let Some(key) = key {
                let coarse = |n: &PlainNote| (who, (n.at + COARSE / 2) / COARSE, n.pitch.midi());
                key.notes.extend(notes.iter().map(|n| &n.note).map(coarse));
            }
        }
        keys.iter_mut().for_each(|k| k.notes.sort_unstable());
        keys
    }
}

/// Ticks on the grid of comparison.
fn on_grid(ticks: u64, quarter: TicksPerQuarter) -> u64 {
    let quarter = u128::from(quarter.get());
    let fine = (u128::from(ticks) * u128::from(GRID) + quarter / 2) / quarter;
    u64::try_from(fine).unwrap_or(u64::MAX)
}
