//! Keys of a sketch: a shortest path over bars, with a cost for every change. The file's own
//! signatures weigh much where they agree with the notes.

use super::key_evidence::{Frame, STATES, Scores, frames, key_of};
use super::reading::{KeySpan, ReadNote};
use super::song::{KeyChange, Song, Warning};
use crate::music::{KeySignature, Mode, Tick};

/// What a change of key costs, in natural logarithms. Chosen by trial.
const CHANGE: f64 = 8.0;
/// What a bar of four quarters gains by keeping to the file's signature.
const GIVEN: f64 = 1.2;
/// What it gains more if the file's own mode is kept: programs often write every signature as
/// major, few write a minor one by chance.
const GIVEN_MAJOR: f64 = 0.1;
const GIVEN_MINOR: f64 = 0.8;
/// By how much a quarter another key must fit better, on the whole, for the file's signature not
/// to be believed, and the same for the single C major that some programs write into every file.
const DISBELIEVED: f64 = 0.45;
const DEFAULT_DISBELIEVED: f64 = 0.12;

/// The keys in order, the first from tick 0; empty if there are no notes.
pub(super) fn find_keys(
    song: &Song,
    notes: &[ReadNote],
    warnings: &mut Vec<Warning>,
) -> Vec<KeySpan> {
    let mut frames = frames(song, notes);
    let changes = changes(song);
    let mut believed: Vec<Option<KeySignature>> = vec![None; frames.len()];
    for (i, change) in changes.iter().enumerate() {
        let place = |at: Tick| frames.partition_point(|f| f.start < at);
        let from = if i == 0 { 0 } else { place(change.at) };
        let to = changes.get(i + 1).map_or(frames.len(), |n| place(n.at));
        let Some(region) = frames.get_mut(from..to).filter(|r| !r.is_empty()) else {
            continue;
        };
        let alone = changes.len() == 1 && change.signature == KeySignature::C_MAJOR;
        if is_believed(region, change.signature, alone) {
            favour(region, change.signature);
            believed[from..to].fill(Some(change.signature));
        } else {
            warnings.push(Warning::music(format!(
                "the file says {}, the notes say otherwise; the key is found by ear",
                change.signature
            )));
        }
    }
    spans(&frames, &believed, &path(&frames))
}

/// The file's signatures, the last of each tick and without repeats.
fn changes(song: &Song) -> Vec<KeyChange> {
    let mut changes: Vec<KeyChange> = Vec::new();
    for change in &song.keys {
        match changes.last_mut() {
            Some(last) if last.at == change.at => *last = *change,
            Some(last) if last.signature == change.signature => {}
            _ => changes.push(*change),
        }
    }
    changes
}

/// Whether a state's key has a signature.
fn keeps(state: usize, signature: KeySignature) -> bool {
    let same = |mode| {
        let own = KeySignature::new(signature.fifths(), mode);
        own.is_some_and(|s| s.key() == key_of(state))
    };
    same(Mode::Major) || same(Mode::Minor)
}

fn is_believed(region: &[Frame], signature: KeySignature, alone: bool) -> bool {
    let mut sums: Scores = [0.0; STATES];
    for frame in region {
        (0..STATES).for_each(|s| sums[s] += frame.scores[s]);
    }
    let best = sums.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let own = (0..STATES).filter(|s| keeps(*s, signature));
    let own = own.map(|s| sums[s]).fold(f64::NEG_INFINITY, f64::max);
    let quarters: f64 = region.iter().map(|f| f.quarters).sum();
    let most = if alone {
        DEFAULT_DISBELIEVED
    } else {
        DISBELIEVED
    };
    best - own <= most * quarters.max(1.0)
}

fn favour(region: &mut [Frame], signature: KeySignature) {
    let mode = match signature.mode() {
        Mode::Major => GIVEN_MAJOR,
        Mode::Minor => GIVEN_MINOR,
    };
    for frame in region {
        let weight = frame.quarters / 4.0;
        for state in (0..STATES).filter(|s| keeps(*s, signature)) {
            let own = key_of(state) == signature.key();
            frame.scores[state] += weight * (GIVEN + if own { mode } else { 0.0 });
        }
    }
}

/// The best state of every bar.
fn path(frames: &[Frame]) -> Vec<usize> {
    let mut score = [0.0; STATES];
    let mut from: Vec<[u8; STATES]> = Vec::with_capacity(frames.len());
    for frame in frames {
        let best = argmax(&score);
        let jump = score[best] - CHANGE;
        let mut back = [0; STATES];
        for state in 0..STATES {
            let stay = score[state] >= jump;
            back[state] = if stay { state } else { best } as u8;
            score[state] = score[state].max(jump) + frame.scores[state];
        }
        from.push(back);
    }
    let mut at = argmax(&score);
    let mut path = Vec::with_capacity(from.len());
    for back in from.iter().rev() {
        path.push(at);
        at = usize::from(back[at]);
    }
    path.reverse();
    path
}

fn argmax(values: &Scores) -> usize {
    let better = |best: usize, i: usize| if values[i] > values[best] { i } else { best };
    (0..STATES).fold(0, better)
}

fn spans(frames: &[Frame], believed: &[Option<KeySignature>], path: &[usize]) -> Vec<KeySpan> {
    let mut spans: Vec<KeySpan> = Vec::new();
    for ((frame, believed), state) in frames.iter().zip(believed).zip(path) {
        let key = key_of(*state);
        let own = believed.filter(|s| keeps(*state, *s));
        let signature = own.and_then(|s| KeySignature::new(s.fifths(), key.mode));
        let start = if spans.is_empty() {
            Tick::ZERO
        } else {
            frame.start
        };
        let span = KeySpan {
            start,
            key,
            signature: signature.unwrap_or_else(|| key.signature()),
            given: signature.is_some(),
        };
        let same = |l: &KeySpan| l.signature == span.signature && l.given == span.given;
        if !spans.last().is_some_and(same) {
            spans.push(span);
        }
    }
    spans
}
