//! Why there is no sound, in one sentence.

use thiserror::Error;

/// What holds without sound.
const REST: &str = "everything else works, and `bandwright listen --wav` makes a sound file";

/// Why no sound output was opened. Each is one sentence for the window's status line.
#[derive(Debug, Error)]
pub enum NoDevice {
    /// There is no sound server, or no device.
    #[error("no sound: this machine offers no sound output; {REST}")]
    Nothing,
    /// The server has only its stand-in for a device, which plays to nobody.
    #[error(
        "no sound: neither speakers nor headphones are connected; connect some and play again; {REST}"
    )]
    Nobody,
    /// Nothing came within the time that we wait.
    #[error("no sound: this machine's sound output does not answer; {REST}")]
    NoAnswer,
    /// It said no; what it said.
    #[error("no sound: this machine's sound output refused ({0}); {REST}")]
    Refused(String),
}
