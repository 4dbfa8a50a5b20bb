//! Doublings of the melody: an octave, thirds or sixths that go along with it.

use crate::music::TicksPerQuarter;
use crate::sketch::reading::{Line, ReadNote};

/// How many notes in a row must be doubled alike before it is more than chance.
const FEWEST: usize = 3;
/// Doublings in semitones, below (negative) or above: octaves, thirds with tenths, sixths.
const KINDS: [&[i32]; 6] = [
    &[-12],
    &[12],
    &[-24],
    &[-3, -4, -15, -16],
    &[-8, -9],
    &[3, 4],
];

/// Marks the notes that double the melody with the index of the melody note. Their line stays.
pub(in crate::sketch) fn mark_doubles(notes: &mut [ReadNote], quarter: TicksPerQuarter) {
    let together = u64::from(quarter.get()) / 16;
    let melody: Vec<usize> = (0..notes.len())
        .filter(|i| notes[*i].line == Line::Melody)
        .collect();
    for kind in KINDS {
        let found: Vec<Option<usize>> = melody
            .iter()
            .map(|m| partner(notes, *m, kind, together))
            .collect();
        let mut start = 0;
        for run in found.chunk_by(|a, b| a.is_some() && b.is_some()) {
            if run.len() >= FEWEST {
                for (m, copy) in melody[start..].iter().zip(run) {
                    if let Some(copy) = copy {
                        notes[*copy].doubles = notes[*copy].doubles.or(Some(*m));
                    }
                }
            }
            start += run.len();
        }
    }
}

/// The note struck with a melody note at one of these distances and held about as long.
fn partner(notes: &[ReadNote], melody: usize, kind: &[i32], together: u64) -> Option<usize> {
    let tune = &notes[melody];
    let from = notes.partition_point(|n| n.onset.0 + together < tune.onset.0);
    let near = notes[from..].iter().take(64);
    near.take_while(|n| n.onset.0 <= tune.onset.0 + together)
        .position(|n| {
            let away = i32::from(n.pitch.midi()) - i32::from(tune.pitch.midi());
            let unlike = n.end().0.abs_diff(tune.end().0);
            n.line != Line::Melody
                && kind.contains(&away)
                && 2 * unlike <= tune.duration.0.max(together)
        })
        .map(|at| from + at)
}
