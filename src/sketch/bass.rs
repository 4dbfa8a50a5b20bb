//! Finding the bass: a least-cost path through low notes, without the upper notes of figures.

use super::broken::{Low, broken_chords, others};
use super::onsets::Onset;
use super::path::{Candidate, best_path};
use super::reading::ReadNote;
use super::track_prior::TrackPrior;
use crate::music::MeterMap;

// Weights chosen by trial on chorales and on broken-chord accompaniments.
const LOWEST: f64 = 1.6;
const ABOVE_LOWEST: f64 = -1.5;
const CROSSED: f64 = 1.0;
const FIGURE: f64 = 4.0;
const REGISTER: f64 = 0.5;
const STEP: f64 = 0.05;
const MOST_LEAP: f64 = 0.6;

/// How far a chord answers above a bass note that is not alone.
const WIDE: u8 = 10;
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
/// upper part of a broken chord.
pub(super) fn find_bass(view: &BassView) -> (Vec<(usize, f32)>, Vec<bool>) {
    let lows: Vec<Option<usize>> = view.onsets.iter().map(|o| low_note(view, o)).collect();
    let chords = answering_chords(view, &lows);
    let broken = broken_chords(view, &chords);
    let figure: Vec<bool> = (0..chords.len()).map(|i| chords[i] || broken[i]).collect();
    let copies = octave_copies(view);
    let centre = centre(view, &lows, &figure);
    let mut list = Vec::new();
    for (o, onset) in view.onsets.iter().enumerate() {
        let low = onset.notes.clone().take(CANDIDATES);
        for note in low.filter(|i| !view.melody[*i]) {
            let pitch = view.notes[note].pitch;
            let below = view.notes[onset.notes.start..note].iter();
            let rank = below.filter(|n| n.pitch < pitch).count();
            let crossed = is_crossed(view, &lows, o, note);
            let place = place(pitch.midi() == onset.bottom, crossed, rank);
            let out = figure[note] || copies[o];
            list.push(Candidate {
                onset: o,
                note,
                score: place + score(view, note, centre, out),
            });
        }
    }
    let path = best_path(&list, |a, b| lead(view, &view.notes[a], &view.notes[b]));
    let sure = |i: usize| (list[i].note, sigmoid(list[i].score));
    (path.into_iter().map(sure).collect(), broken)
}

fn sigmoid(x: f64) -> f32 {
    (1.0 / (1.0 + (-x).exp())) as f32
}

fn place(lowest: bool, crossed: bool, rank: usize) -> f64 {
    match (lowest, crossed) {
        (true, _) => LOWEST,
        (_, true) => CROSSED,
        _ => ABOVE_LOWEST * (1 + rank) as f64,
    }
}

fn score(view: &BassView, note: usize, centre: f64, out: bool) -> f64 {
    let pitch = view.notes[note].pitch.midi();
    let above = (f64::from(pitch) - centre - 9.0).max(0.0) / 6.0;
    let out = if out { FIGURE } else { 0.0 };
    let prior = view.prior.score(&view.notes[note], view.meters);
    prior - REGISTER * above.min(2.0) - out
}

/// Whether the only new note but melody follows on the low note that ends right there, and so
/// passes over the note that is held between them.
fn is_crossed(view: &BassView, lows: &[Option<usize>], onset: usize, note: usize) -> bool {
    let old = onset.checked_sub(1).and_then(|before| lows[before]);
    let (Some(old), at) = (old.map(|i| &view.notes[i]), &view.onsets[onset]) else {
        return false;
    };
    let pitch = view.notes[note].pitch;
    others(view, onset) == 1
        && old.end() == at.at
        && pitch.distance(old.pitch) <= 12
        && pitch.midi().saturating_sub(at.bottom) <= 4
        && old.pitch.midi() < at.bottom
        && at.held >= 4
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

/// Marks the low notes of chords struck after a lone low note (stride, waltz).
fn answering_chords(view: &BassView, lows: &[Option<usize>]) -> Vec<bool> {
    let mut upper = vec![false; view.notes.len()];
    for _ in 0..3 {
        let line: Vec<Low> = lows
            .iter()
            .enumerate()
            .filter_map(|(o, n)| n.map(|n| (o, n)))
            .filter(|(_, n)| !upper[*n])
            .collect();
        let wide: Vec<bool> = line
            .windows(2)
            .map(|pair| is_wide_answer(view, pair[0], pair[1]))
            .collect();
        for (k, pair) in line.windows(2).enumerate() {
            let again = wide[k.saturating_sub(2)..k].contains(&true)
                || wide[k + 1..].iter().take(2).any(|w| *w);
            upper[pair[1].1] |= is_answer(view, pair[0], pair[1]) || wide[k] && again;
        }
    }
    upper
}

/// Whether a chord answers a lone low note, or follows such a chord, within a bar.
fn is_answer(view: &BassView, low: Low, chord: Low) -> bool {
    is_chord_after(view, low, chord, 5) && is_alone(view, low.0)
}

/// The same of a low note far below all else that is struck with it. Believed only where it
/// comes again at once.
fn is_wide_answer(view: &BassView, low: Low, chord: Low) -> bool {
    is_chord_after(view, low, chord, i32::from(WIDE)) && is_far_below(view, low)
}

/// Whether all else that is struck with a low note lies far above.
fn is_far_below(view: &BassView, low: Low) -> bool {
    let pitch = view.notes[low.1].pitch;
    let mut above = (low.1 + 1..view.onsets[low.0].notes.end).filter(|i| !view.melody[*i]);
    above
        .next()
        .is_none_or(|i| view.notes[i].pitch.distance(pitch) >= WIDE)
}

fn is_chord_after(view: &BassView, low: Low, chord: Low, least: i32) -> bool {
    let (root, n) = (&view.notes[low.1], &view.notes[chord.1]);
    let bar = view.meters.meter(n.onset).bar(view.meters.quarter());
    let leap = i32::from(n.pitch.midi()) - i32::from(root.pitch.midi());
    others(view, chord.0) >= 2
        && !is_far_below(view, chord)
        && n.onset.since(root.onset) <= bar
        && leap >= least
        && root.end() <= n.onset
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
