//! Where bytes go out: whatever happens, no note is left sounding.

/// What takes the bytes of messages.
pub trait Sink {
    /// Takes a message.
    ///
    /// # Errors
    /// Says why it could not be sent.
    fn take(&mut self, message: &[u8]) -> Result<(), String>;
}

const CONTROL: u8 = 0xB0;
/// All notes off, all sound off, reset all controllers.
const STOP: [u8; 3] = [123, 120, 121];
const CHANNELS: u8 = 16;

/// A sink that is quiet after its end.
#[derive(Debug)]
pub struct Outlet<S: Sink> {
    sink: S,
}

impl<S: Sink> Outlet<S> {
    /// An outlet.
    pub const fn new(sink: S) -> Self {
        Self { sink }
    }

    /// Sends a message: of three bytes, or of the two that its kind has.
    ///
    /// # Errors
    /// Says why it could not be sent.
    pub fn send(&mut self, message: [u8; 3]) -> Result<(), String> {
        // Program changes and pressure of a channel have one byte of data.
        let length = match message[0] & 0xF0 {
            0xC0 | 0xD0 => 2,
            _ => 3,
        };
        self.sink.take(message.get(..length).unwrap_or(&message))
    }

    /// Stops everything at once and puts controllers back, on every channel.
    ///
    /// # Errors
    /// Says why it could not be sent; all of it is tried in any case.
    pub fn stop(&mut self) -> Result<(), String> {
        let mut told = Ok(());
        for channel in 0..CHANNELS {
            for controller in STOP {
                let sent = self.send([CONTROL | channel, controller, 0]);
                told = told.and(sent);
            }
        }
        told
    }
}

impl<S: Sink> Drop for Outlet<S> {
    fn drop(&mut self) {
        // Nobody is left to be told of a failure.
        self.stop().ok();
    }
}
