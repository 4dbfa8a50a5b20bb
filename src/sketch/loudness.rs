//! How loud the music is around each moment, to tell what stands out there.

use super::onsets::Onset;
use super::reading::ReadNote;
use crate::music::TicksPerQuarter;

/// How many quarters around an onset count, on either side.
const AROUND: u64 = 8;

/// For each onset the velocity that 70 % of the notes near it do not exceed: a soft opening is
/// not held against a loud ending.
pub(super) fn loudness_marks(
    notes: &[ReadNote],
    onsets: &[Onset],
    quarter: TicksPerQuarter,
) -> Vec<f64> {
    let around = AROUND * u64::from(quarter.get());
    let mut counts = [0_u32; 128];
    let (mut lo, mut hi) = (0, 0);
    let mut marks = Vec::with_capacity(onsets.len());
    for onset in onsets {
        while let Some(n) = notes.get(hi).filter(|n| n.onset.0 <= onset.at.0 + around) {
            counts[usize::from(n.velocity.min(127))] += 1;
            hi += 1;
        }
        while let Some(n) = notes.get(lo).filter(|n| n.onset.0 + around < onset.at.0) {
            counts[usize::from(n.velocity.min(127))] -= 1;
            lo += 1;
        }
        marks.push(counted_mark(&counts));
    }
    marks
}

fn counted_mark(counts: &[u32; 128]) -> f64 {
    let total: u32 = counts.iter().sum();
    let mut sum = 0;
    let at = counts.iter().position(|c| {
        sum += c;
        10 * u64::from(sum) > 7 * u64::from(total)
    });
    at.map_or(64.0, |v| v as f64)
}
