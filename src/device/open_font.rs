//! Opens a SoundFont that was found or chosen.

use crate::sound::user_font::{FontError, UserFont};
use std::fs::File;
use std::io::BufReader;
use std::path::Path;

/// Reads a SoundFont and listens to it. A large one takes a second or so: it is for a thread of its own.
///
/// # Errors
/// Says in one sentence why it cannot be used; a file that is not there any more is told apart.
pub fn open_font(path: &Path) -> Result<UserFont, FontError> {
    let unreadable = |e: std::io::Error| FontError::Unreadable(e.to_string());
    // Folders open on some systems, and to open what is a pipe would wait for ever.
    if !path.metadata().map_err(unreadable)?.is_file() {
        return Err(FontError::NoSoundFont);
    }
    let file = File::open(path).map_err(unreadable)?;
    UserFont::read(&mut BufReader::new(file))
}
