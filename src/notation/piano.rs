//! The notes of the piano sketch on two staves.

use crate::sketch::ReadNote;
use std::collections::BTreeMap;

/// A stave of the piano.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum PianoStave {
    /// The upper one.
    Upper,
    /// The lower one.
    Lower,
}

/// Middle C.
const MIDDLE: i32 = 60;
/// What a semitone on the wrong side of middle C costs (ours).
const WRONG_SIDE: i32 = 2;
/// What a semitone costs from the nearest note that the stave had last, up to an octave (ours: less
/// than the wrong side, so that a line crosses middle C a little before it changes staves).
const TORN: i32 = 1;
/// What a semitone costs that one hand spans beyond an octave (ours).
const WIDE: i32 = 3;

/// The stave of each note; the notes come in order of onset, then pitch. Where they are in just two
/// tracks, the higher one is the upper stave. Else they are divided at about middle C, so that lines
/// are not torn where they cross it.
#[must_use]
pub fn split_staves(notes: &[ReadNote]) -> Vec<PianoStave> {
    by_track(notes).unwrap_or_else(|| by_height(notes))
}

fn by_track(notes: &[ReadNote]) -> Option<Vec<PianoStave>> {
    let mut tracks: BTreeMap<usize, (u64, u64)> = BTreeMap::new();
    for note in notes {
        let (sum, count) = tracks.entry(note.track).or_default();
        *sum += u64::from(note.pitch.midi());
        *count += 1;
    }
    let means: Vec<(usize, f64)> = (tracks.into_iter())
        .map(|(track, (sum, count))| (track, sum as f64 / count as f64))
        .collect();
    let [first, second] = means[..] else {
        return None;
    };
    let upper = if second.1 > first.1 {
        second.0
    } else {
        first.0
    };
    let stave = |n: &ReadNote| {
        if n.track == upper {
            PianoStave::Upper
        } else {
            PianoStave::Lower
        }
    };
    Some(notes.iter().map(stave).collect())
}

fn by_height(notes: &[ReadNote]) -> Vec<PianoStave> {
    // What each stave had last: its usual middle until it has something.
    let (mut lower, mut upper) = (vec![MIDDLE - 12], vec![MIDDLE + 12]);
    let mut staves = Vec::with_capacity(notes.len());
    for struck in notes.chunk_by(|a, b| a.onset == b.onset) {
        let pitches: Vec<i32> = struck.iter().map(|n| i32::from(n.pitch.midi())).collect();
        let cost = |cut: usize| {
            let (below, above) = pitches.split_at(cut);
            let low: i32 = below
                .iter()
                .map(|p| side(p - MIDDLE) + torn(*p, &lower))
                .sum();
            let high: i32 = above
                .iter()
                .map(|p| side(MIDDLE - p) + torn(*p, &upper))
                .sum();
            low + high + wide(below) + wide(above)
        };
        let cut = (0..=pitches.len())
            .min_by_key(|cut| cost(*cut))
            .unwrap_or(0);
        let (below, above) = pitches.split_at(cut);
        staves.extend(below.iter().map(|_| PianoStave::Lower));
        staves.extend(above.iter().map(|_| PianoStave::Upper));
        for (last, now) in [(&mut lower, below), (&mut upper, above)] {
            if !now.is_empty() {
                *last = now.to_vec();
            }
        }
    }
    staves
}

fn side(beyond: i32) -> i32 {
    WRONG_SIDE * beyond.max(0)
}

fn torn(pitch: i32, last: &[i32]) -> i32 {
    let nearest = last.iter().map(|l| (l - pitch).abs()).min();
    TORN * nearest.unwrap_or(12).min(12)
}

/// What it costs that one hand plays some notes, lowest first.
fn wide(hand: &[i32]) -> i32 {
    let span = hand
        .last()
        .zip(hand.first())
        .map_or(0, |(high, low)| high - low);
    WIDE * (span - 12).max(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{Sounding, Tick, Ticks};
    use crate::sketch::Line;

    fn note(beat: u64, pitch: u8, track: usize) -> ReadNote {
        ReadNote {
            onset: Tick(480 * beat),
            duration: Ticks(480),
            sounds_until: Tick(480 * (beat + 1)),
            pitch: Sounding::new(pitch).unwrap(),
            velocity: 80,
            track,
            line: Line::Melody,
            confidence: 1.0,
            tag: None,
            index: 0,
            grace: false,
            rolled: false,
            doubles: None,
        }
    }

    #[test]
    fn a_line_that_dips_under_middle_c_stays_together() {
        let mut notes = Vec::new();
        for (beat, tune) in [64, 62, 60, 59, 57, 59, 60].into_iter().enumerate() {
            notes.push(note(beat as u64, 43, 0));
            notes.push(note(beat as u64, tune, 0));
        }
        let staves = split_staves(&notes);
        for (note, stave) in notes.iter().zip(staves) {
            let upper = note.pitch.midi() > 50;
            assert_eq!(stave == PianoStave::Upper, upper, "{}", note.pitch);
        }
    }

    #[test]
    fn two_tracks_are_two_staves() {
        let notes = [
            note(0, 40, 2),
            note(0, 70, 1),
            note(1, 76, 2),
            note(1, 80, 1),
        ];
        use PianoStave::{Lower, Upper};
        assert_eq!(split_staves(&notes), [Lower, Upper, Lower, Upper]);
    }
}
