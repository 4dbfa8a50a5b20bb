//! A show whose sketch came back with bars put in or cut out: all that is said of bars moves along.

use super::document::{Document, PutAside, SketchFile};
use crate::band::Band;
use crate::export::midi::MidiError;
use crate::export::midi_bytes;
use crate::music::{BarBeat, BarNumber, Interval, MeterMap, Tick, Ticks, TicksPerQuarter};
use crate::plan::timeline::{AnyTimeline, bar_line};
use crate::score::returned::Alignment;
use crate::score::{BarSet, Draft, Lock, Locks, TuneRules};
use crate::sketch::{Note, Song, Tag, Tags, Times};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Where bars and ticks of a show are in what came back.
pub struct BarMap<'a> {
    bars: &'a Alignment,
    before: (&'a MeterMap, TicksPerQuarter),
    after: (&'a MeterMap, TicksPerQuarter),
}

impl<'a> BarMap<'a> {
    /// From the bars of a song to those of another.
    #[must_use]
    pub const fn new(bars: &'a Alignment, before: &'a Song, after: &'a Song) -> Self {
        Self {
            bars,
            before: (&before.meters, before.quarter),
            after: (&after.meters, after.quarter),
        }
    }

    /// Where a bar is now; of one that was cut the next that is still there, `None` after the last.
    fn at_or_after(&self, bar: BarNumber) -> Option<BarNumber> {
        let mut both = self.bars.both();
        both.find(|(a, _)| *a >= bar).map(|(_, b)| b)
    }

    /// Where a bar is now; of one that was cut the last before it, `None` before the first.
    fn at_or_before(&self, bar: BarNumber) -> Option<BarNumber> {
        let both = self.bars.both().take_while(|(a, _)| *a <= bar);
        both.last().map(|(_, b)| b)
    }

    fn scaled(&self, ticks: u64) -> u64 {
        let (from, to) = (
            u128::from(self.before.1.get()),
            u128::from(self.after.1.get()),
        );
        u64::try_from((u128::from(ticks) * to + from / 2) / from).unwrap_or(u64::MAX)
    }

    /// Where a tick is now; `None` in a bar that was cut.
    #[must_use]
    pub fn tick(&self, at: Tick) -> Option<Tick> {
        let bar = self.before.0.bar(at);
        let now = self.after.0.bar_start(self.bars.now(bar)?);
        let inside = at.since(self.before.0.bar_start(bar));
        Some(now + Ticks(self.scaled(inside.0)))
    }

    fn bar_set(&self, bars: &BarSet) -> BarSet {
        BarSet(bars.0.iter().filter_map(|b| self.bars.now(*b)).collect())
    }

    fn stretch(&self, (first, last): (BarNumber, BarNumber)) -> Option<(BarNumber, BarNumber)> {
        let (first, last) = (self.at_or_after(first)?, self.at_or_before(last)?);
        (first <= last).then_some((first, last))
    }

    /// Locks where their bars are now.
    #[must_use]
    pub fn locks(&self, locks: &Locks) -> Locks {
        let note = |n: &Note| {
            Some(Note {
                onset: self.tick(n.onset)?,
                duration: Ticks(self.scaled(n.duration.0).max(1)),
                ..*n
            })
        };
        let lock = |lock: &Lock| Lock {
            part: lock.part,
            bars: self.bar_set(&lock.bars),
            notes: lock.notes.iter().filter_map(note).collect(),
        };
        let moved = locks.0.iter().map(lock);
        Locks(moved.filter(|l| !l.bars.0.is_empty()).collect())
    }

    fn tune(&self, rules: &TuneRules) -> TuneRules {
        TuneRules {
            as_written: self.bar_set(&rules.as_written),
            may_change: self.bar_set(&rules.may_change),
            restored: (rules.restored.iter().filter_map(|t| self.tick(*t))).collect(),
        }
    }

    /// A tag where its bars are now; `None` where none of them is left, or where it means a moment of a file that is
    /// no more.
    fn tag(&self, tag: &Tag) -> Option<Tag> {
        let bars: Vec<_> = tag.bars.iter().filter_map(|b| self.stretch(*b)).collect();
        let lost = tag.tick.is_some() || (bars.is_empty() && !tag.bars.is_empty());
        (!lost).then(|| Tag {
            bars,
            ..tag.clone()
        })
    }

    fn timeline(&self, timeline: &AnyTimeline) -> AnyTimeline {
        let AnyTimeline::Bars(t) = timeline else {
            return timeline.clone();
        };
        let last = self.bars.0.iter().filter_map(|p| p.1).max();
        let end = bar_line(last.map_or(1, |b| b.0) + 1);
        let place = |p: BarBeat| match self.bars.now(p.bar) {
            Some(bar) => BarBeat { bar, ..p },
            None => self.at_or_after(p.bar).map_or(end, |b| bar_line(b.0)),
        };
        let mut moved = t.moved(&place);
        moved.end = end;
        let moved = AnyTimeline::from(moved);
        // What came to lie on one place by a cut is better left as it was than half there.
        if moved.check().is_ok() {
            moved
        } else {
            timeline.clone()
        }
    }
}

/// A show with the sketch that came back, and all that was said of bars where they are now; draft and locks are
/// given. The notes tell what could not be moved along.
///
/// # Errors
/// Where the sketch does not fit into a MIDI file.
pub fn with_other_bars(
    document: &Document,
    map: &BarMap<'_>,
    sketch: &Song,
    (draft, locks): (Draft, Locks),
) -> Result<(Document, Vec<String>), MidiError> {
    let nobody = Band {
        parts: Vec::new(),
        ..(*document.band).clone()
    };
    let bytes = midi_bytes(sketch, &[], &nobody, &Draft::default(), &[])?;
    // What came back is in the key of the draft.
    let said = document.tags.moved(Interval(document.sketch.transpose));
    let tags: Vec<Tag> = said.0.iter().filter_map(|t| map.tag(t)).collect();
    let taken: BTreeMap<(u32, u32), usize> = (document.taken.iter())
        .filter_map(|((first, last), way)| {
            let now = |bar| map.bars.now(BarNumber(bar)).map(|b| b.0);
            Some(((now(*first)?, now(*last)?), *way))
        })
        .collect();
    let aside: Vec<PutAside> = (document.aside.iter())
        .filter_map(|a| {
            Some(PutAside {
                at: map.tick(a.at)?,
                ..a.clone()
            })
        })
        .collect();
    let timeline = document.timeline.as_ref().as_ref();
    let timeline = timeline.map(|t| map.timeline(t));
    let mut told = Vec::new();
    let mut gone = |count: usize, what: &str| {
        if count > 0 {
            told.push(format!("{what} that could not be moved along: {count}"));
        }
    };
    gone(document.tags.0.len() - tags.len(), "tags");
    gone(document.taken.len() - taken.len(), "ways that you took");
    let after = Document {
        sketch: Arc::new(SketchFile {
            name: document.sketch.name.clone(),
            bytes,
            times: Times::default(),
            transpose: 0,
        }),
        tags: Arc::new(Tags(tags)),
        taken: Arc::new(taken),
        tune: Arc::new(map.tune(&document.tune)),
        aside: Arc::new(aside),
        timeline: Arc::new(timeline),
        draft: Arc::new(draft),
        locks: Arc::new(locks),
        ..document.clone()
    };
    Ok((after, told))
}
