//! SoundFonts as the synthesizers use them.

use crate::sound::built_in::built_in_bytes;
use rustysynth::SoundFont;
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
