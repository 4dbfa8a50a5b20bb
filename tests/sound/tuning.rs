//! Every tone sounds at its pitch.

use super::{at, note, one, play};
use bandwright::sound::tones::{Body, RATE, Shade, Tone, tones};
use rustfft::FftPlanner;
use rustfft::num_complex::Complex;
use std::f64::consts::TAU;

const SIZE: usize = 1 << 17;
/// What is allowed, cents.
const MOST_CENTS: f64 = 10.0;

/// Powers of the bins of a stretch of sound, under a window of Hann.
fn powers(samples: &[f32]) -> Vec<f64> {
    let length = samples.len() as f64;
    let window = |i: usize| 0.5 - 0.5 * (TAU * i as f64 / length).cos();
    let mut bins: Vec<Complex<f64>> = samples
        .iter()
        .enumerate()
        .map(|(i, s)| Complex::new(f64::from(*s) * window(i), 0.0))
        .collect();
    bins.resize(SIZE, Complex::new(0.0, 0.0));
    FftPlanner::new().plan_fft_forward(SIZE).process(&mut bins);
    bins[..SIZE / 2].iter().map(Complex::norm_sqr).collect()
}

/// The frequency of the strongest bin of a range, between bins by a parabola of levels.
fn peak(powers: &[f64], from: f64, to: f64) -> (f64, f64) {
    let bin = |hertz: f64| (hertz * SIZE as f64 / f64::from(RATE)) as usize;
    let (low, high) = (bin(from).max(1), (bin(to) + 1).min(powers.len() - 2));
    let best = (low..=high)
        .max_by(|a, b| powers[*a].total_cmp(&powers[*b]))
        .unwrap();
    let [a, b, c] = [best - 1, best, best + 1].map(|i| powers[i].max(1e-30).ln());
    let between = 0.5 * (a - c) / (a - 2.0 * b + c);
    let hertz = (best as f64 + between) * f64::from(RATE) / SIZE as f64;
    (hertz, powers[best])
}

fn cents(a: f64, b: f64) -> f64 {
    1200.0 * (a / b).log2()
}

/// How far the first partial and the strongest one are off, cents.
fn off(tone: &'static Tone, key: u8, shade: Shade) -> f64 {
    let sounding = bandwright::sound::events::SoundNote {
        shade,
        ..note(0, 0.0, 1.4, key)
    };
    let made = play(&one(tone, sounding));
    let from = match tone.body {
        Body::Held(_) => 0.2,
        Body::Struck(_) => 0.02,
    };
    let powers = powers(&made.left[at(from)..at(1.35)]);
    let pitch = 440.0 * ((f64::from(key) - 69.0) / 12.0).exp2();
    let (first, _) = peak(&powers, pitch * 0.96, pitch * 1.04);
    let (strongest, _) = peak(&powers, 20.0, 18_000.0);
    let partial = (strongest / pitch).round().max(1.0);
    assert!(
        partial < 13.0,
        "{} at {key}: strongest at {strongest} Hz",
        tone.name
    );
    cents(first, pitch)
        .abs()
        .max(cents(strongest, pitch * partial).abs())
}

#[test]
fn every_tone_is_in_tune_low_middle_and_high() {
    let mut worst = (0.0, "", 0);
    for tone in tones() {
        let (low, high) = tone.keys;
        for key in [low, low / 2 + high / 2, high] {
            let off = off(tone, key, Shade::Middle);
            assert!(off < MOST_CENTS, "{} at {key}: {off:.1} cents", tone.name);
            if off > worst.0 {
                worst = (off, tone.name, key);
            }
        }
    }
    eprintln!("worst: {worst:?}");
}

#[test]
fn every_key_of_the_wind_choirs_is_in_tune_at_every_loudness() {
    let mut worst = (0.0, "", 0);
    for name in [
        "flute",
        "clarinet",
        "alto sax",
        "trumpet",
        "mellophone",
        "trombone",
        "tuba",
    ] {
        let tone = super::named(name);
        for key in (tone.keys.0..=tone.keys.1).step_by(3) {
            for shade in [Shade::Soft, Shade::Loud] {
                let off = off(tone, key, shade);
                assert!(off < MOST_CENTS, "{name} at {key}: {off:.1} cents");
                if off > worst.0 {
                    worst = (off, name, key);
                }
            }
        }
    }
    eprintln!("worst: {worst:?}");
}
