//! A show whose sketch came back with bars put in or cut out: all that is said of bars moves along.

use super::document::{Document, PutAside, SketchFile};
use crate::band::Band;
use crate::export::midi::MidiError;
use crate::export::midi_bytes;
use crate::music::{BarBeat, BarNumber, Interval};
use crate::plan::timeline::{AnyTimeline, bar_line};
use crate::score::returned::BarMap;
use crate::score::{Draft, Lock, Locks, TuneRules};
use crate::sketch::{Song, Tag, Tags, Times};
use std::collections::BTreeMap;
use std::sync::Arc;

fn stretch(
    map: &BarMap<'_>,
    (first, last): (BarNumber, BarNumber),
) -> Option<(BarNumber, BarNumber)> {
    let (first, last) = (map.at_or_after(first)?, map.at_or_before(last)?);
    (first <= last).then_some((first, last))
}

/// Locks where their bars are now.
#[must_use]
pub fn moved_locks(map: &BarMap<'_>, locks: &Locks) -> Locks {
    let lock = |lock: &Lock| Lock {
        part: lock.part,
        bars: map.bar_set(&lock.bars),
        notes: lock.notes.iter().filter_map(|n| map.note(n)).collect(),
    };
    let moved = locks.0.iter().map(lock);
    Locks(moved.filter(|l| !l.bars.0.is_empty()).collect())
}

fn moved_tune(map: &BarMap<'_>, rules: &TuneRules) -> TuneRules {
    TuneRules {
        as_written: map.bar_set(&rules.as_written),
        may_change: map.bar_set(&rules.may_change),
        restored: (rules.restored.iter().filter_map(|t| map.tick(*t))).collect(),
    }
}

/// A tag where its bars are now; `None` where none of them is left, or where it means a moment of a file that is
/// no more.
fn moved_tag(map: &BarMap<'_>, tag: &Tag) -> Option<Tag> {
    let bars: Vec<_> = (tag.bars.iter()).filter_map(|b| stretch(map, *b)).collect();
    let lost = tag.tick.is_some() || (bars.is_empty() && !tag.bars.is_empty());
    (!lost).then(|| Tag {
        bars,
        ..tag.clone()
    })
}

fn moved_timeline(map: &BarMap<'_>, bars: u32, timeline: &AnyTimeline) -> AnyTimeline {
    let AnyTimeline::Bars(t) = timeline else {
        return timeline.clone();
    };
    let end = bar_line(bars.max(1) + 1);
    let place = |p: BarBeat| match map.bar(p.bar) {
        Some(bar) => BarBeat { bar, ..p },
        None => map.at_or_after(p.bar).map_or(end, |b| bar_line(b.0)),
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

/// A show with the sketch that came back, and all that was said of bars where they are now; draft and locks are
/// given; what came back has so many bars. The notes tell what could not be moved along.
///
/// # Errors
/// Where the sketch does not fit into a MIDI file.
pub fn with_other_bars(
    document: &Document,
    (map, bars): (&BarMap<'_>, u32),
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
    let tags: Vec<Tag> = said.0.iter().filter_map(|t| moved_tag(map, t)).collect();
    let taken: BTreeMap<(u32, u32), usize> = (document.taken.iter())
        .filter_map(|((first, last), way)| {
            let now = |bar| map.bar(BarNumber(bar)).map(|b| b.0);
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
    let timeline = timeline.map(|t| moved_timeline(map, bars, t));
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
        tune: Arc::new(moved_tune(map, &document.tune)),
        aside: Arc::new(aside),
        timeline: Arc::new(timeline),
        draft: Arc::new(draft),
        locks: Arc::new(locks),
        ..document.clone()
    };
    Ok((after, told))
}
