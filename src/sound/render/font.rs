//! SoundFonts as the synthesizers use them.

use crate::sound::built_in::built_in_bytes;
use crate::sound::tones::RATE;
use rustysynth::{SoundFont, SynthesizerSettings};
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

/// How synthesizers are set that hold so many notes at a time and render so many samples at a time.
///
/// Bands play outdoors, and a hall would blur what is to be judged.
pub(in crate::sound) fn settings(notes: usize, block: usize) -> SynthesizerSettings {
    let mut settings = SynthesizerSettings::new(RATE as i32);
    settings.block_size = block;
    settings.maximum_polyphony = notes;
    settings.enable_reverb_and_chorus = false;
    settings
}
