//! A struck tone: modes that ring and die away, each at its own rate.

use super::spectrum::Shade;
use super::wave::heard;
use super::{RATE, TONE_RMS};
use std::f64::consts::TAU;

/// A mode of a bar, head or string.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Mode {
    /// Its frequency over that of the pitch.
    pub ratio: f64,
    /// Its level against the strongest in the middle shade, dB.
    pub db: f64,
    /// How fast it dies away against the first: 2 for twice as fast.
    pub faster: f64,
}

/// How a struck tone rings.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Strike {
    /// Its modes, that of the pitch first.
    pub modes: &'static [Mode],
    /// The time in which the first falls by 60 dB at the bottom of the range and at its top, seconds.
    pub rings: (f64, f64),
    /// By how much the others are softer when struck softly, louder when struck hard, dB.
    pub harder: f64,
}

/// Most seconds of a struck tone (ours): what is left then is faded out.
const LONGEST: f64 = 2.0;
/// Over how long a tone is as loud as its level says, seconds, and over how many cycles at least (ours).
const LEVEL_SECONDS: f64 = 0.03;
const LEVEL_CYCLES: f64 = 6.0;
/// The last of a tone is faded out over so long, seconds.
const FADE: f64 = 0.03;
const HIGHEST_HERTZ: f64 = 14_000.0;
/// A mode is strong above this level, and wants so many samples a cycle (ours).
const STRONG_DB: f64 = -19.0;
const SAMPLES_A_CYCLE: f64 = 8.0;

/// A struck tone as samples.
#[derive(Clone, PartialEq, Debug)]
pub struct Ring {
    /// The samples.
    pub samples: Vec<i16>,
    /// How many of them a second.
    pub rate: u32,
}

/// Over how long after it is struck a tone of a frequency is as loud as its level says, seconds.
#[must_use]
pub fn level_seconds(hertz: f64) -> f64 {
    LEVEL_SECONDS.max(LEVEL_CYCLES / hertz)
}

/// The samples of a struck tone at a MIDI note; `place` is 0 at the bottom of the range, 1 at its top.
#[must_use]
pub fn strike(model: &Strike, key: u8, place: f64, shade: Shade) -> Ring {
    let hertz = 440.0 * ((f64::from(key) - 69.0) / 12.0).exp2();
    let rings = model.rings.0 * (model.rings.1 / model.rings.0).powf(place.clamp(0.0, 1.0));
    let rate = rate(model, hertz);
    let length = (rings.min(LONGEST) * f64::from(rate)) as usize;
    let mut sum = vec![0.0; length];
    for (i, mode) in model.modes.iter().enumerate() {
        let frequency = hertz * mode.ratio;
        if frequency > HIGHEST_HERTZ.min(f64::from(rate) * 0.4) {
            continue;
        }
        let db = mode.db + if i > 0 { shaded(model, shade) } else { 0.0 };
        // A thousandth after the time that it rings.
        let damped = (-(1000.0_f64.ln()) * mode.faster / (rings * f64::from(rate))).exp();
        ring(
            &mut sum,
            frequency / f64::from(rate),
            10.0_f64.powf(db / 20.0),
            damped,
        );
    }
    Ring {
        samples: scaled(&sum, rate, level_seconds(hertz)),
        rate,
    }
}

/// The lowest of a few rates that is many times the frequency of every strong mode: low tones take less room.
fn rate(model: &Strike, hertz: f64) -> u32 {
    let strong = model.modes.iter().filter(|m| m.db > STRONG_DB);
    let highest = strong.map(|m| m.ratio * hertz).fold(hertz, f64::max);
    let fits = |rate: &u32| f64::from(*rate) > SAMPLES_A_CYCLE * highest;
    [RATE / 4, RATE / 2].into_iter().find(fits).unwrap_or(RATE)
}

fn shaded(model: &Strike, shade: Shade) -> f64 {
    match shade {
        Shade::Soft => -model.harder,
        Shade::Middle => 0.0,
        Shade::Loud => model.harder,
    }
}

fn ring(sum: &mut [f64], turns: f64, amplitude: f64, damped: f64) {
    let (step_sin, step_cos) = (TAU * turns).sin_cos();
    let (step_sin, step_cos) = (step_sin * damped, step_cos * damped);
    let (mut sin, mut cos) = (0.0, amplitude);
    for sample in sum {
        *sample += sin;
        (sin, cos) = (
            sin * step_cos + cos * step_sin,
            cos * step_cos - sin * step_sin,
        );
    }
}

fn scaled(sum: &[f64], rate: u32, seconds: f64) -> Vec<i16> {
    let first = (seconds * f64::from(rate)) as usize;
    let rms = heard(sum.get(..first).unwrap_or(sum));
    let gain = f64::from(i16::MAX) * TONE_RMS / rms.max(f64::MIN_POSITIVE);
    let fade = FADE * f64::from(rate);
    let most = f64::from(i16::MAX);
    let one = |(i, s): (usize, &f64)| {
        let left = ((sum.len() - i) as f64 / fade).min(1.0);
        (s * gain * left).clamp(-most, most).round() as i16
    };
    sum.iter().enumerate().map(one).collect()
}
