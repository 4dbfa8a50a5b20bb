//! Patterns that go round, as accompaniments do.

use super::reading::ReadNote;
use crate::music::{MeterMap, Sounding, Tick};
use std::collections::BTreeSet;

/// Which pitch is struck when, to tell a pattern that goes round.
pub(super) struct Repeats<'a> {
    struck: BTreeSet<(Tick, Sounding)>,
    half_beat: u64,
    meters: &'a MeterMap,
}

impl<'a> Repeats<'a> {
    /// Takes note of what is struck.
    pub(super) fn new(notes: &[ReadNote], meters: &'a MeterMap) -> Self {
        let beat = u64::from(meters.quarter().get());
        Self {
            struck: notes.iter().map(|n| (n.onset, n.pitch)).collect(),
            half_beat: beat / 2,
            meters,
        }
    }

    /// Whether a short note comes back three times at a distance of half a bar, or a bar.
    pub(super) fn is_pattern(&self, note: &ReadNote) -> bool {
        if note.duration.0 > self.half_beat {
            return false;
        }
        let bar = self.meters.meter(note.onset).bar(self.meters.quarter()).0;
        [bar / 2, bar].into_iter().any(|period| {
            let (before, after) = (self.run(note, period, false), self.run(note, period, true));
            before + after >= 2
        })
    }

    fn run(&self, note: &ReadNote, period: u64, forward: bool) -> u32 {
        let mut at = note.onset.0;
        for count in 0..2 {
            let next = if forward {
                Some(at.saturating_add(period))
            } else {
                at.checked_sub(period)
            };
            match next.filter(|n| self.struck.contains(&(Tick(*n), note.pitch))) {
                Some(n) if period > 0 => at = n,
                _ => return count,
            }
        }
        2
    }
}
