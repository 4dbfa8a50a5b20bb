//! Finding the melody: a least-cost path, not the top note alone.

use super::loudness::loudness_marks;
use super::onsets::Onset;
use super::path::{Candidate, best_path};
use super::reading::ReadNote;
use super::repeats::Repeats;
use super::track_prior::TrackPrior;
use crate::music::{MeterMap, Tick};

// Weights in log-score units. Top, register, duration and velocity come from trials on piano
// arrangements with a labelled melody; the others were set by hand on four-part chorales and a
// few piano pieces.
const TOP: f64 = 1.6;
const BELOW_TOP: f64 = -0.4;
const REGISTER: f64 = 1.0;
const DURATION: f64 = 0.24;
const STEP: f64 = 0.14;
const MOST_LEAP: f64 = 1.1;
/// Each beat without melody, so that one far note is not left out to save two leaps.
const GAP: f64 = 0.6;
const MOST_GAP: f64 = 0.9;
const OVERLAP: f64 = 4.0;
const REPEATED: f64 = 0.8;

/// How many of the highest new notes may be melody.
const CANDIDATES: usize = 5;

/// What the melody finder needs to know of the notes.
pub(super) struct MelodyView<'a> {
    pub(super) notes: &'a [ReadNote],
    pub(super) onsets: &'a [Onset],
    pub(super) prior: &'a TrackPrior,
    pub(super) meters: &'a MeterMap,
}

/// The melody's notes in order, each with how sure it is, 0 to 1.
pub(super) fn find_melody(view: &MelodyView) -> Vec<(usize, f32)> {
    let tops: Vec<(Tick, u8)> = view.onsets.iter().map(|o| (o.at, o.top)).collect();
    let fixed = vec![median(tops.iter().map(|t| t.1)); view.onsets.len()];
    let base = base_scores(view);
    let first = pass(view, &base, &fixed);
    let centres = running_centres(view, &first);
    let last = pass(view, &base, &centres);
    let (path, list) = last;
    path.into_iter()
        .map(|i| {
            (
                list[i].note,
                sigmoid(list[i].score - runner_up(view, &list, i)),
            )
        })
        .collect()
}

/// The best score at the same onset of another pitch, or of none (0).
fn runner_up(view: &MelodyView, list: &[Candidate], chosen: usize) -> f64 {
    let onset = list[chosen].onset;
    let from = list.partition_point(|c| c.onset < onset);
    let pitch = view.notes[list[chosen].note].pitch;
    list[from..]
        .iter()
        .take_while(|c| c.onset == onset)
        .filter(|c| view.notes[c.note].pitch != pitch)
        .map(|c| c.score)
        .fold(0.0, f64::max)
}

fn sigmoid(x: f64) -> f32 {
    (1.0 / (1.0 + (-x).exp())) as f32
}

fn median(pitches: impl Iterator<Item = u8>) -> f64 {
    let mut sorted: Vec<u8> = pitches.collect();
    sorted.sort_unstable();
    sorted.get(sorted.len() / 2).map_or(60.0, |p| f64::from(*p))
}

/// All candidates with every term but register.
fn base_scores(view: &MelodyView) -> Vec<Candidate> {
    let loud = loudness_marks(view.notes, view.onsets, view.meters.quarter());
    let repeats = Repeats::new(view.notes, view.meters);
    let mut list = Vec::new();
    for (o, onset) in view.onsets.iter().enumerate() {
        for (rank, note) in onset
            .highest(view.notes, CANDIDATES)
            .into_iter()
            .enumerate()
        {
            for note in unison(view, onset, note) {
                let score = base_score(view, onset, rank, note, loud[o], &repeats);
                list.push(Candidate {
                    onset: o,
                    note,
                    score,
                });
            }
        }
    }
    list
}

fn base_score(
    view: &MelodyView,
    onset: &Onset,
    rank: usize,
    note: usize,
    loud: f64,
    repeats: &Repeats,
) -> f64 {
    let n = &view.notes[note];
    let beats = view.meters.quarter().beats(n.duration).0;
    let place = if n.pitch.midi() == onset.top {
        TOP
    } else {
        BELOW_TOP * (1 + rank) as f64
    };
    let length = DURATION * beats.log2().clamp(-3.0, 3.0);
    let loudness = ((f64::from(n.velocity) - loud) / 10.0).clamp(-2.0, 2.0);
    let prior = view.prior.score(n, view.meters);
    let pattern = if repeats.is_pattern(n) { REPEATED } else { 0.0 };
    place + length + loudness + prior - pattern
}

/// Of notes of one pitch at one onset those that may be meant: of the likeliest track the
/// shortest and the longest (voices in unison differ only in length).
fn unison(view: &MelodyView, onset: &Onset, note: usize) -> Vec<usize> {
    let pitch = view.notes[note].pitch;
    let all = onset.notes.clone();
    let first = all.start + view.notes[all.clone()].partition_point(|n| n.pitch < pitch);
    let same = || (first..all.end).take_while(|i| view.notes[*i].pitch == pitch);
    let likely = |i: usize| view.prior.score(&view.notes[i], view.meters);
    let most = same().map(likely).fold(f64::NEG_INFINITY, f64::max);
    let meant = || same().filter(|i| likely(*i) >= most);
    let shortest = meant().min_by_key(|i| view.notes[*i].duration);
    let longest = meant().max_by_key(|i| view.notes[*i].duration);
    let mut found: Vec<usize> = shortest.into_iter().chain(longest).collect();
    found.dedup();
    found
}

fn pass(view: &MelodyView, base: &[Candidate], centres: &[f64]) -> (Vec<usize>, Vec<Candidate>) {
    let mut list = base.to_vec();
    for candidate in &mut list {
        let away = f64::from(view.notes[candidate.note].pitch.midi()) - centres[candidate.onset];
        candidate.score -= REGISTER * (away.abs() - 6.0).max(0.0) / 6.0;
    }
    let path = best_path(&list, |a, b| lead(view, &view.notes[a], &view.notes[b]));
    (path, list)
}

fn lead(view: &MelodyView, a: &ReadNote, b: &ReadNote) -> f64 {
    let quarter = view.meters.quarter();
    let leap = f64::from(a.pitch.distance(b.pitch));
    let step = STEP * leap.min(7.0) + 1.6 * STEP * (leap - 7.0).max(0.0);
    let gap = quarter.beats(b.onset.since(a.end())).0;
    let fade = if gap > 0.0 { (-gap / 4.0).exp() } else { 1.0 };
    let overlap = quarter.beats(a.end().since(b.onset)).0;
    let both = OVERLAP * (overlap - 0.1).clamp(0.0, 2.0);
    -step.min(MOST_LEAP) * fade - both - (GAP * gap).min(MOST_GAP)
}

/// Half the melody's median, half the median of what lies within twelve beats.
fn running_centres(view: &MelodyView, last: &(Vec<usize>, Vec<Candidate>)) -> Vec<f64> {
    let quarter = u64::from(view.meters.quarter().get());
    let line: Vec<(Tick, u8)> = last
        .0
        .iter()
        .map(|i| &view.notes[last.1[*i].note])
        .map(|n| (n.onset, n.pitch.midi()))
        .collect();
    let whole = median(line.iter().map(|l| l.1));
    let mut counts = [0_u32; 128];
    let (mut lo, mut hi) = (0, 0);
    let mut centres = Vec::with_capacity(view.onsets.len());
    for onset in view.onsets {
        while let Some(l) = line.get(hi).filter(|l| l.0.0 <= onset.at.0 + 12 * quarter) {
            counts[usize::from(l.1)] += 1;
            hi += 1;
        }
        while let Some(l) = line.get(lo).filter(|l| l.0.0 + 12 * quarter < onset.at.0) {
            counts[usize::from(l.1)] -= 1;
            lo += 1;
        }
        centres.push(0.5 * whole + 0.5 * counted_median(&counts).unwrap_or(whole));
    }
    centres
}

fn counted_median(counts: &[u32; 128]) -> Option<f64> {
    let total: u32 = counts.iter().sum();
    let mut sum = 0;
    let at = counts.iter().position(|c| {
        sum += c;
        2 * sum > total
    })?;
    Some(at as f64)
}
