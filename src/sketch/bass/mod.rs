//! Finding the bass: the low stream is cut into groups, then a least-cost path goes through their
//! first notes and the low notes that stand alone.

mod groups;
mod low;
mod path;
mod weights;

pub(super) use self::groups::is_chordal;
use self::groups::{Clock, Group, answers, groups};
use self::low::{Low, Place, low_stream};
use self::path::{Candidate, best_path};
use crate::music::MeterMap;
use crate::sketch::figures::Turn;
use crate::sketch::onsets::Onset;
use crate::sketch::reading::ReadNote;
use crate::sketch::tags::TagPoints;
use crate::sketch::track_prior::TrackPrior;

// Weights chosen by trial on chorales and on broken-chord accompaniments.
const LOWEST: f64 = 1.6;
const ABOVE_LOWEST: f64 = -1.5;
const CROSSED: f64 = 1.0;
const FIGURE: f64 = 4.0;
const REGISTER: f64 = 0.5;
const STEP: f64 = 0.05;
const MOST_LEAP: f64 = 0.6;

/// How sure it is that a note above the lowest few is no bass.
const SURELY_NOT: f32 = 0.98;
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
    /// What the arranger says.
    pub(super) tags: &'a TagPoints,
}

/// What the bass finder tells.
pub(super) struct BassFound {
    /// The bass's notes in order, each with how sure it is, 0 to 1.
    pub(super) bass: Vec<(usize, f32)>,
    /// For each note that is an upper single note of a turn, how sure that is.
    pub(super) upper: Vec<Option<f32>>,
    /// For each note, how sure it is that it is not bass, should it be none.
    pub(super) not_bass: Vec<f32>,
    /// The turns of patterns, in order.
    pub(super) turns: Vec<Turn>,
}

/// Finds the bass.
pub(super) fn find_bass(view: &BassView) -> BassFound {
    let lows: Vec<Option<usize>> = view.onsets.iter().map(|o| low_note(view, o)).collect();
    let uppers = upper_notes(view);
    let figure = &uppers.upper;
    let copies = octave_copies(view);
    let centre = centre(view, &lows, figure);
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
    let sure = |i: usize| (list[i].note, sigmoid(list[i].score - runner_up(&list, i)));
    let mut not_bass = vec![SURELY_NOT; view.notes.len()];
    for candidate in &list {
        not_bass[candidate.note] = sigmoid(-candidate.score).min(SURELY_NOT);
    }
    BassFound {
        not_bass,
        bass: path.into_iter().map(sure).collect(),
        upper: uppers.single,
        turns: uppers.turns,
    }
}

/// The best score of another note at the same onset, or of none (0).
fn runner_up(list: &[Candidate], chosen: usize) -> f64 {
    let onset = list[chosen].onset;
    let from = list.partition_point(|c| c.onset < onset);
    list[from..]
        .iter()
        .take_while(|c| c.onset == onset)
        .filter(|c| c.note != list[chosen].note)
        .map(|c| c.score)
        .fold(0.0, f64::max)
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
    let prior = prior + view.tags.of(&view.notes[note]);
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

/// What the groups of the low stream tell of the notes.
struct Uppers {
    /// Whether a note is not the bass of its group.
    upper: Vec<bool>,
    /// For those of single notes, how sure that is.
    single: Vec<Option<f32>>,
    turns: Vec<Turn>,
}

fn upper_notes(view: &BassView) -> Uppers {
    let lows = low_stream(view);
    let quarter = view.meters.quarter();
    let bar = |l: &Low| view.meters.meter(l.at).bar(quarter).0;
    let clock = Clock {
        quarter: u64::from(quarter.get()),
        bars: lows.iter().map(bar).collect(),
    };
    let mut found = Uppers {
        upper: vec![false; view.notes.len()],
        single: vec![None; view.notes.len()],
        turns: Vec::new(),
    };
    let groups = groups(&lows, &clock);
    for (k, group) in groups.iter().enumerate() {
        if leads_in(&lows, &groups, k) {
            found.upper[lows[group.start].note] = true;
        }
        let own = &lows[group.start..group.end];
        for (k, low) in not_bass(own, clock.quarter) {
            found.upper[low.note] = true;
            let single = !answers(own, k);
            found.single[low.note] = single.then(|| sigmoid(group.gain));
        }
        if group.end - group.start > 1 {
            found.turns.push(turn(view, own));
        }
    }
    found
}

/// The notes of a group, with the chords that are struck with its low notes.
fn turn(view: &BassView, lows: &[Low]) -> Turn {
    let mut notes = Vec::new();
    for low in lows {
        let low_pitch = view.notes[low.note].pitch;
        let hand = |i: &usize| {
            let far = view.notes[*i].pitch.distance(low_pitch) > low::HAND;
            *i == low.note || !view.melody[*i] && !far
        };
        let onset = view.onsets.partition_point(|o| o.at < low.at);
        let here = view.onsets.get(onset).map(|o| o.notes.clone());
        notes.extend(here.into_iter().flatten().filter(hand));
    }
    let classes = lows.iter().fold(0, |c, l| c | l.classes);
    Turn {
        low: lows.iter().map(|l| l.note).collect(),
        notes,
        answered: (1..lows.len()).any(|k| answers(lows, k)),
        chordal: is_chordal(classes),
    }
}

/// Whether a chord stands alone before a bass note that chords answer, and high over it: the
/// chord is struck first, its bass after it.
fn leads_in(lows: &[Low], groups: &[Group], k: usize) -> bool {
    let chord = &lows[groups[k].start];
    let near = |g: Option<&Group>| {
        g.is_some_and(|g| {
            let answered = lows[g.start + 1..g.end].iter().any(|l| l.chord);
            answered && chord.pitch - lows[g.start].pitch >= 5
        })
    };
    let alone = groups[k].end - groups[k].start == 1 && chord.chord;
    alone && near(groups.get(k + 1)) && k.checked_sub(1).is_none_or(|b| near(groups.get(b)))
}

/// All of a group but its first note, each with its place in it, and but the same pitch again where
/// a beat begins or a quarter after the last.
fn not_bass(group: &[Low], quarter: u64) -> impl Iterator<Item = (usize, &Low)> {
    let first = group.first().map(|f| (f.pitch, f.at));
    let mut last = first.map(|f| f.1);
    group.iter().enumerate().skip(1).filter(move |(_, low)| {
        let far = last.is_some_and(|l| 16 * low.at.since(l).0 >= 15 * quarter);
        let again = first.is_some_and(|f| f.0 == low.pitch) && (low.place != Place::Off || far);
        if again {
            last = Some(low.at);
        }
        !again
    })
}

/// How many new notes are not melody.
fn others(view: &BassView, onset: usize) -> usize {
    let notes = view.onsets[onset].notes.clone();
    notes.take(64).filter(|i| !view.melody[*i]).count()
}
