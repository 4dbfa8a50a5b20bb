//! Bytes of any kind of music file that is read here.

use super::midi_bytes::read_song;
use super::musicxml::{is_musicxml, read_musicxml};
use super::song::{ReadError, Song};

/// Reads a MIDI file or a MusicXML file, packed or not; which one it is, its first bytes tell and not
/// its name.
///
/// ```
/// use bandwright::sketch::read_any;
///
/// let song = read_any(bandwright::cli::files::DEMO_SKETCH)?;
/// assert!(!song.is_written());
/// assert!(read_any(b"words").is_err());
/// # Ok::<(), bandwright::sketch::ReadError>(())
/// ```
///
/// # Errors
/// Where it is neither, or nothing of it can be rescued; the error says where and what to do.
pub fn read_any(bytes: &[u8]) -> Result<Song, ReadError> {
    if is_musicxml(bytes) {
        return read_musicxml(bytes);
    }
    let is_midi = bytes.is_empty() || bytes.starts_with(b"MThd") || bytes.starts_with(b"RIFF");
    read_song(bytes).map_err(|error| {
        if is_midi {
            return error;
        }
        ReadError {
            reason: "neither a MIDI file (it does not begin with MThd) nor MusicXML; export the sketch as .mid, \
                     .musicxml or .mxl"
                .to_owned(),
            ..error
        }
    })
}
