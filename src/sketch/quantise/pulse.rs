//! How fast the beat may be: periods that many pairs of attacks are apart.

use super::strikes::Attack;

/// Shortest and longest beat, in seconds (about 240 to 38 a minute).
pub(super) const PERIODS: (f64, f64) = (0.25, 1.6);
/// Bins an octave of periods.
const BINS: f64 = 36.0;
/// Longest time between two attacks that are compared, in seconds.
const LONGEST: f64 = 3.3;
/// Most attacks that an attack is compared with.
const AHEAD: usize = 48;
/// The beat that people take most easily, in seconds: near 100 to 120 a minute (Parncutt 1994;
/// Moelants 2002, from memory), and how far it spreads, in octaves.
const EASY: f64 = 0.65;
const SPREAD: f64 = 0.6;

/// Up to `most` likely periods of the beat, the likeliest first, in seconds.
///
/// An autocorrelation of the attacks by lag, with the lag's multiples, weighed by how easily a
/// beat of that period is felt (in the manner of Ellis 2007).
pub(super) fn periods(attacks: &[Attack], most: usize) -> Vec<f64> {
    let shares = by_lag(attacks);
    let at = |seconds: f64| {
        let place = bin(seconds);
        let low = place.floor().max(0.0);
        let value = |i: f64| shares.get(i as usize).copied().unwrap_or(0.0);
        value(low) + (place - low) * (value(low + 1.0) - value(low))
    };
    let first = bin(PERIODS.0).ceil() as usize;
    let last = bin(PERIODS.1).floor() as usize;
    let scored: Vec<(f64, f64)> = (first..=last)
        .map(|i| {
            let period = seconds(i as f64);
            let own = at(period)
                + 0.6 * at(2.0 * period)
                + 0.3 * at(3.0 * period)
                + 0.4 * at(4.0 * period);
            (own * ease(period), period)
        })
        .collect();
    let mut peaks: Vec<(f64, f64)> = Vec::new();
    for (i, (score, period)) in scored.iter().enumerate() {
        let near = &scored[i.saturating_sub(2)..(i + 3).min(scored.len())];
        if *score > 0.0 && near.iter().all(|n| n.0 <= *score) {
            peaks.push((*score, *period));
        }
    }
    peaks.sort_by(|a, b| b.0.total_cmp(&a.0));
    peaks.dedup_by(|a, b| (a.1 / b.1 - 1.0).abs() < 0.05);
    peaks.truncate(most);
    peaks.into_iter().map(|p| p.1).collect()
}

/// How easily a beat of this period is felt, 0 to 1.
pub(super) fn ease(period: f64) -> f64 {
    (-unease(period)).exp()
}

/// The same as a cost in nats.
pub(super) fn unease(period: f64) -> f64 {
    let octaves = (period / EASY).log2() / SPREAD;
    0.5 * octaves * octaves
}

fn bin(seconds: f64) -> f64 {
    (seconds / (0.5 * PERIODS.0)).log2() * BINS
}

fn seconds(bin: f64) -> f64 {
    0.5 * PERIODS.0 * (bin / BINS).exp2()
}

/// How much pairs of attacks weigh by their lag.
fn by_lag(attacks: &[Attack]) -> Vec<f64> {
    let mut shares = vec![0.0; bin(LONGEST).ceil() as usize + 4];
    for (i, early) in attacks.iter().enumerate() {
        for late in attacks[i + 1..].iter().take(AHEAD) {
            let lag = late.at - early.at;
            if lag > LONGEST {
                break;
            }
            let place = bin(lag);
            if place < 0.0 {
                continue;
            }
            // Timing noise is the same in seconds for every lag: short lags spread over more bins.
            let width = (0.045 / lag * BINS / std::f64::consts::LN_2).max(1.5);
            let weight = early.weight * late.weight / width / lag.max(0.3);
            let (from, to) = (
                (place - width).ceil().max(0.0) as usize,
                (place + width) as usize,
            );
            for b in from..=to {
                if let Some(share) = shares.get_mut(b) {
                    *share += weight * (1.0 - (b as f64 - place).abs() / width).max(0.0);
                }
            }
        }
    }
    shares
}
