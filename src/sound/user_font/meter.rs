//! Listens to single notes of a SoundFont, as loud as they can be told.

use super::error::FontError;
use crate::sound::render::{BLOCK, settings};
use crate::sound::tones::{RATE, level_seconds};
use rustysynth::{SoundFont, Synthesizer};
use std::sync::Arc;

/// What of a note is listened to.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Listen {
    /// The tone after its attack.
    Held,
    /// The loudest stretch of its beginning, as long as a struck tone is as loud as its level says.
    Struck,
}

/// When a held note is listened to, seconds (ours): from after most attacks, over three swings of a vibrato.
const HELD: (f64, f64) = (0.2, 0.8);
/// When at the latest the loudest stretch of what is struck begins, seconds (ours): samples often begin with a little
/// silence.
const LATEST: f64 = 0.1;
/// Most voices: a note of many layers.
const POLYPHONY: usize = 64;

/// A synthesizer that is listened to.
pub(super) struct Meter {
    synthesizer: Synthesizer,
    /// Both channels' power, block by block.
    powers: Vec<f64>,
}

/// A note: bank, program, key; drums where told so.
#[derive(Clone, Copy)]
pub(super) struct Sounded {
    pub bank: u8,
    pub program: u8,
    pub drums: bool,
    pub key: u8,
}

impl Meter {
    pub(super) fn new(font: &Arc<SoundFont>) -> Result<Self, FontError> {
        let made = Synthesizer::new(font, &settings(POLYPHONY, BLOCK));
        let mut synthesizer = made.map_err(|e| FontError::Refused(e.to_string()))?;
        synthesizer.set_master_volume(1.0);
        Ok(Self {
            synthesizer,
            powers: Vec::new(),
        })
    }

    /// The root mean square of a note, both channels together; 0 for silence, and for what is no number.
    pub(super) fn rms(&mut self, note: Sounded, listen: Listen) -> f64 {
        let hertz = 440.0 * ((f64::from(note.key) - 69.0) / 12.0).exp2();
        let power = match listen {
            Listen::Held => {
                self.sound(note, HELD.1);
                mean(self.powers.get(blocks(HELD.0)..).unwrap_or_default())
            }
            Listen::Struck => {
                let length = level_seconds(hertz);
                self.sound(note, LATEST + length);
                let stretches = self.powers.windows(blocks(length).max(1));
                stretches.map(mean).fold(0.0, f64::max)
            }
        };
        if power.is_finite() { power.sqrt() } else { 0.0 }
    }

    /// Plays a note for so long.
    fn sound(&mut self, note: Sounded, seconds: f64) {
        self.synthesizer.reset();
        let channel = if note.drums { 9 } else { 0 };
        let told = [
            (0xB0, 7, 127),
            (0xB0, 39, 127),
            (0xB0, 11, 127),
            (0xB0, 43, 127),
            (0xB0, 0, i32::from(note.bank)),
            (0xC0, i32::from(note.program), 0),
            (0x90, i32::from(note.key), 127),
        ];
        for (command, first, second) in told {
            self.synthesizer
                .process_midi_message(channel, command, first, second);
        }
        self.powers.clear();
        let (mut left, mut right) = ([0.0_f32; BLOCK], [0.0_f32; BLOCK]);
        for _ in 0..blocks(seconds) {
            self.synthesizer.render(&mut left, &mut right);
            let both = left.iter().chain(&right);
            let power: f64 = both.map(|s| f64::from(*s).powi(2)).sum();
            self.powers.push(power / BLOCK as f64);
        }
    }
}

fn blocks(seconds: f64) -> usize {
    (seconds * f64::from(RATE) / BLOCK as f64).round() as usize
}

fn mean(powers: &[f64]) -> f64 {
    powers.iter().sum::<f64>() / powers.len().max(1) as f64
}
