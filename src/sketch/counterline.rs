//! The second tune: a line of its own rhythm under or over the melody, mostly by step.
//!
//! Precision comes first: inner voices of a hymn move with the melody, and figures leap; neither is
//! a second tune.

use super::onsets::Onset;
use super::reading::{Line, ReadNote};

/// A second tune has at least so many notes.
const LEAST_NOTES: usize = 6;
/// The greatest leap inside it, in semitones.
const MOST_LEAP: u8 = 5;
/// So many of the last notes may be led on from: no more voices are told apart.
const VOICES: usize = 8;
/// So many notes that begin together are looked at: more than two hands play, and a bound on the
/// time of files that pile notes up.
const STRUCK: usize = 24;
/// Least share of notes that are not struck with the melody,
const OWN: f64 = 0.55;
/// of moves that are steps,
const STEPS: f64 = 0.65;
/// and of notes that are not struck in the middle of a chord.
const CLEAR: f64 = 0.7;

/// A note of what is neither melody, bass nor figure, with what is struck beside it.
#[derive(Clone, Copy)]
struct Voice {
    note: usize,
    with_tune: bool,
    in_chord: bool,
}

/// Calls the notes of second tunes among the harmony counterline. Time grows with the notes.
pub(super) fn mark_counterline(notes: &mut [ReadNote], onsets: &[Onset], quarter: u64) {
    let mut chains: Vec<Vec<Voice>> = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    for onset in onsets {
        let here: Vec<usize> = onset
            .notes
            .clone()
            .filter(|i| notes[*i].line == Line::Harmony)
            .take(STRUCK)
            .collect();
        let with_tune = onset.notes.clone().any(|i| notes[i].line == Line::Melody);
        let alike = |i: usize| {
            let length = notes[i].duration;
            here.iter()
                .filter(|j| notes[**j].duration == length)
                .count()
        };
        open.retain(|c| {
            let last = chains[*c].last();
            last.is_some_and(|v| onset.at.since(notes[v.note].end()).0 <= quarter)
        });
        let mut next = Vec::new();
        for i in &here {
            let voice = Voice {
                note: *i,
                with_tune,
                in_chord: alike(*i) >= 2,
            };
            if is_copy(notes, onset, *i) {
                continue;
            }
            let from = open
                .iter()
                .copied()
                .filter(|c| !next.contains(c))
                .filter_map(|c| Some((leap(notes, chains[c].last()?.note, *i, quarter)?, c)))
                .min();
            let chain = from.map_or_else(
                || {
                    chains.push(Vec::new());
                    chains.len() - 1
                },
                |f| f.1,
            );
            chains[chain].push(voice);
            next.push(chain);
        }
        open.retain(|c| !next.contains(c));
        open.extend(next);
        let extra = open.len().saturating_sub(VOICES);
        open.drain(..extra);
    }
    for chain in &chains {
        if let Some(sure) = is_tune(notes, chain) {
            for voice in chain {
                notes[voice.note].line = Line::Counterline;
                notes[voice.note].confidence = sure;
            }
        }
    }
}

/// Whether a note only doubles melody or bass at the octave.
fn is_copy(notes: &[ReadNote], onset: &Onset, i: usize) -> bool {
    onset.notes.clone().any(|j| {
        matches!(notes[j].line, Line::Melody | Line::Bass)
            && notes[j].pitch.distance(notes[i].pitch).is_multiple_of(12)
            && notes[j].pitch != notes[i].pitch
    })
}

/// The leap from one note to another that it may lead to; `None` where it may not.
fn leap(notes: &[ReadNote], from: usize, to: usize, quarter: u64) -> Option<u8> {
    let (a, b) = (&notes[from], &notes[to]);
    let leap = a.pitch.distance(b.pitch);
    let gap = b.onset.since(a.end()).0;
    let overlap = a.end().since(b.onset).0;
    let leads = leap <= MOST_LEAP && gap <= quarter && 8 * overlap <= quarter && a.track == b.track;
    leads.then_some(leap)
}

/// How sure a chain of notes is a second tune; `None` if it is none.
fn is_tune(notes: &[ReadNote], chain: &[Voice]) -> Option<f32> {
    if chain.len() < LEAST_NOTES {
        return None;
    }
    let share = |count: usize, all: usize| count as f64 / all.max(1) as f64;
    let own = share(chain.iter().filter(|v| !v.with_tune).count(), chain.len());
    let clear = share(chain.iter().filter(|v| !v.in_chord).count(), chain.len());
    let leap = |p: &[Voice]| notes[p[0].note].pitch.distance(notes[p[1].note].pitch);
    let step = |p: &&[Voice]| (1..=2).contains(&leap(p));
    let steps = share(chain.windows(2).filter(step).count(), chain.len() - 1);
    if own < OWN || clear < CLEAR || steps < STEPS {
        return None;
    }
    // How far it is over what is asked for, and how long: 0.5 for one that is just let through.
    let over = (own - OWN) / (1.0 - OWN) + (steps - STEPS) / (1.0 - STEPS);
    let length = (chain.len() - LEAST_NOTES) as f64 / 12.0;
    Some((1.0 / (1.0 + (-(over + length.min(1.0))).exp())) as f32)
}
