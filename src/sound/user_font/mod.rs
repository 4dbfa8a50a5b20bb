//! A General MIDI SoundFont of the user: what the tones of a band need of it, brought to the level of the tones.
//!
//! Nothing of a file reaches the synthesizer as it is. Its tables are read and looked at ([`FontError`] says what
//! is wrong), what is needed is taken out of it and written as a small SoundFont in memory, in which each tone has
//! the same banks and programs as in the built-in one. Whoever plays the built-in sounds can so play these; only the
//! levels are to be changed by what the [`Calibration`] says.

mod calibration;
mod error;
mod families;
mod joined;
mod keep;
mod meter;
mod note;
mod region;
mod riff;
mod settings;
mod tables;
mod tick;

pub use calibration::Calibration;
pub use error::FontError;
pub use families::nearest_program;
pub use note::FontNote;
pub use tick::{DRUM_CHANNEL, TICK_FIRST, TICK_OTHER};

use crate::sound::built_in::built_in_bytes;
use joined::{Store, joined};
use keep::{Kept, Source};
use riff::{Parts, Readable, parts};
use rustysynth::SoundFont;
use std::io::{Cursor, Read, Seek, SeekFrom};
use std::sync::Arc;
use tables::Tables;

/// Most bytes of a file (ours).
pub const MOST_BYTES: u64 = 1_000_000_000;

/// A SoundFont of the user, ready to be played.
#[derive(Clone, Debug)]
pub struct UserFont {
    /// What it is called in its file; may be empty.
    pub name: String,
    /// What the tones play. Banks and programs are those of the built-in sounds.
    pub font: Arc<SoundFont>,
    /// By how much the tones are off the level of the built-in ones.
    pub calibration: Calibration,
    /// What it lacks, in the order of the tones.
    pub notes: Vec<FontNote>,
}

impl UserFont {
    /// Reads a SoundFont from its beginning and listens to it. This takes a second or so for a large one, so it is
    /// for a thread of its own.
    ///
    /// # Errors
    /// Says in one sentence why it cannot be used; never panics, whatever the bytes are.
    pub fn read(file: &mut (impl Read + Seek)) -> Result<Self, FontError> {
        let length = file.seek(SeekFrom::End(0))?;
        if length > MOST_BYTES {
            return Err(FontError::TooLarge);
        }
        let (name, kept, bytes) = small(file, length)?;
        let read = SoundFont::new(&mut bytes.as_slice());
        let font = Arc::new(read.map_err(|e| FontError::Refused(e.to_string()))?);
        drop(bytes);
        let mut notes = kept.notes.clone();
        let calibration = Calibration::of(&font, &kept, &mut notes)?;
        Ok(Self {
            name,
            font,
            calibration,
            notes,
        })
    }
}

/// The name of a font, what is kept of it, and the bytes of the small one.
fn small(file: &mut dyn Readable, length: u64) -> Result<(String, Kept, Vec<u8>), FontError> {
    let own = parts(file, length)?;
    let built_in = built_in_bytes();
    let built_in_length = built_in.len() as u64;
    let mut built_in = Cursor::new(built_in);
    let spare = parts(&mut built_in, built_in_length)?;
    let source = |parts: &Parts| {
        Ok::<Source, FontError>(Source {
            tables: Tables::of(parts)?,
            samples: parts.samples,
        })
    };
    let kept = Kept::of(&source(&own)?, &source(&spare)?)?;
    let mut stores = [
        Store {
            file,
            at: own.samples_at,
        },
        Store {
            file: &mut built_in,
            at: spare.samples_at,
        },
    ];
    let bytes = joined(&mut stores, &kept.instruments, &kept.entries)?;
    Ok((own.name, kept, bytes))
}
