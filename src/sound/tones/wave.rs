//! A held tone as a loop of whole cycles.

use super::spectrum::{Shade, Spectrum};
use super::{RATE, TONE_RMS};
use std::f64::consts::{PI, TAU};

/// A loop, and how far it is out of tune.
#[derive(Clone, PartialEq, Debug)]
pub struct Wave {
    /// The loop: whole cycles, so that its end runs on into its beginning.
    pub samples: Vec<i16>,
    /// What is to be added to its pitch to be the key's, cents.
    pub correction: i8,
}

/// Shortest loop in samples: long enough that a whole number of cycles is within a few cents of the key (ours).
const SHORTEST: f64 = 360.0;

/// The loop of a tone at a MIDI note; `place` is 0 at the bottom of the range, 1 at its top.
#[must_use]
pub fn wave(spectrum: &Spectrum, key: u8, place: f64, shade: Shade) -> Wave {
    let hertz = 440.0 * ((f64::from(key) - 69.0) / 12.0).exp2();
    let period = f64::from(RATE) / hertz;
    let cycles = (SHORTEST / period).ceil().max(1.0);
    let length = (cycles * period).round();
    let made = f64::from(RATE) * cycles / length;
    let sum = added(&spectrum.partials(hertz, place, shade), cycles, length);
    Wave {
        samples: scaled(&sum),
        correction: (1200.0 * (hertz / made).log2()).round() as i8,
    }
}

/// The partials together. Their phases keep the peaks low (after Schroeder, IEEE Trans. Inf. Theory 1970, MEM).
fn added(partials: &[f64], cycles: f64, length: f64) -> Vec<f64> {
    let mut sum = vec![0.0; length as usize];
    let count = partials.len() as f64;
    for (i, amplitude) in partials.iter().enumerate() {
        let k = i as f64 + 1.0;
        let (step_sin, step_cos) = (TAU * k * cycles / length).sin_cos();
        let (mut sin, mut cos) = (-PI * k * (k - 1.0) / count).sin_cos();
        for sample in &mut sum {
            *sample += amplitude * sin;
            (sin, cos) = (
                sin * step_cos + cos * step_sin,
                cos * step_cos - sin * step_sin,
            );
        }
    }
    sum
}

/// At the loudness of all tones.
fn scaled(sum: &[f64]) -> Vec<i16> {
    let gain = f64::from(i16::MAX) * TONE_RMS / heard(sum).max(f64::MIN_POSITIVE);
    sum.iter().map(|s| (s * gain).round() as i16).collect()
}

/// The root mean square of samples as they are heard: synthesizers play between samples along straight lines,
/// which takes some of the highest partials.
pub(super) fn heard(samples: &[f64]) -> f64 {
    let next = samples.iter().cycle().skip(1);
    let along = |(a, b): (&f64, &f64)| (a * a + a * b + b * b) / 3.0;
    let power = samples.iter().zip(next).map(along).sum::<f64>();
    (power / samples.len().max(1) as f64).sqrt()
}
