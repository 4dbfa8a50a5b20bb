//! The machine's own sound device, its SoundFonts, and its MIDI ports.

use super::device::{Device, Devices, Fill, Found, OpenPort};
use crate::device::found_fonts::{found_fonts, usual_places};
use crate::device::{Output, open};
use std::sync::Arc;

impl Device for Output {
    fn heard(&self) -> Option<f64> {
        Self::heard(self)
    }

    fn is_open(&self) -> bool {
        Self::is_open(self)
    }
}

/// What this machine plays with.
#[must_use]
pub fn this_machine() -> Devices {
    Devices {
        sound: Arc::new(|mut fill: Fill| {
            let output = open("bandwright", move |frames: &mut [f32]| fill(frames));
            let output = output.map_err(|e| e.to_string())?;
            Ok(Arc::new(output) as Arc<dyn Device>)
        }),
        port: port(),
        find: Arc::new(|| Found {
            fonts: found_fonts(&usual_places()),
            ports: ports(),
        }),
    }
}

#[cfg(feature = "midi-out")]
mod ports_of_the_system {
    use crate::app::listen::device::Device;
    use crate::device::midi_player::PortOutput;

    impl Device for PortOutput {
        fn heard(&self) -> Option<f64> {
            Some(Self::heard(self))
        }

        fn is_open(&self) -> bool {
            Self::is_open(self)
        }
    }
}

#[cfg(feature = "midi-out")]
fn port() -> OpenPort {
    Arc::new(|name, mut fill, messages| {
        let play = move |frames: &mut [f32]| fill(frames);
        let output = crate::device::midi_player::open_port(name, play, messages);
        let output = output.map_err(|e| e.to_string())?;
        Ok(Arc::new(output) as Arc<dyn Device>)
    })
}

#[cfg(feature = "midi-out")]
fn ports() -> Vec<String> {
    // A system without MIDI has no ports; nothing else is wrong.
    crate::device::midi_out::port_names().unwrap_or_default()
}

#[cfg(not(feature = "midi-out"))]
fn port() -> OpenPort {
    Arc::new(|_, _, _| Err("this build plays into no MIDI ports".to_owned()))
}

#[cfg(not(feature = "midi-out"))]
const fn ports() -> Vec<String> {
    Vec::new()
}
