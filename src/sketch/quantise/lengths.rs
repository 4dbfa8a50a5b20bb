//! Written lengths: how long a note is, from how long its key was held.

use super::divisions::{DIVISIONS, Family};
use super::fit::Spot;

/// A note whose length is to be written.
#[derive(Clone, Copy, Debug)]
pub(super) struct Held {
    /// How long it was held, in written ticks; with the pedal where that holds it.
    pub(super) played: f64,
    /// To the next note of its voice, in written ticks.
    pub(super) to_next: Option<u64>,
    /// To the next note of any voice of its track, in written ticks.
    pub(super) to_any: Option<u64>,
    /// Ticks of a quarter note.
    pub(super) quarter: u64,
}

/// Values in quarter notes: numerator and denominator.
const VALUES: [(u64, u64); 20] = [
    (1, 8),
    (1, 6),
    (1, 4),
    (1, 3),
    (3, 8),
    (1, 2),
    (2, 3),
    (3, 4),
    (1, 1),
    (4, 3),
    (3, 2),
    (2, 1),
    (5, 2),
    (3, 1),
    (7, 2),
    (4, 1),
    (5, 1),
    (6, 1),
    (7, 1),
    (8, 1),
];

/// How much of its value a key is usually held, from and to; outside that a length becomes
/// unlikely. Common practice, no source.
const GATE: (f64, f64) = (0.6, 1.06);
/// How fast it becomes so below and above.
const FALL: (f64, f64) = (0.06, 0.07);
/// What it costs that a rest follows. Chosen by trial.
const REST: f64 = 1.5;
/// The same where another voice of the track begins at the end.
const HANDED_ON: f64 = 0.7;

/// The written length, at least one tick.
pub(super) fn length(spot: &Spot, held: Held) -> u64 {
    let mut best = held
        .to_next
        .map(|n| (gate(held.played / n.max(1) as f64), n));
    for (part, of) in VALUES {
        let value = (part * held.quarter + of / 2) / of;
        if value > 0 && held.to_next.is_none_or(|n| value < n) {
            let rest = if held.to_any == Some(value) {
                HANDED_ON
            } else {
                REST
            };
            offer(
                &mut best,
                rest + gate(held.played / value as f64) + ending(spot, value),
                value,
            );
        }
    }
    let longest = 8 * held.quarter;
    if held.played > longest as f64 && held.to_next.is_none_or(|n| n > longest) {
        let beats = (held.played / 0.95 / spot.cell.full as f64)
            .round()
            .max(1.0) as u64;
        let value = (beats * spot.cell.full).min(held.to_next.unwrap_or(u64::MAX));
        offer(&mut best, REST + gate(held.played / value as f64), value);
    }
    best.map_or(held.quarter, |b| b.1).max(1)
}

fn offer(best: &mut Option<(f64, u64)>, cost: f64, value: u64) {
    if best.is_none_or(|(c, _)| cost < c) {
        *best = Some((cost, value));
    }
}

fn gate(share: f64) -> f64 {
    let off = ((GATE.0 - share) / FALL.0)
        .max((share - GATE.1) / FALL.1)
        .max(0.0);
    0.5 * off * off
}

/// What it costs to end at such a place in a beat.
fn ending(spot: &Spot, value: u64) -> f64 {
    let at = spot.tick - spot.cell.start.min(spot.tick) + value;
    let full = spot.cell.full.max(1);
    let off = |parts: u64| {
        let part = full as f64 / parts as f64;
        ((at as f64 / part).round() * part - at as f64).abs() <= 1.0
    };
    let triplet = DIVISIONS[usize::from(spot.division)].family == Family::Triplet;
    let costs = if triplet || spot.cell.compound {
        [(1, 0.0), (3, 0.6), (2, 1.8), (6, 1.5), (4, 3.0)]
    } else {
        [(1, 0.0), (2, 0.5), (4, 1.2), (3, 2.5), (8, 2.8)]
    };
    costs
        .into_iter()
        .find(|(parts, _)| off(*parts))
        .map_or(4.5, |c| c.1)
}
