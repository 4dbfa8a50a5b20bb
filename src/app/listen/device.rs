//! What plays, as the window knows it: the machine's own sound device, a MIDI port, or one of a test.

use rtrb::Consumer;
use std::path::PathBuf;
use std::sync::Arc;

/// Fills frames, left and right in turn.
pub type Fill = Box<dyn FnMut(&mut [f32]) + Send>;

/// A device that plays.
pub trait Device: Send + Sync {
    /// Frames that were heard so far, by the device's own clock; `None` before it has told.
    fn heard(&self) -> Option<f64>;
    /// Whether it still plays.
    fn is_open(&self) -> bool;
}

/// Opens a device; one sentence where there is none.
pub type OpenDevice = Arc<dyn Fn(Fill) -> Result<Arc<dyn Device>, String> + Send + Sync>;

/// Opens a MIDI port by its name, with the messages that come of what is filled.
pub type OpenPort =
    Arc<dyn Fn(&str, Fill, Consumer<[u8; 3]>) -> Result<Arc<dyn Device>, String> + Send + Sync>;

/// What there is to play with.
#[derive(Clone)]
pub struct Devices {
    /// Opens the sound device.
    pub sound: OpenDevice,
    /// Opens a port.
    pub port: OpenPort,
    /// Finds sounds: SoundFonts in the usual places, ports.
    pub find: Arc<dyn Fn() -> Found + Send + Sync>,
}

impl Devices {
    /// A sound device alone.
    #[must_use]
    pub fn of(sound: OpenDevice) -> Self {
        Self {
            sound,
            port: Arc::new(|_, _, _| Err("there are no MIDI ports here".to_owned())),
            find: Arc::new(Found::default),
        }
    }
}

/// What was found to play with.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Found {
    /// SoundFonts.
    pub fonts: Vec<PathBuf>,
    /// MIDI ports, by name.
    pub ports: Vec<String>,
}

/// With what it is played.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub enum With {
    /// The built-in sounds.
    #[default]
    BuiltIn,
    /// A SoundFont of the user.
    Font(PathBuf),
    /// A MIDI port, by name.
    Port(String),
}

impl With {
    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::BuiltIn => "built-in".to_owned(),
            Self::Font(path) => path
                .file_name()
                .map_or_else(|| path.display(), |n| std::path::Path::new(n).display())
                .to_string(),
            Self::Port(name) => format!("MIDI port {name}"),
        }
    }
}
