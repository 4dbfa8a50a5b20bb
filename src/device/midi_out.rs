//! Plays into a MIDI port of the system, where bandwright was built with the feature `midi-out`.

use crate::sound::midi::{Outlet, Sink, told_apart};
use midir::{MidiOutput, MidiOutputConnection, MidiOutputPort};
use thiserror::Error;

/// What bandwright is called among the clients of the system.
const CLIENT: &str = "bandwright";

/// Why nothing is played into a port, in one sentence.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum MidiOutError {
    /// The system has no MIDI.
    #[error("this system offers no MIDI ports ({0}); the built-in sounds play without them")]
    NoMidi(String),
    /// A port is not there any more.
    #[error("there is no MIDI port {0:?} any more; choose another")]
    NoPort(String),
    /// A port does not let itself be opened.
    #[error("the MIDI port {name:?} cannot be opened ({why}); is another program playing into it?")]
    Busy {
        /// Which.
        name: String,
        /// What the system says.
        why: String,
    },
    /// A message could not be sent.
    #[error("the MIDI port {name:?} takes no more ({why}); is it still plugged in?")]
    Lost {
        /// Which.
        name: String,
        /// What the system says.
        why: String,
    },
}

struct Connection(MidiOutputConnection);

impl Sink for Connection {
    fn take(&mut self, message: &[u8]) -> Result<(), String> {
        self.0.send(message).map_err(|e| e.to_string())
    }
}

/// An open port. When it is dropped, everything is stopped.
///
/// Sending may wait for the system, so it is not for the thread that makes samples.
pub struct MidiOut {
    name: String,
    outlet: Outlet<Connection>,
}

fn client() -> Result<MidiOutput, MidiOutError> {
    MidiOutput::new(CLIENT).map_err(|e| MidiOutError::NoMidi(e.to_string()))
}

/// The ports and their names, told apart.
fn named(client: &MidiOutput) -> Vec<(MidiOutputPort, String)> {
    let ports = client.ports().into_iter();
    // A port without a name has just been unplugged.
    let named = ports.filter_map(|p| client.port_name(&p).ok().map(|n| (p, n)));
    let (ports, names): (Vec<MidiOutputPort>, Vec<String>) = named.unzip();
    ports.into_iter().zip(told_apart(&names)).collect()
}

/// The names of the ports that can be played into, in the order of the system.
///
/// # Errors
/// If the system has no MIDI.
pub fn port_names() -> Result<Vec<String>, MidiOutError> {
    let client = client()?;
    Ok(named(&client).into_iter().map(|(_, name)| name).collect())
}

impl MidiOut {
    /// Opens the port of a name, as [`port_names`] tells it.
    ///
    /// # Errors
    /// If the system has no MIDI, no such port, or does not let it be opened.
    pub fn open(name: &str) -> Result<Self, MidiOutError> {
        let client = client()?;
        let mut ports = named(&client).into_iter();
        let port = ports.find(|(_, n)| n == name);
        let (port, _) = port.ok_or_else(|| MidiOutError::NoPort(name.to_owned()))?;
        let opened = client.connect(&port, CLIENT);
        let connection = opened.map_err(|e| MidiOutError::Busy {
            name: name.to_owned(),
            why: e.to_string(),
        })?;
        Ok(Self {
            name: name.to_owned(),
            outlet: Outlet::new(Connection(connection)),
        })
    }

    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Sends a message.
    ///
    /// # Errors
    /// If the port is gone.
    pub fn send(&mut self, message: [u8; 3]) -> Result<(), MidiOutError> {
        let sent = self.outlet.send(message);
        sent.map_err(|why| self.lost(why))
    }

    /// Stops everything at once.
    ///
    /// # Errors
    /// If the port is gone.
    pub fn stop(&mut self) -> Result<(), MidiOutError> {
        let sent = self.outlet.stop();
        sent.map_err(|why| self.lost(why))
    }

    fn lost(&self, why: String) -> MidiOutError {
        MidiOutError::Lost {
            name: self.name.clone(),
            why,
        }
    }
}
