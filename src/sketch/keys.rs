//! Keys of a sketch: the file's own where it has them, else found by ear.

use super::reading::{KeySpan, ReadNote};
use super::song::{KeyChange, Song, Warning};
use crate::music::key::{KRUMHANSL_KESSLER, find_key, key_fit};
use crate::music::{Key, KeySignature, Mode, Tick};
use std::collections::BTreeMap;

/// Bars that a key is judged by.
const WINDOW: u32 = 4;
/// What a change of key costs, in correlation. Chosen by trial.
const CHANGE: f64 = 0.6;
/// By how much the relative minor must fit better to be believed against the file's mode.
const MODE_LEAD: f64 = 0.05;
/// By how much another key must fit better than the single C major that some programs write
/// into every file.
const DEFAULT_LEAD: f64 = 0.35;

/// The keys in order, the first from tick 0; empty if there are no notes.
pub(super) fn find_keys(
    song: &Song,
    notes: &[ReadNote],
    warnings: &mut Vec<Warning>,
) -> Vec<KeySpan> {
    if notes.is_empty() {
        return Vec::new();
    }
    if let [only] = song.keys.as_slice()
        && only.signature == KeySignature::C_MAJOR
        && is_default(song, notes)
    {
        warnings.push(Warning::music(
            "the file says C major, the notes say otherwise; the key is found by ear",
        ));
        return found(song, notes);
    }
    if song.keys.is_empty() {
        found(song, notes)
    } else {
        given(song, notes)
    }
}

fn durations<'a>(song: &Song, notes: impl Iterator<Item = &'a ReadNote>) -> [f64; 12] {
    let mut sums = [0.0; 12];
    for note in notes {
        let beats = song.quarter.beats(note.duration).0;
        sums[usize::from(note.pitch.class().number())] += beats.min(8.0);
    }
    sums
}

fn is_default(song: &Song, notes: &[ReadNote]) -> bool {
    let sums = durations(song, notes.iter());
    let minor = KeySignature::new(0, Mode::Minor).map(KeySignature::key);
    let own = [Some(KeySignature::C_MAJOR.key()), minor]
        .into_iter()
        .flatten()
        .map(|k| key_fit(&sums, k, &KRUMHANSL_KESSLER))
        .fold(-1.0, f64::max);
    find_key(&sums, &KRUMHANSL_KESSLER).is_some_and(|g| g.fit > own + DEFAULT_LEAD)
}

fn given(song: &Song, notes: &[ReadNote]) -> Vec<KeySpan> {
    let mut changes: Vec<KeyChange> = Vec::new();
    for change in &song.keys {
        match changes.last_mut() {
            Some(last) if last.at == change.at => *last = *change,
            Some(last) if last.signature == change.signature => {}
            _ => changes.push(*change),
        }
    }
    let mut spans = Vec::with_capacity(changes.len());
    for (i, change) in changes.iter().enumerate() {
        let from = notes.partition_point(|n| n.onset < change.at);
        let to = changes.get(i + 1).map_or(notes.len(), |next| {
            notes.partition_point(|n| n.onset < next.at)
        });
        let sums = durations(song, notes[from.min(to)..to].iter());
        let signature = checked_mode(change.signature, &sums);
        spans.push(KeySpan {
            start: if i == 0 { Tick::ZERO } else { change.at },
            key: signature.key(),
            signature,
            given: true,
        });
    }
    spans
}

/// Many programs write every signature as major: the relative minor is taken where it fits
/// clearly better.
fn checked_mode(given: KeySignature, sums: &[f64; 12]) -> KeySignature {
    let Some(minor) = KeySignature::new(given.fifths(), Mode::Minor) else {
        return given;
    };
    let fit = |s: KeySignature| key_fit(sums, s.key(), &KRUMHANSL_KESSLER);
    if fit(minor) > fit(given) + MODE_LEAD {
        minor
    } else {
        given
    }
}

/// The best-scored way through windows of bars, with a cost for every change.
fn found(song: &Song, notes: &[ReadNote]) -> Vec<KeySpan> {
    let mut windows: BTreeMap<u32, [f64; 12]> = BTreeMap::new();
    for note in notes {
        let window = song.meters.bar(note.onset).0.saturating_sub(1) / WINDOW;
        let sums = windows.entry(window).or_insert([0.0; 12]);
        let beats = song.quarter.beats(note.duration).0.min(8.0);
        sums[usize::from(note.pitch.class().number())] += beats;
    }
    let keys: Vec<Key> = Key::all().collect();
    let path = key_path(&windows, &keys);
    let mut spans: Vec<KeySpan> = Vec::new();
    for (window, index) in windows.keys().zip(path) {
        let key = keys[index];
        if spans.last().is_some_and(|s| s.key == key) {
            continue;
        }
        let bar = crate::music::BarNumber(window.saturating_mul(WINDOW).saturating_add(1));
        spans.push(KeySpan {
            start: if spans.is_empty() {
                Tick::ZERO
            } else {
                song.meters.bar_start(bar)
            },
            key,
            signature: key.signature(),
            given: false,
        });
    }
    spans
}

fn key_path(windows: &BTreeMap<u32, [f64; 12]>, keys: &[Key]) -> Vec<usize> {
    let mut score = vec![0.0; keys.len()];
    let mut from: Vec<Vec<usize>> = Vec::with_capacity(windows.len());
    for sums in windows.values() {
        let best = argmax(&score);
        let mut back = Vec::with_capacity(keys.len());
        let mut next = Vec::with_capacity(keys.len());
        for (k, key) in keys.iter().enumerate() {
            let stay = score[k] >= score[best] - CHANGE;
            let before = if stay { score[k] } else { score[best] - CHANGE };
            back.push(if stay { k } else { best });
            next.push(before + key_fit(sums, *key, &KRUMHANSL_KESSLER));
        }
        score = next;
        from.push(back);
    }
    let mut at = argmax(&score);
    let mut path = Vec::with_capacity(from.len());
    for back in from.iter().rev() {
        path.push(at);
        at = back[at];
    }
    path.reverse();
    path
}

fn argmax(values: &[f64]) -> usize {
    let better = |best: usize, i: usize| if values[i] > values[best] { i } else { best };
    (0..values.len()).fold(0, better)
}
