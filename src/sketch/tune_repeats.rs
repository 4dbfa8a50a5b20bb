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

/// The shortest stretch worth telling, in bars; and how much of it must be alike, moved by an
/// interval more. Chosen by trial.
const LEAST_BARS: u32 = 2;
const LEAST: f64 = 0.6;
const LEAST_MOVED: f64 = 0.75;
/// A bar less alike than this does not begin or end a stretch.
const LEAST_AT_ENDS: f64 = 0.5;
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
    let mut runs: Vec<(f64, RepeatedStretch)> = Vec::new();
    for ((distance, semitones), pointing) in pointers(&bars) {
        for numbers in pointing.chunk_by(|a, b| b - a <= GAP) {
            // One bar alone is not worth a look.
            if let [first, .., last] = numbers {
                runs.extend(judged(tune, meters, (*first, *last), distance, semitones));
            }
        }
    }
    // The weightiest first; then what repeats the earliest.
    runs.sort_by(|a, b| {
        let by_source = (a.1.source, a.1.start).cmp(&(b.1.source, b.1.start));
        b.0.total_cmp(&a.0).then(by_source)
    });
    without_overlaps(runs.into_iter().map(|(_, run)| run), meters)
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

/// The run from one bar to another, without ends that are not alike, if it is worth telling.
fn judged(
    tune: &[Held],
    meters: &MeterMap,
    (first, last): (u32, u32),
    distance: u32,
    semitones: i32,
) -> Option<(f64, RepeatedStretch)> {
    let same = |a: i32, b: i32| a == b + semitones;
    let alike = |bar: u32| {
        let (now, then) = (BarNumber(bar), BarNumber(bar.checked_sub(distance)?));
        let stretch = (meters.bar_start(now), meters.bar_end(now));
        let earlier = (meters.bar_start(then), meters.bar_end(then));
        let as_long = stretch.1.since(stretch.0) == earlier.1.since(earlier.0);
        // Bars in which neither sounds are alike.
        as_long.then(|| likeness(tune, stretch, earlier.0, same).unwrap_or(1.0))
    };
    // The bars before and after may be alike without being found by their content.
    let from = first.saturating_sub(GAP).max(distance.saturating_add(1));
    let each: Vec<(u32, f64)> = (from..=last.saturating_add(GAP))
        .map(|b| (b, alike(b).unwrap_or(0.0)))
        .collect();
    let begin = |b: &(u32, f64)| b.1 >= LEAST_AT_ENDS && b.0 <= last;
    let finish = |b: &(u32, f64)| b.1 >= LEAST_AT_ENDS && b.0 >= first;
    let begin = each.iter().position(begin)?;
    let finish = each.iter().rposition(finish)?;
    let kept = each.get(begin..=finish)?;
    let (from, to) = (kept.first()?.0, kept.last()?.0);
    let count = to - from + 1;
    let mean = kept.iter().map(|(_, l)| l).sum::<f64>() / f64::from(count);
    let least = if semitones == 0 { LEAST } else { LEAST_MOVED };
    let worth = if semitones == 0 { 1.0 } else { 0.7 };
    let start = meters.bar_start(BarNumber(from));
    let run = RepeatedStretch {
        start,
        end: meters.bar_end(BarNumber(to)),
        source: meters.bar_start(BarNumber(from - distance)),
        semitones,
        likeness: mean,
        bars: count,
    };
    (count >= LEAST_BARS && mean >= least)
        .then(|| (worth * (mean - LEAST_AT_ENDS) * f64::from(count), run))
}

fn without_overlaps(
    runs: impl Iterator<Item = RepeatedStretch>,
    meters: &MeterMap,
) -> Vec<RepeatedStretch> {
    let mut taken: BTreeMap<Tick, RepeatedStretch> = BTreeMap::new();
    for mut run in runs {
        // What is left of it at its start and end by those taken before.
        if let Some((_, before)) = taken.range(..=run.start).next_back()
            && before.end > run.start
        {
            let cut = before.end.since(run.start);
            run.source = run.source + cut;
            run.start = before.end;
        }
        if let Some((next, _)) = taken.range(run.start..).next() {
            run.end = run.end.min(*next);
        }
        if run.end <= run.start {
            continue;
        }
        let last = meters.bar(Tick(run.end.0 - 1));
        run.bars = last.0 + 1 - meters.bar(run.start).0;
        if run.bars >= LEAST_BARS {
            taken.insert(run.start, run);
        }
    }
    taken.into_values().collect()
}
