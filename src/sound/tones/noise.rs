//! The noise of an attack: breath, tongue, stick.

use super::{RATE, TONE_RMS};
use std::f64::consts::TAU;

/// How long a burst is, and how fast it dies away, seconds (ours).
const SECONDS: f64 = 0.08;
const DYING: f64 = 0.018;

/// A burst of noise about a frequency, at a level against a tone, always the same.
#[must_use]
pub fn burst(hertz: f64, level_db: f64) -> Vec<i16> {
    let length = (SECONDS * f64::from(RATE)) as usize;
    let mut dice = 0x9E37_79B9_7F4A_7C15_u64;
    let turn = TAU * hertz / f64::from(RATE);
    let radius = 1.0 - 0.5 * turn.min(1.0);
    let (mut one, mut two) = (0.0, 0.0);
    let mut filtered = |_| {
        // Xorshift (Marsaglia 2003); then a resonance of two poles.
        dice ^= dice << 13;
        dice ^= dice >> 7;
        dice ^= dice << 17;
        let white = (dice >> 11) as f64 / (1_u64 << 52) as f64 - 1.0;
        let next = white + 2.0 * radius * turn.cos() * one - radius * radius * two;
        (one, two) = (next, one);
        next
    };
    let noise: Vec<f64> = (0..length).map(&mut filtered).collect();
    let power = noise.iter().map(|s| s * s).sum::<f64>() / length as f64;
    let rms = TONE_RMS * 10.0_f64.powf(level_db / 20.0);
    let gain = f64::from(i16::MAX) * rms / power.sqrt().max(f64::MIN_POSITIVE);
    let shaped = noise.iter().enumerate().map(|(i, s)| {
        let at = i as f64 / f64::from(RATE);
        let end = 1.0 - i as f64 / length as f64;
        let swell = (at / 0.003).min(1.0);
        s * gain * swell * (-at / DYING).exp() * end
    });
    let most = f64::from(i16::MAX);
    shaped
        .map(|s| s.clamp(-most, most).round() as i16)
        .collect()
}
