//! Broken chords: low notes of a running pattern, with the few among them that are its bass.

use super::bass::BassView;
use super::reading::ReadNote;
use crate::music::Tick;
use std::collections::BTreeSet;

/// The fewest notes of a pattern; three will do if nothing sounds with them but the melody.
const FEWEST: usize = 4;
/// The fewest under full chords.
const FULL_FEWEST: usize = 6;
/// The least distance from a pattern's lowest to its highest note.
const SPAN: u8 = 5;
/// The same for patterns no faster than quarters, which a walking bass does not reach.
const SLOW_SPAN: u8 = 14;
/// The same under a pedal.
const SLOW_PEDAL_SPAN: u8 = 12;

/// A low note: its onset and its own index.
pub(super) type Low = (usize, usize);

/// Which notes belong to a broken chord without being its bass. `chords` are low notes of
/// chords known to answer a bass note. Limits are ours, chosen by trial.
pub(super) fn broken_chords(view: &BassView, chords: &[bool]) -> Vec<bool> {
    let mut broken = vec![false; view.notes.len()];
    let lows = lowest_new(view);
    let bar_of = |low: &Low| view.meters.bar(view.notes[low.1].onset);
    for bar in lows.chunk_by(|a, b| bar_of(a) == bar_of(b)) {
        let answers = bar.iter().filter(|l| chords[l.1]).count();
        if 5 * answers >= 2 * bar.len() {
            continue;
        }
        for pattern in patterns(view, bar) {
            mark(view, pattern, &mut broken);
        }
    }
    broken
}

/// At each onset the lowest new note but melody, unless the one before is held well beyond it.
fn lowest_new(view: &BassView) -> Vec<Low> {
    let join = u64::from(view.meters.quarter().get()) / 4;
    let mut lows: Vec<Low> = Vec::new();
    for (o, onset) in view.onsets.iter().enumerate() {
        let Some(note) = onset.notes.clone().find(|i| !view.melody[*i]) else {
            continue;
        };
        let let_go = lows
            .last()
            .is_none_or(|l| view.notes[l.1].end().since(onset.at).0 <= join);
        if view.notes[note].pitch.midi() == onset.bottom || let_go {
            lows.push((o, note));
        }
    }
    lows
}

/// The stretches of a bar that are broken chords.
fn patterns<'a>(view: &BassView, bar: &'a [Low]) -> Vec<&'a [Low]> {
    let quarter = u64::from(view.meters.quarter().get());
    let apart = |a: &Low, b: &Low| view.notes[b.1].onset.since(view.notes[a.1].onset).0;
    let mut found = Vec::new();
    let mut start = 0;
    for run in bar.chunk_by(|a, b| 8 * apart(a, b) <= 7 * quarter) {
        let end = start + run.len();
        if is_pattern(view, run) {
            found.push(&bar[with_root(view, bar, start)..end]);
        }
        start = end;
    }
    if found.is_empty() && is_slow_pattern(view, bar) {
        found.push(bar);
    }
    found
}

/// Where a pattern begins if a deeper note just before carries it.
fn with_root(view: &BassView, bar: &[Low], start: usize) -> usize {
    let Some(before) = start.checked_sub(1) else {
        return start;
    };
    let (root, first) = (&view.notes[bar[before].1], &view.notes[bar[start].1]);
    let near = first.onset.since(root.onset).0 <= 2 * u64::from(view.meters.quarter().get());
    let leap = i32::from(first.pitch.midi()) - i32::from(root.pitch.midi());
    if near && leap >= i32::from(SPAN) {
        before
    } else {
        start
    }
}

/// Whether a run leaps about like a broken chord. Under full chords it must also go round, for
/// the bass of a chorale leaps in eighths too.
fn is_pattern(view: &BassView, run: &[Low]) -> bool {
    let thin = run.iter().filter(|l| view.onsets[l.0].held <= 3).count();
    let pitches: BTreeSet<u8> = run.iter().map(|l| view.notes[l.1].pitch.midi()).collect();
    let (fewest, least) = if thin == run.len() {
        (FEWEST - 1, 0.6)
    } else if 4 * thin >= 3 * run.len() {
        (FEWEST, 0.6)
    } else {
        (FULL_FEWEST.max(pitches.len() * 3 / 2), 0.8)
    };
    run.len() >= fewest && span(view, run) >= SPAN && leaps(view, run) >= least
}

fn is_slow_pattern(view: &BassView, bar: &[Low]) -> bool {
    let Some(first) = bar.first().map(|l| &view.notes[l.1]) else {
        return false;
    };
    let pedalled = bar
        .iter()
        .all(|l| first.sounds_until > view.notes[l.1].onset);
    let least = if pedalled { SLOW_PEDAL_SPAN } else { SLOW_SPAN };
    let lowest = bar.iter().all(|l| view.notes[l.1].pitch >= first.pitch);
    let alone = bar.iter().skip(1).all(|l| others(view, l.0) == 1);
    bar.len() >= 3 && lowest && alone && span(view, bar) >= least && leaps(view, bar) >= 0.8
}

/// How many new notes are not melody.
pub(super) fn others(view: &BassView, onset: usize) -> usize {
    let notes = view.onsets[onset].notes.clone();
    notes.take(64).filter(|i| !view.melody[*i]).count()
}

fn span(view: &BassView, run: &[Low]) -> u8 {
    let pitches = || run.iter().map(|l| view.notes[l.1].pitch.midi());
    let (low, high) = (pitches().min(), pitches().max());
    low.zip(high).map_or(0, |(low, high)| high - low)
}

/// The share of moves that are leaps.
fn leaps(view: &BassView, run: &[Low]) -> f64 {
    let leap = |pair: &&[Low]| {
        view.notes[pair[0].1]
            .pitch
            .distance(view.notes[pair[1].1].pitch)
            > 2
    };
    let count = run.windows(2).filter(leap).count();
    count as f64 / (run.len().max(2) - 1) as f64
}

/// Marks all of a pattern but its bass; where the chord changes a new bass begins.
fn mark(view: &BassView, pattern: &[Low], broken: &mut [bool]) {
    let mut start = 0;
    for k in 1..pattern.len() {
        if begins_chord(view, &pattern[start..k], &pattern[k..]) {
            mark_part(view, &pattern[start..k], broken);
            start = k;
        }
    }
    mark_part(view, &pattern[start..], broken);
}

/// Whether a new bass begins where the half bar, or a beat full of notes, begins.
fn begins_chord(view: &BassView, before: &[Low], after: &[Low]) -> bool {
    let Some(first) = after.first().map(|l| &view.notes[l.1]) else {
        return false;
    };
    let meter = view.meters.meter(first.onset);
    let (bar, beat) = (
        meter.bar(view.meters.quarter()).0,
        meter.beat(view.meters.quarter()).0,
    );
    let place = place(view, first.onset);
    let length = if 2 * place == bar { bar / 2 } else { beat };
    if length == 0 || !place.is_multiple_of(length) {
        return false;
    }
    let until = Tick(first.onset.0 + length);
    let part: Vec<&ReadNote> = after
        .iter()
        .map(|l| &view.notes[l.1])
        .take_while(|n| n.onset < until)
        .collect();
    let lowest = part.iter().skip(1).all(|n| n.pitch > first.pitch);
    part.len() >= 3 && lowest && is_changed(view, before, first)
}

/// Whether a note is of a new pitch class, or the pedal let the old bass go just there.
fn is_changed(view: &BassView, before: &[Low], note: &ReadNote) -> bool {
    let old = || before.iter().map(|l| &view.notes[l.1]);
    let classes: BTreeSet<u8> = old().map(|n| n.pitch.midi() % 12).collect();
    let released = old()
        .min_by_key(|n| n.pitch)
        .is_some_and(|n| n.sounds_until > n.end() && n.sounds_until <= note.onset);
    released || !classes.contains(&(note.pitch.midi() % 12))
}

fn place(view: &BassView, at: Tick) -> u64 {
    at.since(view.meters.bar_start(view.meters.bar(at))).0
}

fn mark_part(view: &BassView, part: &[Low], broken: &mut [bool]) {
    let pitch = |low: &Low| view.notes[low.1].pitch;
    let Some(lowest) = part.iter().map(pitch).min() else {
        return;
    };
    let on_beat = |low: &Low| {
        let at = view.notes[low.1].onset;
        let beat = view.meters.meter(at).beat(view.meters.quarter()).0;
        place(view, at).is_multiple_of(beat.max(1))
    };
    let deep = || part.iter().filter(|l| pitch(l) == lowest);
    let some_on_beat = deep().any(on_beat);
    let first = deep().next().copied();
    for low in part {
        let kept = if some_on_beat {
            on_beat(low)
        } else {
            first == Some(*low)
        };
        broken[low.1] |= !(kept && pitch(low) == lowest);
    }
}
