//! Cutting the sketch into passages along its phrases.

use super::intensity::intensity;
use super::timeline::{Laid, MarkKind};
use crate::music::{BarNumber, MeterMap, Tick};
use crate::score::Passage;
use crate::sketch::{Marker, Phrase, Reading};
use std::collections::BTreeMap;

/// A passage has at least so many bars, unless a marker or the end cuts it (our choice: a band
/// does not change its colour every other bar).
const LEAST_BARS: u32 = 4;

/// Passages along the phrases of a sketch: phrases are joined until a passage has four bars; a
/// phrase that a marker stands at always begins a passage, and so does one at which a section or a named place of
/// the timeline begins. With a timeline that has points, it says how intense passages are wanted
/// passages are wanted; else the sketch does. Empty only for an empty sketch.
#[must_use]
pub fn passages(
    reading: &Reading,
    meters: &MeterMap,
    markers: &[Marker],
    timeline: Option<&Laid>,
) -> Vec<Passage> {
    let markers = markers.iter().map(|m| m.at);
    let cuts: Vec<Tick> = markers
        .chain(timeline.into_iter().flat_map(Laid::cuts))
        .collect();
    let mut spans: Vec<(Tick, Tick)> = Vec::new();
    for phrase in &reading.phrases {
        match spans.last_mut() {
            Some(last) if joins(*last, *phrase, meters, &cuts) => last.1 = phrase.end,
            _ => spans.push((phrase.start, phrase.end)),
        }
    }
    let whole = spans
        .last()
        .map(|(_, end)| meters.bar(Tick(end.0.saturating_sub(1))));
    let mut passages: Vec<Passage> = spans
        .into_iter()
        .map(|(start, end)| passage(reading, meters, start, end))
        .collect();
    // After the last passage nothing is led into.
    if let (Some(last), Some(bar)) = (passages.last_mut(), whole) {
        last.last_bar = bar.max(last.first_bar);
    }
    if let Some(timeline) = timeline {
        follow(&mut passages, timeline);
    }
    find_repeats(reading, &mut passages);
    passages
}

/// Tells each passage how intense a timeline wants it: the mean over it; where a named place belongs to it, the level
/// of its peak (of several the highest), else of its hush (the lowest), else of its crest. A place belongs to the
/// passage that begins nearest to it, since passages are cut at phrases and no show is planned by those.
pub fn follow(passages: &mut [Passage], timeline: &Laid) {
    for passage in passages.iter_mut() {
        let mean = timeline.mean(passage.start, passage.end);
        passage.intensity = mean.unwrap_or(passage.intensity);
    }
    let mut marked: BTreeMap<usize, (MarkKind, f64)> = BTreeMap::new();
    for mark in &timeline.marks {
        let far = |i: &usize| passages[*i].start.0.abs_diff(mark.at.0);
        let nearest = (0..passages.len()).min_by_key(far);
        let Some((at, level)) = nearest.zip(mark.level) else {
            continue;
        };
        if mark.kind == MarkKind::Peak {
            passages[at].peak = true;
        }
        let here = marked.entry(at).or_insert((mark.kind, level));
        *here = match (here.0, mark.kind) {
            (MarkKind::Hush, MarkKind::Hush) => (mark.kind, here.1.min(level)),
            (a, b) if a == b => (a, here.1.max(level)),
            (a, b) if rank(b) < rank(a) => (b, level),
            _ => *here,
        };
    }
    for (at, (_, level)) in marked {
        passages[at].intensity = level;
    }
}

/// Of named places in one passage the first of this order speaks for it.
const fn rank(kind: MarkKind) -> u8 {
    match kind {
        MarkKind::Peak => 0,
        MarkKind::Hush => 1,
        MarkKind::Crest => 2,
    }
}

/// Tells each passage the earlier one that its phrases repeat for half of its time or more.
fn find_repeats(reading: &Reading, passages: &mut [Passage]) {
    let mut shares: Vec<BTreeMap<usize, u64>> = vec![BTreeMap::new(); passages.len()];
    for (phrase, repeat) in reading.phrases.iter().zip(&reading.form.phrases) {
        let at = |tick: Tick| passages.partition_point(|p| p.end <= tick);
        let Some(repeat) = repeat else { continue };
        let (own, earlier) = (at(phrase.start), at(repeat.from));
        if let Some(share) = shares.get_mut(own).filter(|_| earlier < own) {
            *share.entry(earlier).or_default() += phrase.end.since(phrase.start).0;
        }
    }
    for (passage, share) in passages.iter_mut().zip(shares) {
        let length = passage.end.since(passage.start).0;
        // Of two repeated as long the earlier one.
        let most = share.into_iter().rev().max_by_key(|(_, time)| *time);
        passage.repeats = most.filter(|(_, time)| 2 * time >= length).map(|(i, _)| i);
    }
}

fn joins(last: (Tick, Tick), phrase: Phrase, meters: &MeterMap, cuts: &[Tick]) -> bool {
    let bars = |start: Tick, end: Tick| {
        let bar = meters.meter(start).bar(meters.quarter()).0 as f64;
        end.since(start).0 as f64 / bar
    };
    let marked = cuts.iter().any(|at| {
        // A pickup of up to half a bar leads into the marked bar.
        let bar = meters.meter(*at).bar(meters.quarter()).0;
        phrase.start <= *at && at.since(phrase.start).0 <= bar / 2 && *at > last.0
    });
    let short = bars(last.0, last.1) < f64::from(LEAST_BARS) - 0.5;
    let rest = bars(phrase.start, phrase.end) < 1.5;
    !marked && (short || rest)
}

fn passage(reading: &Reading, meters: &MeterMap, start: Tick, end: Tick) -> Passage {
    // A pickup is told by the bar that it leads into, both at the start and at the end.
    let first = meters.bar_led_to(start);
    let last = BarNumber(meters.bar_led_to(end).0.saturating_sub(1)).max(first);
    Passage {
        start,
        end,
        first_bar: first,
        last_bar: last,
        intensity: intensity(reading, start, end, meters.quarter()),
        repeats: None,
        peak: false,
    }
}
