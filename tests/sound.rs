//! Sound: tones in tune, levels as told, files as they should be.

mod colour;
mod command;
mod draft;
mod font;
mod levels;
mod live;
mod rendering;
mod tuning;

use bandwright::sound::events::{Chair, SoundNote, SoundScore};
use bandwright::sound::render::{Rendered, built_in_font, render};
use bandwright::sound::tones::{RATE, Shade, Tone, tone};
use rustysynth::SoundFont;
use std::sync::{Arc, OnceLock};

/// The built-in sounds, made once.
fn built_in() -> &'static Arc<SoundFont> {
    static FONT: OnceLock<Arc<SoundFont>> = OnceLock::new();
    FONT.get_or_init(|| built_in_font().unwrap())
}

fn chair(tone: &'static Tone) -> Chair {
    Chair {
        tone,
        pan: 0.0,
        delay: 0.0,
    }
}

fn note(chair: usize, onset: f64, end: f64, key: u8) -> SoundNote {
    SoundNote {
        chair,
        onset,
        end,
        key,
        shade: Shade::Middle,
        gain_db: -6.0,
    }
}

/// One note of a tone.
fn one(tone: &'static Tone, note: SoundNote) -> SoundScore {
    SoundScore {
        chairs: vec![chair(tone)],
        notes: vec![note],
    }
}

fn play(score: &SoundScore) -> Rendered {
    render(built_in(), score, &[]).unwrap()
}

fn named(name: &str) -> &'static Tone {
    tone(name).unwrap()
}

fn at(seconds: f64) -> usize {
    (seconds * f64::from(RATE)) as usize
}

/// The level of both channels together over a time, dB against the loudest sample.
fn level(made: &Rendered, from: f64, to: f64) -> f64 {
    let (from, to) = (at(from), at(to).min(made.left.len()));
    let power = |s: &[f32]| {
        s[from..to]
            .iter()
            .map(|s| f64::from(*s).powi(2))
            .sum::<f64>()
    };
    10.0 * ((power(&made.left) + power(&made.right)) / (to - from) as f64).log10()
}
