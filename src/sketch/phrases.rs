//! Phrases: stretches between breathing places of the melody.
//!
//! After the rules of Temperley's Grouper (The Cognition of Basic Musical Structures, 2001,
//! chapter 3, from memory): gaps between notes, phrases of about so many notes, and phrases that
//! begin at the same place of the bar; found by dynamic programming. To these come two of ours:
//! moments in which nothing is struck in any line, as at a cadence, and places where the tune
//! begins to repeat itself. The local boundary strengths of Cambouropoulos (The local boundary
//! detection model, 2001) were tried beside long notes and gave less.

use super::reading::{Line, Phrase, ReadNote};
use super::song::Song;
use super::tune_repeats::RepeatedStretch;
use crate::music::Tick;

/// A phrase is looked for in at most so many melody notes back.
const REACH: usize = 200;

/// The notes that a phrase has at best (Temperley's figure is eight, from memory).
const USUAL_NOTES: f64 = 11.0;
/// What a phrase with twice, or half, as many notes loses. Chosen by trial, as the others here.
const OTHER_NOTES: f64 = 0.55;
/// What the repeat of four bars adds where it begins or ends; longer ones add more, up to three
/// times as much.
const PARALLEL: f64 = 0.75;

/// A place where a phrase may begin: the onset of a melody note.
struct Place {
    at: Tick,
    /// In bars from the start, to measure lengths by.
    bar: f64,
    /// How much it is like a breathing place.
    worth: f64,
}

/// Phrases over the whole sketch, from tick 0 to `end`; none if it has no length. All begin
/// where a melody note begins, but for the first. Weights chosen by trial.
pub(super) fn find_phrases(
    song: &Song,
    notes: &[ReadNote],
    repeats: &[RepeatedStretch],
    end: Tick,
) -> Vec<Phrase> {
    if end == Tick::ZERO {
        return Vec::new();
    }
    let melody: Vec<&ReadNote> = notes.iter().filter(|n| n.line == Line::Melody).collect();
    let places = places(song, notes, &melody, &parallels(repeats));
    let last_bar = bars(song, end);
    let mut starts: Vec<Tick> = best_starts(&places, last_bar)
        .into_iter()
        .map(|i| places[i].at)
        .collect();
    match starts.first_mut() {
        Some(first) => *first = Tick::ZERO,
        None => starts.push(Tick::ZERO),
    }
    let ends = starts.iter().skip(1).copied().chain([end]);
    starts
        .iter()
        .zip(ends)
        .map(|(start, end)| Phrase { start: *start, end })
        .collect()
}

fn bars(song: &Song, at: Tick) -> f64 {
    let bar = song.meters.bar(at);
    let start = song.meters.bar_start(bar);
    let length = song.meters.meter(at).bar(song.quarter).0 as f64;
    f64::from(bar.0) + at.since(start).0 as f64 / length
}

/// Bar lines where a repeat or what it repeats begins or ends, with how much that says; in order.
fn parallels(repeats: &[RepeatedStretch]) -> Vec<(Tick, f64)> {
    let mut lines: Vec<(Tick, f64)> = Vec::with_capacity(4 * repeats.len());
    for r in repeats {
        let worth = PARALLEL * (f64::from(r.bars) / 4.0).min(3.0);
        let source_end = r.source + r.end.since(r.start);
        lines.extend([r.start, r.end, r.source, source_end].map(|at| (at, worth)));
    }
    lines.sort_by(|a, b| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)));
    lines.dedup_by_key(|l| l.0);
    lines
}

fn places(
    song: &Song,
    notes: &[ReadNote],
    melody: &[&ReadNote],
    parallels: &[(Tick, f64)],
) -> Vec<Place> {
    let usual = usual_length(melody);
    let mut marks = song.markers.iter().map(|m| m.at).peekable();
    let mut places: Vec<Place> = Vec::with_capacity(melody.len());
    for (i, note) in melody.iter().enumerate() {
        let bar = bars(song, note.onset);
        let mut worth = downbeat(bar) + parallel(song, note.onset, parallels);
        if let Some(before) = i.checked_sub(1).and_then(|b| melody.get(b)) {
            let gap = song.quarter.beats(note.onset.since(before.end())).0;
            let long = (before.duration.0 as f64 / usual).log2();
            worth += (1.4 * gap).min(2.4) + (1.25 * long).clamp(0.0, 1.8);
            worth += 2.2 * (stillness(song, notes, note.onset) - 0.5).clamp(0.0, 2.0);
        }
        let mut marked = false;
        while marks.next_if(|m| *m <= note.onset).is_some() {
            marked = true;
        }
        if marked {
            worth += 100.0;
        }
        let at = note.onset;
        places.push(Place { at, bar, worth });
    }
    places
}

/// For how many quarters before a place nothing is struck.
fn stillness(song: &Song, notes: &[ReadNote], at: Tick) -> f64 {
    let here = notes.partition_point(|n| n.onset < at);
    let before = here.checked_sub(1).and_then(|b| notes.get(b));
    before.map_or(0.0, |n| song.quarter.beats(at.since(n.onset)).0)
}

/// What repeats add to a place at their bar line, or in the half bar that leads to it.
fn parallel(song: &Song, at: Tick, parallels: &[(Tick, f64)]) -> f64 {
    let next = parallels.partition_point(|(line, _)| *line < at);
    let half = song.meters.meter(at).bar(song.quarter).0 / 2;
    let line = parallels.get(next);
    line.filter(|(line, _)| line.since(at).0 <= half)
        .map_or(0.0, |(_, worth)| *worth)
}

fn downbeat(bar: f64) -> f64 {
    let inside = bar.fract();
    if inside < 0.01 {
        0.05
    } else if inside >= 0.7 {
        0.9
    } else {
        0.0
    }
}

fn usual_length(melody: &[&ReadNote]) -> f64 {
    let mut lengths: Vec<u64> = melody.iter().map(|n| n.duration.0).collect();
    lengths.sort_unstable();
    lengths
        .get(lengths.len() / 2)
        .map_or(1.0, |l| (*l).max(1) as f64)
}

/// What a length in bars costs: two or three are best, one to eight are usual; phrases that do
/// not fill whole bars, or three, five, six or seven of them, cost more.
fn length_cost(bars: f64) -> f64 {
    let off = (bars.max(0.05) / 2.7).log2().abs();
    let short = (1.0 - bars).max(0.0) * 0.3;
    let long = (bars - 8.0).max(0.0) * 0.5;
    let whole = (bars - bars.round()).abs() < 0.03;
    let odd = match bars.round() as i64 {
        _ if !whole => 1.5,
        1 | 2 | 4 | 8 | 16 => 0.0,
        _ => 1.1,
    };
    1.2 + 0.45 * off + short + long.min(8.0) + odd
}

/// What so many notes cost.
fn notes_cost(notes: usize) -> f64 {
    OTHER_NOTES * (notes.max(1) as f64 / USUAL_NOTES).log2().abs()
}

fn best_starts(places: &[Place], last_bar: f64) -> Vec<usize> {
    if places.is_empty() {
        return Vec::new();
    }
    let mut best: Vec<(f64, usize)> = vec![(0.0, 0)];
    let by_notes: Vec<f64> = (0..=REACH).map(notes_cost).collect();
    let choose = |best: &[(f64, usize)], k: usize, bar: f64| {
        let mut choice = (f64::NEG_INFINITY, k - 1);
        let from = k.saturating_sub(REACH);
        for (i, place) in places[from..k].iter().enumerate().rev() {
            let i = from + i;
            let score = best[i].0 - length_cost(bar - place.bar) - by_notes[k - i];
            if score > choice.0 {
                choice = (score, i);
            }
            if bar - place.bar > 20.0 {
                break;
            }
        }
        choice
    };
    for (k, place) in places.iter().enumerate().skip(1) {
        let (score, from) = choose(&best, k, place.bar);
        best.push((score + place.worth, from));
    }
    let mut at = choose(&best, places.len(), last_bar).1;
    let mut starts = vec![at];
    while at > 0 {
        at = best[at].1;
        starts.push(at);
    }
    starts.reverse();
    starts
}
