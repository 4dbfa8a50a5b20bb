//! The sketch as loud as the timeline wants it. All that follows reads how loud a note is from its velocity: chances,
//! loads, presence, the draft itself. So a timeline speaks first, to the notes of the sketch.

use super::intensity::{HUSH, STEP};
use super::timeline::Laid;
use crate::music::MeterMap;
use crate::sketch::{ReadNote, Reading};

/// A note that stands out of its bar in the sketch does so still, but by three quarters of a step of dynamics at the
/// most (ours): beyond that it is the show's shape that speaks, not an accent.
const MOST_OFF: f64 = 12.0;

/// The velocity that a wanted intensity asks for, as [`intensity`](super::intensity::intensity()) reads it from a
/// sketch: 30 is a hush and 115 a peak.
#[must_use]
pub fn velocity_of(intensity: f64) -> f64 {
    HUSH + STEP * intensity.clamp(0.0, 10.0)
}

/// A sketch whose notes are as loud as a timeline wants them where they stand; what one plays louder or softer than
/// the rest of its bar stays so. Without points nothing changes.
#[must_use]
pub fn shaped(mut reading: Reading, timeline: &Laid, meters: &MeterMap) -> Reading {
    for bar in reading
        .notes
        .chunk_by_mut(|a, b| meters.bar(a.onset) == meters.bar(b.onset))
    {
        let sum: f64 = bar.iter().map(|n| f64::from(n.velocity)).sum();
        let mean = sum / bar.len() as f64;
        for note in bar {
            if let Some(wanted) = timeline.at(note.onset) {
                note.velocity = loud(note, mean, wanted);
            }
        }
    }
    reading
}

fn loud(note: &ReadNote, mean: f64, wanted: f64) -> u8 {
    let off = (f64::from(note.velocity) - mean).clamp(-MOST_OFF, MOST_OFF);
    (velocity_of(wanted) + off).round().clamp(1.0, 127.0) as u8
}
