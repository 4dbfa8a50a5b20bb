//! Where bars, ticks and notes of a score are in one that came back.

use super::align::Alignment;
use crate::music::{BarNumber, MeterMap, Tick, Ticks, TicksPerQuarter};
use crate::score::BarSet;
use crate::sketch::{Note, Song};
use std::collections::BTreeMap;

/// Where bars, ticks and notes of a score are in one that came back.
pub struct BarMap<'a> {
    now: BTreeMap<BarNumber, BarNumber>,
    before: (&'a MeterMap, TicksPerQuarter),
    after: (&'a MeterMap, TicksPerQuarter),
}

impl<'a> BarMap<'a> {
    /// From the bars of a song to those of another.
    #[must_use]
    pub fn new(bars: &Alignment, before: &'a Song, after: &'a Song) -> Self {
        Self {
            now: bars.both().collect(),
            before: (&before.meters, before.quarter),
            after: (&after.meters, after.quarter),
        }
    }

    /// Where a bar is now; `None` where it was cut.
    #[must_use]
    pub fn bar(&self, bar: BarNumber) -> Option<BarNumber> {
        self.now.get(&bar).copied()
    }

    /// Where a bar is now; of one that was cut the next that is still there, `None` after the last.
    #[must_use]
    pub fn at_or_after(&self, bar: BarNumber) -> Option<BarNumber> {
        self.now.range(bar..).next().map(|(_, b)| *b)
    }

    /// Where a bar is now; of one that was cut the last before it, `None` before the first.
    #[must_use]
    pub fn at_or_before(&self, bar: BarNumber) -> Option<BarNumber> {
        self.now.range(..=bar).next_back().map(|(_, b)| *b)
    }

    /// Where bars are now; those that were cut are left out.
    #[must_use]
    pub fn bar_set(&self, bars: &BarSet) -> BarSet {
        BarSet(bars.0.iter().filter_map(|b| self.bar(*b)).collect())
    }

    /// Where a tick is now; `None` in a bar that was cut.
    #[must_use]
    pub fn tick(&self, at: Tick) -> Option<Tick> {
        let bar = self.before.0.bar(at);
        let now = self.after.0.bar_start(self.bar(bar)?);
        let inside = at.since(self.before.0.bar_start(bar));
        Some(Tick(now.0.saturating_add(self.scaled(inside.0))))
    }

    /// Where a note is now; `None` where it begins in a bar that was cut.
    #[must_use]
    pub fn note(&self, note: &Note) -> Option<Note> {
        Some(Note {
            onset: self.tick(note.onset)?,
            duration: Ticks(self.scaled(note.duration.0).max(1)),
            ..*note
        })
    }

    fn scaled(&self, ticks: u64) -> u64 {
        let (from, to) = (
            u128::from(self.before.1.get()),
            u128::from(self.after.1.get()),
        );
        u64::try_from((u128::from(ticks) * to + from / 2) / from).unwrap_or(u64::MAX)
    }
}
