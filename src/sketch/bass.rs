//! Finding the bass: a least-cost path through low notes, without the upper notes of figures.

use super::onsets::Onset;
use super::path::{Candidate, best_path};
use super::reading::ReadNote;
use super::track_prior::TrackPrior;
use crate::music::MeterMap;

// Weights chosen by trial on chorales and on broken-chord accompaniments.
const LOWEST: f64 = 1.6;
const ABOVE_LOWEST: f64 = -1.5;
const FIGURE: f64 = 4.0;
const REGISTER: f64 = 0.5;
const STEP: f64 = 0.05;
const MOST_LEAP: f64 = 0.6;

/// How many of the lowest new notes may be bass.
const CANDIDATES: usize = 6;

/// What the bass finder needs to know of the notes.
pub(super) struct BassView<'a> {
    pub(super) notes: &'a [ReadNote],
    pub(super) onsets: &'a [Onset],
    /// For each note, whether it is melody.
    pub(super) melody: &'a [bool],
    pub(super) meters: &'a MeterMap,
    /// What the tracks tell.
    pub(super) prior: &'a TrackPrior,
}

/// The bass's notes in order, each with how sure it is, and for each note whether it is the
/// upper part of a broken or repeated chord.
pub(super) fn find_bass(view: &BassView) -> (Vec<(usize, f32)>, Vec<bool>) {
    let lows: Vec<Option<usize>> = view.onsets.iter().map(|o| low_note(view, o)).collect();
    let figure = figure_notes(view, &lows);
    let copies = octave_copies(view);
    let centre = centre(view, &lows, &figure);
    let mut list = Vec::new();
    for (o, onset) in view.onsets.iter().enumerate() {
        let low = onset.notes.clone().take(CANDIDATES);
        for note in low.filter(|i| !view.melody[*i]) {
            let pitch = view.notes[note].pitch;
            let below = view.notes[onset.notes.start..note].iter();
            let rank = below.filter(|n| n.pitch < pitch).count();
            list.push(Candidate {
                onset: o,
                note,
                score: score(view, onset, rank, note, centre, figure[note] || copies[o]),
            });
        }
    }
    let path = best_path(&list, |a, b| lead(view, &view.notes[a], &view.notes[b]));
    let sure = |i: usize| (list[i].note, sigmoid(list[i].score));
    (path.into_iter().map(sure).collect(), figure)
}

fn sigmoid(x: f64) -> f32 {
    (1.0 / (1.0 + (-x).exp())) as f32
}

fn score(
    view: &BassView,
    onset: &Onset,
    rank: usize,
    note: usize,
    centre: f64,
    figure: bool,
) -> f64 {
    let pitch = view.notes[note].pitch.midi();
    let place = if pitch == onset.bottom {
        LOWEST
    } else {
        ABOVE_LOWEST * (1 + rank) as f64
    };
    let above = (f64::from(pitch) - centre - 9.0).max(0.0) / 6.0;
    let out = if figure { FIGURE } else { 0.0 };
    let prior = view.prior.score(&view.notes[note], view.meters);
    place - REGISTER * above.min(2.0) - out + prior
}

/// At which onsets the melody is only doubled an octave lower, with nothing else sounding, there
/// and at the onset before or after.
fn octave_copies(view: &BassView) -> Vec<bool> {
    let doubled: Vec<bool> = view
        .onsets
        .iter()
        .map(|o| {
            let pair = &view.notes[o.notes.clone()];
            let melody = view.melody[o.notes.clone()].last();
            o.held == 2
                && matches!(pair, [low, high] if low.pitch.distance(high.pitch) == 12)
                && melody == Some(&true)
        })
        .collect();
    let near = |k: Option<usize>| k.and_then(|k| doubled.get(k)).copied().unwrap_or(false);
    (0..doubled.len())
        .map(|k| doubled[k] && (near(k.checked_sub(1)) || near(Some(k + 1))))
        .collect()
}

fn lead(view: &BassView, a: &ReadNote, b: &ReadNote) -> f64 {
    let leap = f64::from(a.pitch.distance(b.pitch));
    let overlap = view.meters.quarter().beats(a.end().since(b.onset)).0;
    -(STEP * leap).min(MOST_LEAP) - (overlap - 0.1).clamp(0.0, 0.5)
}

/// The lowest new note, if nothing lower is held and it is not the melody.
fn low_note(view: &BassView, onset: &Onset) -> Option<usize> {
    let first = onset.notes.start;
    let note = view.notes.get(first)?;
    (note.pitch.midi() == onset.bottom && !view.melody[first]).then_some(first)
}

fn centre(view: &BassView, lows: &[Option<usize>], figure: &[bool]) -> f64 {
    let real = lows.iter().flatten().filter(|i| !figure[**i]);
    let mut pitches: Vec<u8> = real.map(|i| view.notes[*i].pitch.midi()).collect();
    pitches.sort_unstable();
    pitches
        .get(pitches.len() / 2)
        .map_or(48.0, |p| f64::from(*p))
}

/// Marks low notes that are the upper part of a pattern: peaks of leaps between lower notes, in
/// a texture of one note at a time beside the melody (broken chords), and chords struck after a
/// lone low note (stride, waltz). Peaks are taken off twice, so that of C-G-E-G the C stays.
fn figure_notes(view: &BassView, lows: &[Option<usize>]) -> Vec<bool> {
    let mut figure = vec![false; view.notes.len()];
    for _ in 0..3 {
        let line: Vec<(usize, usize)> = lows
            .iter()
            .enumerate()
            .filter_map(|(o, n)| n.map(|n| (o, n)))
            .filter(|(_, n)| !figure[*n])
            .collect();
        let peaks: Vec<usize> = (0..line.len())
            .filter(|k| is_upper(view, &line, *k, &figure))
            .collect();
        for k in peaks {
            let onset = &view.onsets[line[k].0];
            figure[line[k].1] = true;
            for i in onset.notes.clone() {
                figure[i] |= !view.melody[i] && lows[line[k].0] == Some(i);
            }
        }
    }
    figure
}

fn is_upper(view: &BassView, line: &[(usize, usize)], k: usize, figure: &[bool]) -> bool {
    let (onset, note) = line[k];
    let n = &view.notes[note];
    let bar = view.meters.meter(n.onset).bar(view.meters.quarter());
    let near = |other: Option<&(usize, usize)>| {
        other.copied().filter(|(_, i)| {
            let o = &view.notes[*i];
            o.onset.since(n.onset).0 + n.onset.since(o.onset).0 <= bar.0
        })
    };
    let before = near(k.checked_sub(1).and_then(|b| line.get(b)));
    let after = near(line.get(k + 1));
    let leap = |other: Option<(usize, usize)>| {
        other.map(|(_, i)| i32::from(n.pitch.midi()) - i32::from(view.notes[i].pitch.midi()))
    };
    let (down, up) = (leap(before), leap(after));
    let new = others(view, onset);
    if new >= 2 {
        // A chord after a lone low note, or after such a chord.
        let after_low =
            down.is_some_and(|d| d >= 5) && before.is_some_and(|(o, _)| is_alone(view, o));
        return after_low && before.is_some_and(|(_, i)| !sounds_into(view, i, n));
    }
    let beat = view.meters.meter(n.onset).beat(view.meters.quarter());
    let short = n.duration.0 <= beat.0;
    let thin = |o: usize| others(view, o) <= 1 && view.onsets[o].held <= 3;
    let by_figure = figure.get(note + 1).copied().unwrap_or(false)
        || before.is_some_and(|(o, _)| o + 1 < onset);
    let bar_start = view.meters.bar_start(view.meters.bar(n.onset));
    let off_beat = !n.onset.since(bar_start).0.is_multiple_of(beat.0);
    let peak = down.is_none_or(|d| d >= 3) && up.is_none_or(|u| u >= 0) && down.is_some();
    short && thin(onset) && before.is_some_and(|(o, _)| thin(o)) && peak && (off_beat || by_figure)
}

/// How many new notes are not melody.
fn others(view: &BassView, onset: usize) -> usize {
    let notes = view.onsets[onset].notes.clone();
    notes.take(64).filter(|i| !view.melody[*i]).count()
}

/// Whether a low note, or a low octave, sounds with the melody alone.
fn is_alone(view: &BassView, onset: usize) -> bool {
    let new = others(view, onset);
    view.onsets[onset].held <= new + 1 && (new == 1 || is_octave(view, onset))
}

fn is_octave(view: &BassView, onset: usize) -> bool {
    let notes = view.onsets[onset].notes.clone();
    let low: Vec<u8> = notes
        .take(4)
        .filter(|i| !view.melody[*i])
        .map(|i| view.notes[i].pitch.midi())
        .collect();
    matches!(low.as_slice(), [a, b] if b - a == 12)
}

fn sounds_into(view: &BassView, low: usize, n: &ReadNote) -> bool {
    view.notes[low].end() > n.onset
}
