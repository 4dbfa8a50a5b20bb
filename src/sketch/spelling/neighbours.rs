//! What sounds with a note, and what it comes from and goes to.

use crate::music::{Tick, Ticks, TicksPerQuarter};
use crate::sketch::reading::ReadNote;

/// How many notes around one are looked at, so that time stays linear in a thicket of notes.
const REACH: usize = 24;
/// How many notes that start, or end, together are looked at.
const TOGETHER: usize = 32;

/// Semitone steps of a note from its forerunners and to its followers: whether there is a note a
/// semitone higher, or one a semitone lower. A follower begins where the note ends, a forerunner
/// ends where it begins, whatever line they belong to.
#[derive(Clone, Copy, Default, Debug)]
pub(super) struct Steps {
    pub(super) to_higher: bool,
    pub(super) to_lower: bool,
    pub(super) from_higher: bool,
    pub(super) from_lower: bool,
}

/// Finds neighbours in time.
pub(super) struct Neighbours<'a> {
    notes: &'a [ReadNote],
    /// Notes by their end.
    by_end: Vec<(Tick, usize)>,
    /// How exactly an end meets an onset.
    slack: Ticks,
}

impl<'a> Neighbours<'a> {
    /// Notes are in order of onset.
    pub(super) fn new(notes: &'a [ReadNote], quarter: TicksPerQuarter) -> Self {
        let mut by_end: Vec<(Tick, usize)> = notes
            .iter()
            .enumerate()
            .map(|(i, n)| (n.end(), i))
            .collect();
        by_end.sort_unstable();
        let slack = Ticks(u64::from(quarter.get()) / 16);
        Self {
            notes,
            by_end,
            slack,
        }
    }

    /// The semitone steps that a note takes part in.
    pub(super) fn steps(&self, of: usize) -> Steps {
        let mut steps = Steps::default();
        let Some(note) = self.notes.get(of) else {
            return steps;
        };
        let earliest = |at: Tick| Tick(at.0.saturating_sub(self.slack.0));
        let (from, until) = (earliest(note.end()), note.end() + self.slack);
        let first = self.notes.partition_point(|n| n.onset < from);
        for (i, n) in self.notes.iter().enumerate().skip(first).take(TOGETHER) {
            if n.onset > until {
                break;
            }
            let up = note.pitch.to(n.pitch).0;
            steps.to_higher |= i != of && up == 1;
            steps.to_lower |= i != of && up == -1;
        }
        let (from, until) = (earliest(note.onset), note.onset + self.slack);
        let first = self.by_end.partition_point(|(end, _)| *end < from);
        for (end, i) in self.by_end.iter().skip(first).take(TOGETHER) {
            if *end > until {
                break;
            }
            let up = self.notes.get(*i).map_or(0, |n| note.pitch.to(n.pitch).0);
            steps.from_higher |= up == 1;
            steps.from_lower |= up == -1;
        }
        steps
    }

    /// The notes that sound with a note, in order of onset.
    pub(super) fn together(&self, of: usize) -> Vec<usize> {
        let Some(note) = self.notes.get(of) else {
            return Vec::new();
        };
        let mut found: Vec<usize> = (of.saturating_sub(REACH)..of)
            .filter(|i| self.notes[*i].end() > note.onset)
            .collect();
        let after = self.notes.iter().enumerate().skip(of + 1).take(REACH);
        found.extend(
            after
                .take_while(|(_, n)| n.onset < note.end())
                .map(|(i, _)| i),
        );
        found
    }
}
