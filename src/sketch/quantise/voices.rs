//! Which note follows which: a simple separation into voices, for the lengths of notes.

use super::strikes::Strike;
use std::collections::BTreeMap;

/// Most voices of a track and channel.
const MOST: usize = 12;
/// How far ends may overlap the next note of a voice, as a share of the note and in seconds.
const OVERLAP: (f64, f64) = (0.1, 0.03);
/// What a second of rest costs against a semitone.
const REST: f64 = 1.5;
/// Widest step of a voice that counts as its going on, in semitones.
const WIDEST: f64 = 19.0;

/// For each strike the index of the next of its voice. `onsets` are the written onsets, rising
/// with the strikes; notes of one onset never follow one another.
pub(super) fn followers(strikes: &[Strike], onsets: &[u64]) -> Vec<Option<usize>> {
    let mut next = vec![None; strikes.len()];
    let mut voices: BTreeMap<(usize, u8), Vec<usize>> = BTreeMap::new();
    let mut start = 0;
    while start < strikes.len() {
        let count = onsets[start..]
            .iter()
            .take_while(|o| **o == onsets[start])
            .count();
        let mut groups: BTreeMap<(usize, u8), Vec<usize>> = BTreeMap::new();
        for (i, strike) in strikes.iter().enumerate().skip(start).take(count) {
            groups
                .entry((strike.track, strike.channel))
                .or_default()
                .push(i);
        }
        for (key, group) in groups {
            lead_on(strikes, voices.entry(key).or_default(), &group, &mut next);
        }
        start += count;
    }
    next
}

/// Gives each note of an attack the nearest voice that is free, the nearest pairs first.
fn lead_on(
    strikes: &[Strike],
    voices: &mut Vec<usize>,
    group: &[usize],
    next: &mut [Option<usize>],
) {
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for (v, last) in voices.iter().enumerate() {
        for note in group {
            let (a, b) = (&strikes[*last], &strikes[*note]);
            let overlap = OVERLAP.0 * a.held() + OVERLAP.1;
            let step = f64::from(a.pitch.abs_diff(b.pitch));
            if a.up - overlap <= b.down && step <= WIDEST {
                pairs.push((step + REST * (b.down - a.up).max(0.0), v, *note));
            }
        }
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut taken = vec![false; voices.len()];
    let mut placed: Vec<usize> = Vec::with_capacity(group.len());
    for (_, v, note) in pairs {
        if !taken[v] && !placed.contains(&note) {
            taken[v] = true;
            placed.push(note);
            next[voices[v]] = Some(note);
            voices[v] = note;
        }
    }
    for note in group.iter().filter(|n| !placed.contains(n)) {
        voices.push(*note);
    }
    if voices.len() > MOST {
        voices.sort_by_key(|v| strikes[*v].end);
        voices.drain(..voices.len() - MOST);
    }
}
