//! Stretches of bars in which the tune comes again: as it was, moved by an interval, or varied.
//!
//! Bars are found again by what is in them (an index from content to bars, so that no bar is held
//! against all others): by their notes, by their intervals, and by the pitches on their beats,
//! which ornaments leave in place. Bars that point to bars at one distance make a stretch; the
//! stretch is then judged by how much of its time the tune is the same.

use super::tune::{Held, likeness};
use crate::music::{BarNumber, MeterMap, Tick};
use std::collections::BTreeMap;

/// A stretch of whole bars that repeats an earlier one.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct RepeatedStretch {
    /// Where it begins: a bar line.
    pub start: Tick,
    /// Where it ends.
    pub end: Tick,
    /// Where what it repeats begins.
    pub source: Tick,
    /// By how many semitones the tune stands higher than before.
    pub semitones: i32,
    /// The share of its time in which the tune is the same, 0 to 1.
    pub likeness: f64,
    /// Its bars.
    pub bars: u32,
}

/// The shortest stretch worth telling, in bars.
const LEAST_BARS: usize = 2;
/// A bar gains by how much more than this of it is alike; what is moved by an interval must be
/// more alike. Chosen by trial, as what follows.
const ALIKE: f64 = 0.6;
const ALIKE_MOVED: f64 = 0.75;
/// What a stretch must gain to begin: else every bar would point to the bar most like it.
const BEGIN: f64 = 0.3;
/// What a bar gains by a source four bars off, or a multiple: parts of tunes have mostly four or
/// eight bars (common practice, no source).
const EVEN: f64 = 0.01;
/// A stretch does not begin with a bar so much less alike than its mean, nor end with one by so
/// much (the last bar may lead elsewhere): cadences resemble each other everywhere.
const LESS_AT_START: f64 = 0.15;
const LESS_AT_END: f64 = 0.3;
/// Bars of a stretch that need not be found again by their content, in a row.
const GAP: u32 = 3;
/// So many of the first and last bars of one content are pointed to.
const POINTED: usize = 3;
/// Tunes are not found again further up or down than this.
const FURTHEST: i32 = 24;
/// Beats of a bar that are looked at.
const MOST_BEATS: u64 = 16;

type Content = Vec<(u64, i32)>;

/// A bar in which notes of the tune begin.
struct Bar {
    number: BarNumber,
    start: Tick,
    length: u64,
    first_pitch: i32,
    exact: Content,
    beats: Content,
}

/// Stretches in order, without overlaps.
pub(super) fn repeated_stretches(tune: &[Held], meters: &MeterMap) -> Vec<RepeatedStretch> {
    let bars = bars(tune, meters);
    let mut sources: BTreeMap<u32, Vec<Source>> = BTreeMap::new();
    for ((distance, semitones), pointing) in pointers(&bars) {
        let way = Way {
            distance,
            semitones,
        };
        for numbers in pointing.chunk_by(|a, b| b - a <= GAP) {
            // One bar alone is not worth a look; those around may be alike all the same.
            if let [first, .., last] = numbers {
                for bar in first.saturating_sub(GAP)..=last.saturating_add(GAP) {
                    if let Some(likeness) = way.likeness(tune, meters, bar) {
                        let source = Source { way, likeness };
                        sources.entry(bar).or_default().push(source);
                    }
                }
            }
        }
    }
    let chosen = best_sources(&sources);
    chosen
        .chunk_by(|a, b| a.0 + 1 == b.0 && a.1.way == b.1.way)
        .map(trimmed)
        .filter(|run| run.len() >= LEAST_BARS)
        .filter_map(|run| stretch(run, meters))
        .collect()
}

/// From a bar to the one that it repeats.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Way {
    distance: u32,
    semitones: i32,
}

impl Way {
    /// How alike a bar is to the one that the way leads to; `None` where there is none of its
    /// length. Bars in which neither sounds are alike.
    fn likeness(self, tune: &[Held], meters: &MeterMap, bar: u32) -> Option<f64> {
        let then = bar.checked_sub(self.distance).filter(|b| *b > 0)?;
        let (now, then) = (BarNumber(bar), BarNumber(then));
        let stretch = (meters.bar_start(now), meters.bar_end(now));
        let earlier = (meters.bar_start(then), meters.bar_end(then));
        let as_long = stretch.1.since(stretch.0) == earlier.1.since(earlier.0);
        let same = |a: i32, b: i32| a == b + self.semitones;
        as_long.then(|| likeness(tune, stretch, earlier.0, same).unwrap_or(1.0))
    }
}

/// What a bar may repeat, and how alike it is to that.
#[derive(Clone, Copy, Debug)]
struct Source {
    way: Way,
    likeness: f64,
}

impl Source {
    fn gain(&self) -> f64 {
        let least = if self.way.semitones == 0 {
            ALIKE
        } else {
            ALIKE_MOVED
        };
        let even = match self.way.distance {
            d if d % 8 == 0 => 2.0 * EVEN,
            d if d % 4 == 0 => EVEN,
            _ => 0.0,
        };
        self.likeness - least + even
    }
}

/// The best score until a bar, and the way that the bar before has in it (its index there).
type Step = (f64, Option<usize>);

/// The best-scored way through the bars: each repeats a bar by one of its ways or none, and a
/// change of way costs. Bars that repeat none are left out.
fn best_sources(sources: &BTreeMap<u32, Vec<Source>>) -> Vec<(u32, Source)> {
    // For each bar and way the best score with the way of the bar before, and the best of all.
    let mut steps: Vec<(u32, Vec<Step>)> = Vec::with_capacity(sources.len());
    let mut free: Vec<Step> = vec![(0.0, None)];
    for (bar, here) in sources {
        let (rest, _) = free.last().copied().unwrap_or((0.0, None));
        let before = steps.last().filter(|(b, _)| b + 1 == *bar);
        let ways = sources.get(&bar.saturating_sub(1));
        let mut scores = Vec::with_capacity(here.len());
        for source in here {
            let kept = before.zip(ways).and_then(|((_, scores), ways)| {
                let i = ways.iter().position(|w| w.way == source.way)?;
                Some((scores.get(i)?.0, Some(i)))
            });
            let fresh = (rest - BEGIN, None);
            let from = kept.filter(|k| k.0 >= fresh.0).unwrap_or(fresh);
            scores.push((from.0 + source.gain(), from.1));
        }
        // The best until here: with a way of this bar, or as before.
        let mut best = (rest, None);
        for (i, (score, _)) in scores.iter().enumerate() {
            if *score > best.0 {
                best = (*score, Some(i));
            }
        }
        free.push(best);
        steps.push((*bar, scores));
    }
    let mut chosen = Vec::new();
    let mut way: Option<usize> = None;
    for ((bar, scores), (_, best)) in steps.iter().zip(free.iter().skip(1)).rev() {
        way = way.or(*best);
        let source = way.and_then(|i| sources.get(bar)?.get(i));
        chosen.extend(source.map(|s| (*bar, *s)));
        way = way.and_then(|i| scores.get(i)?.1);
    }
    chosen.reverse();
    chosen
}

/// The run without bars at its ends that are much less alike than the others.
fn trimmed(run: &[(u32, Source)]) -> &[(u32, Source)] {
    let sum: f64 = run.iter().map(|(_, s)| s.likeness).sum();
    let mean = sum / run.len().max(1) as f64;
    let alike = |less: f64| move |b: &(u32, Source)| b.1.likeness >= mean - less;
    let first = run.iter().position(alike(LESS_AT_START));
    let last = run.iter().rposition(alike(LESS_AT_END));
    let kept = first.zip(last).and_then(|(f, l)| run.get(f..=l));
    kept.unwrap_or_default()
}

fn stretch(run: &[(u32, Source)], meters: &MeterMap) -> Option<RepeatedStretch> {
    let ((first, source), (last, _)) = run.first().zip(run.last())?;
    let alike: f64 = run.iter().map(|(_, s)| s.likeness).sum();
    Some(RepeatedStretch {
        start: meters.bar_start(BarNumber(*first)),
        end: meters.bar_end(BarNumber(*last)),
        source: meters.bar_start(BarNumber(first - source.way.distance)),
        semitones: source.way.semitones,
        likeness: alike / run.len() as f64,
        bars: last + 1 - first,
    })
}

fn bars(tune: &[Held], meters: &MeterMap) -> Vec<Bar> {
    let mut bars: Vec<Bar> = Vec::new();
    // To a 24th of a quarter, so that triplets and sixteenths stay apart and ticks do not matter.
    let fine = |ticks: u64| ticks * 24 / u64::from(meters.quarter().get());
    let mut held: Option<&Held> = None;
    for note in tune {
        let number = meters.bar(note.start);
        if bars.last().is_none_or(|b| b.number != number) {
            let start = meters.bar_start(number);
            bars.push(Bar {
                number,
                start,
                length: meters.bar_end(number).since(start).0,
                first_pitch: note.what,
                exact: Vec::new(),
                beats: Vec::new(),
            });
        }
        if let Some(bar) = bars.last_mut() {
            let from = note.start.since(bar.start).0;
            bar.exact.push((fine(from), note.what));
            // The beats since the last note hear the one that was held, this note's own beat it.
            let beat = meters.meter(bar.start).beat(meters.quarter()).0.max(1);
            let reached = from.div_ceil(beat).min(MOST_BEATS);
            let sounding = held.filter(|h| h.start >= bar.start).map_or(0, |h| h.what);
            while (bar.beats.len() as u64) < reached {
                bar.beats.push((bar.beats.len() as u64, sounding));
            }
            if from % beat == 0 && bar.beats.len() as u64 == from / beat {
                bar.beats.push((from / beat, note.what));
            }
        }
        held = Some(note);
    }
    bars
}

/// For each distance in bars and interval: the bars that point there, in order.
fn pointers(bars: &[Bar]) -> BTreeMap<(u32, i32), Vec<u32>> {
    let mut index: BTreeMap<(u8, u64, Content), Vec<usize>> = BTreeMap::new();
    let mut pointing: BTreeMap<(u32, i32), Vec<u32>> = BTreeMap::new();
    for (i, bar) in bars.iter().enumerate() {
        for (kind, content) in contents(bar) {
            let same = index.entry((kind, bar.length, content)).or_default();
            let first = same.iter().take(POINTED);
            for j in first.chain(same.iter().skip(POINTED).rev().take(POINTED)) {
                let Some(earlier) = bars.get(*j) else {
                    continue;
                };
                let semitones = bar.first_pitch - earlier.first_pitch;
                let distance = bar.number.0 - earlier.number.0;
                let row = pointing.entry((distance, semitones)).or_default();
                if semitones.abs() <= FURTHEST && row.last() != Some(&bar.number.0) {
                    row.push(bar.number.0);
                }
            }
            same.push(i);
        }
    }
    pointing
}

/// What a bar may be found again by: its notes, its intervals, the pitches on its beats.
fn contents(bar: &Bar) -> impl Iterator<Item = (u8, Content)> {
    let moved = |content: &Content| -> Content {
        let to = |(at, pitch): &(u64, i32)| (*at, pitch - bar.first_pitch);
        content.iter().map(to).collect()
    };
    let beats = (bar.beats.len() > 1).then(|| (2, moved(&bar.beats)));
    [(0, bar.exact.clone()), (1, moved(&bar.exact))]
        .into_iter()
        .chain(beats)
}
