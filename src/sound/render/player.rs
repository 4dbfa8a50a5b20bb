//! Plays a score into buffers. After it is made, nothing is allocated.

use super::level::FULL_DB;
use super::messages::{BLOCK, Message, messages, synthesizers};
use crate::sound::built_in::built_in_bytes;
use crate::sound::events::SoundScore;
use crate::sound::tones::{RATE, TONE_RMS};
use rustysynth::{SoundFont, Synthesizer, SynthesizerSettings};
use std::io::Read;
use std::sync::Arc;
use thiserror::Error;

/// Why there is no sound.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum SoundError {
    /// A SoundFont cannot be used.
    #[error("the SoundFont cannot be used: {0}; choose another, or use the built-in sounds")]
    Font(String),
    /// The synthesizer cannot be set up.
    #[error("the synthesizer cannot be set up: {0}")]
    Synthesizer(String),
}

/// Most notes of a synthesizer at a time: fifteen chairs with chords, their noises and what still rings.
const POLYPHONY: usize = 192;

/// A SoundFont as the synthesizers use it.
///
/// # Errors
/// If it is damaged, compressed or no SoundFont.
pub fn font(mut bytes: impl Read) -> Result<Arc<SoundFont>, SoundError> {
    let read = SoundFont::new(&mut bytes);
    read.map(Arc::new)
        .map_err(|e| SoundError::Font(e.to_string()))
}

/// The built-in sounds.
///
/// # Errors
/// If they were damaged (a test shows that they are not).
pub fn built_in_font() -> Result<Arc<SoundFont>, SoundError> {
    font(built_in_bytes().as_slice())
}

/// A score that is being played.
pub struct Player {
    synthesizers: Vec<Synthesizer>,
    messages: Vec<Message>,
    heard: Vec<bool>,
    next: usize,
    block: u64,
    /// What was rendered last, and how much of it has been handed out.
    left: [f32; BLOCK],
    right: [f32; BLOCK],
    given: usize,
}

impl Player {
    /// A player at the beginning of a score; every chair is heard.
    ///
    /// # Errors
    /// If the synthesizer refuses its settings.
    pub fn new(font: &Arc<SoundFont>, score: &SoundScore) -> Result<Self, SoundError> {
        let mut settings = SynthesizerSettings::new(RATE as i32);
        settings.block_size = BLOCK;
        settings.maximum_polyphony = POLYPHONY;
        // Bands play outdoors, and a hall would blur what is to be judged.
        settings.enable_reverb_and_chorus = false;
        let tone_db = 20.0 * TONE_RMS.log10();
        let master = score.loudest().unwrap_or(0.0) + FULL_DB - tone_db;
        let one = |_| {
            let mut synthesizer = Synthesizer::new(font, &settings)
                .map_err(|e| SoundError::Synthesizer(e.to_string()))?;
            synthesizer.set_master_volume(10.0_f64.powf(master / 20.0) as f32);
            Ok(synthesizer)
        };
        let count = synthesizers(score.chairs.len());
        Ok(Self {
            synthesizers: (0..count).map(one).collect::<Result<_, SoundError>>()?,
            messages: messages(score),
            heard: vec![true; score.chairs.len()],
            next: 0,
            block: 0,
            left: [0.0; BLOCK],
            right: [0.0; BLOCK],
            given: BLOCK,
        })
    }

    /// From the next note on, a chair is heard or not.
    pub fn set_heard(&mut self, chair: usize, heard: bool) {
        if let Some(at) = self.heard.get_mut(chair) {
            *at = heard;
        }
    }

    /// The next samples, as many as the shorter buffer has.
    pub fn fill(&mut self, left: &mut [f32], right: &mut [f32]) {
        for (l, r) in left.iter_mut().zip(right) {
            if self.given == BLOCK {
                self.render_block();
            }
            *l = self.left[self.given];
            *r = self.right[self.given];
            self.given += 1;
        }
    }

    fn render_block(&mut self) {
        self.tell();
        self.left.fill(0.0);
        self.right.fill(0.0);
        let (mut left, mut right) = ([0.0; BLOCK], [0.0; BLOCK]);
        for synthesizer in &mut self.synthesizers {
            synthesizer.render(&mut left, &mut right);
            for i in 0..BLOCK {
                self.left[i] += left[i];
                self.right[i] += right[i];
            }
        }
        self.block += 1;
        self.given = 0;
    }

    /// What is due before this block.
    fn tell(&mut self) {
        while let Some(message) = self.messages.get(self.next).copied() {
            if message.block > self.block {
                break;
            }
            self.next += 1;
            let heard = self.heard.get(message.chair).copied().unwrap_or(true);
            if message.begins() && !heard {
                continue;
            }
            if let Some(synthesizer) = self.synthesizers.get_mut(message.synthesizer()) {
                let [command, first, second] = message.bytes.map(i32::from);
                let channel = message.channel() as i32;
                synthesizer.process_midi_message(channel, command, first, second);
            }
        }
    }
}
