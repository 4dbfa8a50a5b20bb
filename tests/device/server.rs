//! A small server of the sound protocol, which plays to nobody and says what it was told to say.

use bandwright::device::pulse::Server;
use pulseaudio::protocol::{
    AuthReply, Command, CommandReply, CreatePlaybackStreamReply, MAX_VERSION, PlaybackLatency,
    PlaybackStreamParams, ProtocolError, PulseError, Request, ServerInfo, SetClientNameReply,
    TagStructWrite, read_descriptor, write_ack_message, write_command_message, write_error,
    write_reply_message,
};
use std::ffi::CString;
use std::io::{BufReader, Read};
use std::os::unix::net::{UnixListener, UnixStream};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, SystemTime};
use tempfile::TempDir;

/// What a server is like.
#[derive(Clone, Debug)]
pub struct Ways {
    /// The device it plays to.
    pub device: &'static str,
    /// Whether it makes a stream.
    pub willing: bool,
    /// It asks for so many frames at first, all at once.
    pub frames: u32,
    /// It says this of the stream, in turn, and the last for ever.
    pub told: Vec<Told>,
    /// It goes away when it was asked so many times what was heard.
    pub leaves_after: usize,
}

/// What a server says when it is asked what was heard.
#[derive(Clone, Copy, Debug)]
pub struct Told {
    /// Frames that the device has read.
    pub read: i64,
    /// Of these, not yet heard.
    pub held_micros: u64,
    /// Whether it plays.
    pub plays: bool,
    /// Bytes played since it last had nothing to play.
    pub playing_for: u64,
}

/// What a server saw.
#[derive(Debug, Default)]
pub struct Seen {
    pub cookie: Vec<u8>,
    pub params: Option<PlaybackStreamParams>,
    pub samples: Vec<u8>,
}

/// A server that serves one client; what it saw comes when it has gone, or the client has hung up.
pub fn serve(ways: Ways) -> (TempDir, Server, Receiver<Seen>) {
    let (folder, listener, server) = listening();
    let (sender, seen) = channel();
    std::thread::spawn(move || {
        let socket = listener.accept().unwrap().0;
        let mut served = Served {
            socket: BufReader::new(socket),
            ways,
            asked: 0,
            seen: Seen::default(),
        };
        // It ends by an error when the client hangs up.
        let _ = served.serve();
        sender.send(served.seen).unwrap();
    });
    (folder, server, seen)
}

/// A socket at which nobody has answered yet, and a client's way to it.
pub fn listening() -> (TempDir, UnixListener, Server) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("native");
    let listener = UnixListener::bind(&path).unwrap();
    let server = Server {
        socket: Some(path),
        cookie: None,
        patience: Duration::from_secs(60),
    };
    (folder, listener, server)
}

struct Served {
    socket: BufReader<UnixStream>,
    ways: Ways,
    asked: usize,
    seen: Seen,
}

impl Served {
    fn serve(&mut self) -> Result<(), ProtocolError> {
        while self.asked < self.ways.leaves_after {
            let about = read_descriptor(&mut self.socket)?;
            let mut body = vec![0; about.length as usize];
            self.socket.read_exact(&mut body)?;
            if about.channel == u32::MAX {
                let (seq, command) = Command::read_tag_prefixed(&mut body.as_slice(), MAX_VERSION)?;
                self.command(seq, command)?;
            } else {
                self.seen.samples.extend(body);
            }
        }
        Ok(())
    }

    fn command(&mut self, seq: u32, command: Command) -> Result<(), ProtocolError> {
        match command {
            Command::Auth(auth) => {
                self.seen.cookie = auth.cookie;
                let (version, use_memfd, use_shm) = (MAX_VERSION, false, false);
                self.reply(
                    seq,
                    &AuthReply {
                        version,
                        use_memfd,
                        use_shm,
                    },
                )
            }
            Command::SetClientName(_) => self.reply(seq, &SetClientNameReply { client_id: 3 }),
            Command::GetServerInfo => self.reply(
                seq,
                &ServerInfo {
                    default_sink_name: Some(CString::new(self.ways.device).unwrap()),
                    ..Default::default()
                },
            ),
            Command::CreatePlaybackStream(_) if !self.ways.willing => {
                write_error(self.socket.get_mut(), seq, &PulseError::Busy)
            }
            Command::CreatePlaybackStream(params) => self.stream(seq, params),
            Command::GetPlaybackLatency(asked) => self.latency(seq, asked.now),
            Command::DeletePlaybackStream(_) => write_ack_message(self.socket.get_mut(), seq),
            other => panic!("{other:?} is not what it knows"),
        }
    }

    fn stream(&mut self, seq: u32, params: PlaybackStreamParams) -> Result<(), ProtocolError> {
        let reply = CreatePlaybackStreamReply {
            channel: 5,
            requested_bytes: params.buffer_attr.target_length,
            buffer_attr: params.buffer_attr,
            sample_spec: params.sample_spec,
            channel_map: params.channel_map,
            ..Default::default()
        };
        let length = self.ways.frames * 8 - reply.requested_bytes;
        self.seen.params = Some(params);
        self.reply(seq, &reply)?;
        let more = Command::Request(Request { channel: 5, length });
        write_command_message(self.socket.get_mut(), u32::MAX, &more, MAX_VERSION)
    }

    fn latency(&mut self, seq: u32, asked_on: SystemTime) -> Result<(), ProtocolError> {
        let last = self.ways.told.len() - 1;
        let told = self.ways.told[self.asked.min(last)];
        self.asked += 1;
        let reply = PlaybackLatency {
            sink_usec: told.held_micros,
            source_usec: 0,
            playing: told.plays,
            local_time: asked_on,
            remote_time: SystemTime::now(),
            write_offset: self.seen.samples.len() as i64,
            read_offset: told.read * 8,
            underrun_for: 0,
            playing_for: told.playing_for,
        };
        self.reply(seq, &reply)
    }

    fn reply<R: CommandReply + TagStructWrite>(
        &mut self,
        seq: u32,
        reply: &R,
    ) -> Result<(), ProtocolError> {
        write_reply_message(self.socket.get_mut(), seq, reply, MAX_VERSION)
    }
}
