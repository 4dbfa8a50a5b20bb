//! Pairing of note-on with note-off.

use super::song::Note;
use super::warnings::Warnings;
use crate::music::{Sounding, Tick, Ticks};
use std::collections::{BTreeMap, VecDeque};

/// Notes of a track while it is read: the first struck is the first released, per channel and
/// pitch.
#[derive(Debug, Default)]
pub(super) struct NotePairs {
    notes: Vec<Note>,
    /// Per channel and pitch, the indices of the notes that are held.
    held: BTreeMap<(u8, u8), VecDeque<usize>>,
    stray_offs: usize,
    first_stray: usize,
    zero_lengths: usize,
    overlaps: usize,
}

impl NotePairs {
    /// A key goes down.
    pub(super) fn on(&mut self, at: Tick, channel: u8, pitch: u8, velocity: u8) {
        let held = self.held.entry((channel, pitch)).or_default();
        if !held.is_empty() {
            self.overlaps += 1;
        }
        held.push_back(self.notes.len());
        self.notes.push(Note {
            onset: at,
            pitch: Sounding::nearest(i32::from(pitch)),
            duration: Ticks::ZERO,
            velocity,
            channel,
        });
    }

    /// A key comes up.
    pub(super) fn off(&mut self, at: Tick, channel: u8, pitch: u8, offset: usize) {
        let released = self
            .held
            .get_mut(&(channel, pitch))
            .and_then(VecDeque::pop_front);
        let Some(note) = released.and_then(|i| self.notes.get_mut(i)) else {
            if self.stray_offs == 0 {
                self.first_stray = offset;
            }
            self.stray_offs += 1;
            return;
        };
        note.duration = at.since(note.onset);
        if note.duration.is_zero() {
            note.duration = Ticks(1);
            self.zero_lengths += 1;
        }
    }

    /// All notes by onset, then pitch. Those still held end with the track.
    pub(super) fn finish(
        mut self,
        end: Tick,
        quarter: Ticks,
        track_offset: usize,
        warnings: &mut Warnings,
    ) -> Vec<Note> {
        let mut unreleased = 0_usize;
        for index in self.held.values().flatten() {
            if let Some(note) = self.notes.get_mut(*index) {
                let length = end.since(note.onset);
                note.duration = if length.is_zero() { quarter } else { length };
                unreleased += 1;
            }
        }
        let mut tell = |count: usize, offset: usize, text: &str| {
            if count > 0 {
                warnings.bytes(offset, format!("in this track {count} {text}"));
            }
        };
        tell(
            unreleased,
            track_offset,
            "notes are never released; they end with the track",
        );
        tell(
            self.stray_offs,
            self.first_stray,
            "note-offs release nothing; ignored",
        );
        tell(
            self.zero_lengths,
            track_offset,
            "notes have no length; they get one tick",
        );
        tell(
            self.overlaps,
            track_offset,
            "notes are struck again while held; both are kept",
        );
        self.notes.sort_by_key(|n| (n.onset, n.pitch));
        self.notes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_struck_is_the_first_released() {
        let mut pairs = NotePairs::default();
        let mut warnings = Warnings::default();
        pairs.on(Tick(0), 0, 60, 64);
        pairs.on(Tick(10), 0, 60, 64);
        pairs.off(Tick(20), 0, 60, 0);
        let notes = pairs.finish(Tick(50), Ticks(480), 0, &mut warnings);
        let lengths: Vec<u64> = notes.iter().map(|n| n.duration.0).collect();
        assert_eq!(lengths, [20, 40]);
        assert_eq!(warnings.finish().len(), 2);
    }
}
