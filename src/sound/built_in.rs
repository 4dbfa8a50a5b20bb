//! The built-in sounds: the modelled tones as a SoundFont in memory.

use super::sound_font::{Generator, Preset, Zone, sound_font};
use super::tones::{self, Body, RATE, Shade, Spectrum, Strike, Tone, burst, strike, wave};

/// Semitones from one sample to the next (ours): of what is held, and of what is struck, which takes more room.
const APART: u8 = 5;
const STRUCK_APART: u8 = 7;
/// The bank of drums, and the tick of the count-in.
const DRUMS: u16 = 128;
const TICK_HERTZ: f64 = 2500.0;
const TICK_DB: f64 = 6.0;

/// The bytes of the built-in SoundFont, always the same.
#[must_use]
pub fn built_in_bytes() -> Vec<u8> {
    let mut presets: Vec<Preset> = tones::tones()
        .flat_map(|t| Shade::ALL.into_iter().map(|s| preset(t, s)))
        .collect();
    presets.push(tick());
    sound_font("bandwright built-in tones", &presets)
}

fn tick() -> Preset {
    Preset {
        name: "tick".to_owned(),
        bank: DRUMS,
        program: 0,
        zones: vec![noise((0, 127), TICK_HERTZ, TICK_DB)],
    }
}

fn noise(keys: (u8, u8), hertz: f64, db: f64) -> Zone {
    Zone {
        keys,
        root: 60,
        correction: 0,
        samples: burst(hertz, db),
        rate: RATE,
        looped: false,
        generators: vec![(Generator::ScaleTuning, 0)],
    }
}

fn preset(tone: &Tone, shade: Shade) -> Preset {
    let mut zones: Vec<Zone> = roots(tone).map(|root| zone(tone, root, shade)).collect();
    // What is left out of balance is too soft to be heard.
    if tone.attack.noise_db > -50.0 {
        zones.push(noise(
            (0, 127),
            tone.attack.noise_hertz,
            tone.attack.noise_db,
        ));
    }
    Preset {
        name: tone.name.to_owned(),
        bank: u16::from(tone.bank(shade)),
        program: u16::from(tone.program),
        zones,
    }
}

const fn apart(tone: &Tone) -> u8 {
    match tone.body {
        Body::Held(_) => APART,
        Body::Struck(_) => STRUCK_APART,
    }
}

/// The notes that are made, lowest first: the last is not more than half a step below the highest key.
fn roots(tone: &Tone) -> impl Iterator<Item = u8> {
    let (apart, half) = (apart(tone), apart(tone) / 2);
    (tone.keys.0 + half..tone.keys.1 + half + 1).step_by(usize::from(apart))
}

/// The keys that a root plays: half a step to either side, all beyond at the ends.
fn keys(tone: &Tone, root: u8) -> (u8, u8) {
    let (apart, half) = (apart(tone), apart(tone) / 2);
    let low = if root < tone.keys.0 + apart {
        0
    } else {
        root - half
    };
    let high = if root + half >= tone.keys.1 {
        127
    } else {
        root + half
    };
    (low, high)
}

fn zone(tone: &Tone, root: u8, shade: Shade) -> Zone {
    let (low, high) = (f64::from(tone.keys.0), f64::from(tone.keys.1));
    let place = ((f64::from(root) - low) / (high - low)).clamp(0.0, 1.0);
    match &tone.body {
        Body::Held(spectrum) => held(tone, spectrum, root, place, shade),
        Body::Struck(model) => struck(tone, model, root, place, shade),
    }
}

fn held(tone: &Tone, spectrum: &Spectrum, root: u8, place: f64, shade: Shade) -> Zone {
    let wave = wave(spectrum, root, place, shade);
    let mut generators = envelope(tone);
    if let Some(v) = &tone.vibrato {
        generators.push((Generator::VibratoToPitch, v.cents));
        generators.push((Generator::VibratoDelay, timecents(v.after)));
        generators.push((Generator::VibratoRate, hertz_cents(v.hertz)));
    }
    Zone {
        keys: keys(tone, root),
        root,
        correction: wave.correction,
        samples: wave.samples,
        rate: RATE,
        looped: true,
        generators,
    }
}

fn struck(tone: &Tone, model: &Strike, root: u8, place: f64, shade: Shade) -> Zone {
    let ring = strike(model, root, place, shade);
    Zone {
        keys: keys(tone, root),
        root,
        correction: 0,
        samples: ring.samples,
        rate: ring.rate,
        looped: false,
        generators: envelope(tone),
    }
}

/// Where the filter is open altogether, absolute cents: the highest of the specification.
const OPEN: i16 = 13_500;

fn envelope(tone: &Tone) -> Vec<(Generator, i16)> {
    let attack = &tone.attack;
    let mut generators = vec![
        (Generator::Attack, timecents(attack.seconds)),
        (Generator::Release, timecents(tone.release)),
    ];
    if attack.opens_octaves > 0.0 {
        let cents = (1200.0 * attack.opens_octaves) as i16;
        // It stays open after the end: what dies away does so evenly.
        generators.push((Generator::Filter, OPEN - cents));
        generators.push((Generator::EnvelopeToFilter, cents));
        generators.push((Generator::FilterAttack, timecents(attack.seconds * 1.6)));
        generators.push((Generator::FilterRelease, timecents(tone.release * 4.0)));
    }
    generators
}

/// Seconds as the specification writes them.
fn timecents(seconds: f64) -> i16 {
    (1200.0 * seconds.max(0.001).log2()).round() as i16
}

/// A frequency as the specification writes it.
fn hertz_cents(hertz: f64) -> i16 {
    (1200.0 * (hertz / 8.176).log2()).round() as i16
}
