//! Where a sound server is asked for, and its first answers.

use super::NoDevice;
use super::wait::wait;
use pulseaudio::{Client, ClientError};
use std::ffi::CString;
use std::io::ErrorKind;
use std::net::Shutdown;
use std::os::unix::net::UnixStream;
use std::path::PathBuf;
use std::time::Duration;

/// How long a server may take for an answer (ours: one that has to be started first takes about a second, MEM).
const PATIENCE: Duration = Duration::from_secs(2);

/// Bytes of a cookie (PulseAudio's `PA_NATIVE_COOKIE_LENGTH`, MEM; seen: fewer are a protocol error).
const COOKIE: usize = 256;

/// The stand-in that a server offers where no device is connected (seen: PulseAudio 16.1, PipeWire 0.3.65).
const STAND_IN: &[u8] = b"auto_null";

/// Where a sound server is asked for.
#[derive(Clone, Debug)]
pub struct Server {
    /// Its socket; `None` where there is none.
    pub socket: Option<PathBuf>,
    /// The file with the server's cookie, which it wants of other users than its own.
    pub cookie: Option<PathBuf>,
    /// How long it may take for an answer.
    pub patience: Duration,
}

impl Server {
    /// This user's own server: `PULSE_SERVER`, or `pulse/native` in the runtime folder. Servers on other machines are
    /// not asked.
    #[must_use]
    pub fn of_this_user() -> Self {
        Self {
            socket: pulseaudio::socket_path_from_env(),
            cookie: pulseaudio::cookie_path_from_env(),
            patience: PATIENCE,
        }
    }

    /// A client of it that is known to have a device to play to.
    pub(super) fn connect(&self, name: &CString) -> Result<Connection, NoDevice> {
        let path = self.socket.as_ref().ok_or(NoDevice::Nothing)?;
        let socket = UnixStream::connect(path).map_err(|error| broken(&error))?;
        // These hold for the first words alone; after those the client waits for nothing.
        let bounded = socket.set_read_timeout(Some(self.patience));
        let same = bounded
            .and_then(|()| socket.set_write_timeout(Some(self.patience)))
            .and_then(|()| socket.try_clone())
            .map_err(|error| broken(&error))?;
        let client = Client::new_unix(name, socket, Some(self.cookie()));
        let client = client.map_err(|error| refused(&error))?;
        let connection = Connection {
            client,
            socket: same,
        };
        let about = self.answer(connection.client.server_info())?;
        match about.default_sink_name.unwrap_or_default().as_bytes() {
            [] => Err(NoDevice::Nothing),
            STAND_IN => Err(NoDevice::Nobody),
            _ => Ok(connection),
        }
    }

    /// An answer of the server, or why there is none.
    pub(super) fn answer<T>(
        &self,
        future: impl Future<Output = Result<T, ClientError>>,
    ) -> Result<T, NoDevice> {
        wait(future, self.patience)
            .ok_or(NoDevice::NoAnswer)?
            .map_err(|error| refused(&error))
    }

    /// The cookie. A server hangs up on one of another length, so it gets zeros where there is none; it knows its own
    /// user by the socket.
    fn cookie(&self) -> Vec<u8> {
        let read = self
            .cookie
            .as_ref()
            .and_then(|path| std::fs::read(path).ok());
        let mut cookie = read.unwrap_or_default();
        cookie.resize(COOKIE, 0);
        cookie
    }
}

/// A client, and a handle of its socket. Dropping it hangs up: so the server ends the stream at once, and the client's
/// thread ends. Without that it would wait for ever for the next word of a server that has nothing to say.
pub struct Connection {
    /// The client.
    pub client: Client,
    socket: UnixStream,
}

impl Drop for Connection {
    fn drop(&mut self) {
        // It fails where the server has hung up already.
        let _ = self.socket.shutdown(Shutdown::Both);
    }
}

fn refused(error: &ClientError) -> NoDevice {
    use pulseaudio::protocol::ProtocolError;
    match error {
        ClientError::ServerUnavailable => NoDevice::Nothing,
        ClientError::Disconnected => NoDevice::NoAnswer,
        ClientError::Io(io) | ClientError::Protocol(ProtocolError::Io(io)) => broken(io),
        ClientError::Protocol(inner) => NoDevice::Refused(inner.to_string()),
        ClientError::ServerError(inner) => NoDevice::Refused(inner.to_string()),
        other => NoDevice::Refused(other.to_string()),
    }
}

/// A connection that was not made, broke or stayed silent.
fn broken(error: &std::io::Error) -> NoDevice {
    match error.kind() {
        ErrorKind::NotFound | ErrorKind::ConnectionRefused => NoDevice::Nothing,
        ErrorKind::WouldBlock | ErrorKind::TimedOut => NoDevice::NoAnswer,
        ErrorKind::UnexpectedEof => NoDevice::Refused("it hung up".to_owned()),
        _ => NoDevice::Refused(error.to_string()),
    }
}
