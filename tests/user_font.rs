//! SoundFonts of the user: read, looked at, brought to level.

mod damaged;
mod found;
mod lacking;
mod levels;
mod real;

use bandwright::sound::events::{Chair, SoundNote, SoundScore};
use bandwright::sound::render::{FULL_DB, render};
use bandwright::sound::sound_font::{Generator, Preset, Zone, sound_font};
use bandwright::sound::tones::{Body, RATE, Shade, Tone, level_seconds, tone, tones, wave};
use bandwright::sound::user_font::{FontError, UserFont};
use std::io::Cursor;

/// A zone of a plain tone, so many dB under the level of the built-in ones.
fn zone(keys: (u8, u8), db: f64) -> Zone {
    let root = keys.0 / 2 + keys.1 / 2;
    let Body::Held(spectrum) = &tone("horn").unwrap().body else {
        panic!("horns are held");
    };
    let made = wave(spectrum, root, 0.5, Shade::Middle);
    let gain = 10.0_f64.powf(db / 20.0);
    let samples = made.samples.iter().map(|s| (f64::from(*s) * gain) as i16);
    Zone {
        keys,
        root,
        correction: made.correction,
        samples: samples.collect(),
        rate: RATE,
        looped: true,
        generators: vec![(Generator::Attack, -8000), (Generator::Release, -3000)],
    }
}

fn preset(program: u8, zones: Vec<Zone>) -> Preset {
    Preset {
        name: format!("program {program}"),
        bank: 0,
        program: u16::from(program),
        zones,
    }
}

/// A font in which every program of the tones has levels of its own, other ones in each octave.
fn uneven() -> Vec<u8> {
    let mut programs: Vec<u8> = tones().map(|t| t.program).collect();
    programs.sort_unstable();
    programs.dedup();
    let one = |program: u8| {
        let octave = |o: u8| {
            let db = 4.0 - f64::from((u16::from(program) * 7 + u16::from(o) * 5) % 23);
            zone((o * 12, (o * 12 + 11).min(127)), db)
        };
        preset(program, (0..11).map(octave).collect())
    };
    let presets: Vec<Preset> = programs.into_iter().map(one).collect();
    sound_font("uneven", &presets)
}

fn read(bytes: &[u8]) -> Result<UserFont, FontError> {
    UserFont::read(&mut Cursor::new(bytes))
}

/// One note, as it is with a font.
fn played(font: &UserFont, tone: &'static Tone, note: SoundNote) -> Vec<f64> {
    let chair = Chair {
        tone,
        pan: 0.0,
        delay: 0.0,
    };
    let score = SoundScore {
        chairs: vec![chair],
        notes: vec![note],
    };
    let made = render(&font.font, &font.calibration.applied(&score), &[]).unwrap();
    // What a player of the font does once for all notes.
    let up = 10.0_f64.powf(font.calibration.headroom_db() / 10.0);
    let both = made.left.iter().zip(&made.right);
    let powers = both.map(|(l, r)| f64::from(*l).powi(2) + f64::from(*r).powi(2));
    powers.map(|p| up * p).collect()
}

fn note(key: u8, shade: Shade, gain_db: f64) -> SoundNote {
    SoundNote {
        chair: 0,
        onset: 0.0,
        end: 1.0,
        key,
        shade,
        gain_db,
    }
}

fn db(powers: &[f64]) -> f64 {
    10.0 * (powers.iter().sum::<f64>() / powers.len() as f64).log10()
}

/// How far the level of a note is off what it is told to be, dB. A held tone is listened to while it is held, a
/// struck one where it is loudest.
fn off(font: &UserFont, tone: &'static Tone, note: SoundNote) -> f64 {
    let at = |seconds: f64| (seconds * f64::from(RATE)) as usize;
    let powers = played(font, tone, note);
    let heard = match tone.body {
        Body::Held(_) => db(&powers[at(0.25)..at(0.85)]),
        Body::Struck(_) => {
            let hertz = 440.0 * ((f64::from(note.key) - 69.0) / 12.0).exp2();
            let long = at(level_seconds(hertz));
            let stretches = powers[..at(0.1) + long].windows(long).step_by(100);
            stretches.map(db).fold(f64::NEG_INFINITY, f64::max)
        }
    };
    heard - FULL_DB - note.gain_db
}
