//! How intense a stretch of the sketch is, where no timeline says what is wanted.

use crate::music::{Tick, TicksPerQuarter};
use crate::sketch::{ReadNote, Reading};

/// The velocity of a hush, and what a step of intensity adds: 30 is a hush and 115 a peak (ours).
pub(super) const HUSH: f64 = 30.0;
/// See [`HUSH`].
pub(super) const STEP: f64 = 8.5;

/// Intensity of a stretch, 0 to 10, from its loudness (mean velocity; 70 % of the weight) and its
/// thickness (mean number of sounding notes; 30 %). The weights are ours: no source.
#[must_use]
pub fn intensity(reading: &Reading, start: Tick, end: Tick, quarter: TicksPerQuarter) -> f64 {
    let from = reading.notes.partition_point(|n| n.onset < start);
    let to = reading.notes.partition_point(|n| n.onset < end).max(from);
    let notes = &reading.notes[from..to];
    if notes.is_empty() {
        return 0.0;
    }
    let loudness = notes.iter().map(|n| f64::from(n.velocity)).sum::<f64>() / notes.len() as f64;
    let loud = (loudness - HUSH) / STEP;
    let thick = (mean_sounding(notes, start, end, quarter) - 1.0) * 1.6;
    (0.7 * loud.clamp(0.0, 10.0) + 0.3 * thick.clamp(0.0, 10.0)).clamp(0.0, 10.0)
}

fn mean_sounding(notes: &[ReadNote], start: Tick, end: Tick, quarter: TicksPerQuarter) -> f64 {
    let held: f64 = notes
        .iter()
        .map(|n| quarter.beats(n.end().min(end).since(n.onset)).0)
        .sum();
    held / quarter.beats(end.since(start)).0.max(1e-9)
}
