//! Linux: a client of the sound server's protocol, in Rust. PulseAudio speaks it, and PipeWire in its place.
//!
//! Two threads. The package `pulseaudio` has its own, which carries what the server asks for and calls our
//! `Feed`. There that package itself clears a buffer of 1 MB whenever something comes, and takes a lock that is
//! free but for the moments when the other thread puts a question; for the answer, twenty times a second, it allocates.
//! It has no raised priority. The other thread is ours: it opens the stream, asks twenty times a second what of it has
//! been heard, and ends it.

mod bytes;
mod server;
mod wait;

use crate::device::clock::Clock;
use crate::device::feed::Feed;
use crate::device::heard::Reading;
use crate::device::no_device::NoDevice;
use crate::device::{CHANNELS, Output, RATE};
use bytes::Bytes;
use pulseaudio::protocol::{self, stream};
use pulseaudio::{AsPlaybackSource, PlaybackStream};
use server::Connection;
pub use server::Server;
use std::ffi::CString;
use std::sync::Arc;
use std::sync::mpsc::{RecvTimeoutError, SyncSender, sync_channel};
use std::thread::{self, Thread};
use std::time::{Duration, SystemTime};
use wait::wait;

/// Between two questions what has been heard (ours: a gap is noticed so late at most).
const PAUSE: Duration = Duration::from_millis(50);

/// The same while the server has nothing to play, at the start and in a gap.
const PAUSE_AT_REST: Duration = Duration::from_millis(10);

/// What is asked of the device: seconds from when a frame is written to when it is heard (ours: half of the 50 ms
/// from key to sound that are allowed; the other half is for the window, which takes up a key once a frame).
const TARGET_SECS: f64 = 0.025;

/// Bytes of a frame.
const FRAME: u32 = (CHANNELS * size_of::<f32>()) as u32;

/// The stream, as the window holds it. Dropping it ends the stream and does not wait for that.
#[derive(Debug)]
pub struct Stream {
    clock: Arc<Clock>,
    thread: Thread,
}

impl Drop for Stream {
    fn drop(&mut self) {
        self.clock.stop();
        self.thread.unpark();
    }
}

/// As [`super::open`].
pub(super) fn open<F: FnMut(&mut [f32]) + Send + 'static>(
    name: &str,
    feed: Feed<F>,
    clock: &Arc<Clock>,
) -> Result<Stream, NoDevice> {
    start(&Server::of_this_user(), name, feed, clock)
}

/// As [`super::open`], of a named server.
///
/// # Errors
/// As there.
pub fn open_at(
    server: &Server,
    name: &str,
    fill: impl FnMut(&mut [f32]) + Send + 'static,
) -> Result<Output, NoDevice> {
    let clock = Arc::new(Clock::start());
    let stream = start(server, name, Feed::new(fill, &clock), &clock)?;
    Ok(Output { clock, stream })
}

fn start<F: FnMut(&mut [f32]) + Send + 'static>(
    server: &Server,
    name: &str,
    feed: Feed<F>,
    clock: &Arc<Clock>,
) -> Result<Stream, NoDevice> {
    let (tell, told) = sync_channel(1);
    let (its_server, its_clock) = (server.clone(), Arc::clone(clock));
    let name = CString::new(name.replace('\0', "")).unwrap_or_default();
    let thread = thread::Builder::new()
        .name("sound clock".to_owned())
        .spawn(move || attend(&its_server, &name, feed, &its_clock, &tell))
        .map_err(|error| NoDevice::Refused(error.to_string()))?;
    // From here on, an early return ends the thread as soon as it gets through.
    let stream = Stream {
        clock: Arc::clone(clock),
        thread: thread.thread().clone(),
    };
    match told.recv_timeout(server.patience) {
        Ok(Ok(())) => Ok(stream),
        Ok(Err(why)) => Err(why),
        Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => Err(NoDevice::NoAnswer),
    }
}

/// What our thread does, from the first word to the server to the last.
fn attend<F: FnMut(&mut [f32]) + Send + 'static>(
    server: &Server,
    name: &CString,
    feed: Feed<F>,
    clock: &Clock,
    tell: &SyncSender<Result<(), NoDevice>>,
) {
    // The connection is held to the end: the stream and the client's own thread end with it.
    let (_connection, stream) = match begin(server, name, feed) {
        Ok(begun) => begun,
        Err(why) => {
            // Nobody is left to tell where the window has given up by now.
            let _ = tell.send(Err(why));
            return;
        }
    };
    if tell.send(Ok(())).is_ok() {
        ask(&stream, clock, server.patience);
    }
    clock.close();
}

/// Connects and begins to play.
fn begin<F: FnMut(&mut [f32]) + Send + 'static>(
    server: &Server,
    name: &CString,
    feed: Feed<F>,
) -> Result<(Connection, PlaybackStream), NoDevice> {
    let connection = server.connect(name)?;
    let mut bytes = Bytes::of(feed);
    let source = move |out: &mut [u8]| {
        bytes.fill(out);
        out.len()
    };
    let stream = connection
        .client
        .create_playback_stream(wanted(name), source.as_playback_source());
    let stream = server.answer(stream)?;
    Ok((connection, stream))
}

/// The stream we want: 25 ms of the server's buffer and the device's together, filled 5 ms at a time.
fn wanted(name: &CString) -> protocol::PlaybackStreamParams {
    let frames = (f64::from(RATE) * TARGET_SECS) as u32;
    let mut props = protocol::Props::new();
    props.set(protocol::Prop::MediaName, name);
    protocol::PlaybackStreamParams {
        sample_spec: protocol::SampleSpec {
            format: protocol::SampleFormat::Float32Le,
            channels: CHANNELS as u8,
            sample_rate: RATE,
        },
        channel_map: protocol::ChannelMap::stereo(),
        sink_name: Some(protocol::DEFAULT_SINK.to_owned()),
        buffer_attr: stream::BufferAttr {
            target_length: frames * FRAME,
            minimum_request_length: frames / 5 * FRAME,
            ..Default::default()
        },
        flags: stream::StreamFlags {
            adjust_latency: true,
            ..Default::default()
        },
        props,
        ..Default::default()
    }
}

/// Asks what has been heard, until the window wants no more or the server is no more.
fn ask(stream: &PlaybackStream, clock: &Clock, patience: Duration) {
    let (mut begun, mut played) = (false, 0);
    while !clock.is_stopped() && clock.is_open() {
        let (sent, sent_on) = (clock.now(), SystemTime::now());
        let Some(Ok(told)) = wait(stream.timing_info(), patience) else {
            return;
        };
        let gap = told.playing_for < played;
        if gap {
            clock.gap();
        }
        played = told.playing_for;
        begun |= told.playing;
        if begun {
            let at = between(sent, clock.now(), sent_on, told.remote_time);
            clock.told(Reading {
                anew: gap,
                ..reading(&told, at)
            });
        }
        let pause = if told.playing { PAUSE } else { PAUSE_AT_REST };
        thread::park_timeout(pause);
    }
}

/// What the server told: what the device has read of the stream, without what it has read and not yet played.
fn reading(told: &protocol::PlaybackLatency, at: f64) -> Reading {
    let read = told.read_offset as f64 / f64::from(FRAME);
    let in_device = told.sink_usec as f64 / 1e6 * f64::from(RATE);
    Reading {
        at,
        frame: read - in_device,
        plays: told.playing,
        anew: false,
    }
}

/// When the server looked, in seconds: by its own word, where that falls between question and answer; else the middle.
fn between(sent: f64, back: f64, sent_on: SystemTime, looked: SystemTime) -> f64 {
    let by_its_word = looked
        .duration_since(sent_on)
        .map(|late| sent + late.as_secs_f64());
    by_its_word
        .ok()
        .filter(|at| *at <= back)
        .unwrap_or(f64::midpoint(sent, back))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_server_looked_when_it_says_if_that_can_be() {
        let day = SystemTime::UNIX_EPOCH + Duration::from_secs(86_400);
        let after = |millis| day + Duration::from_millis(millis);
        assert_eq!(between(5.0, 5.5, day, after(125)), 5.125);
        // Its clock was set meanwhile, or is another's.
        assert_eq!(between(5.0, 5.5, day, after(3_000)), 5.25);
        assert_eq!(between(5.0, 5.5, after(125), day), 5.25);
    }

    #[test]
    fn what_the_device_holds_is_not_yet_heard() {
        let told = protocol::PlaybackLatency {
            sink_usec: 10_000,
            source_usec: 0,
            playing: true,
            local_time: SystemTime::UNIX_EPOCH,
            remote_time: SystemTime::UNIX_EPOCH,
            write_offset: 16_000,
            read_offset: 8_000,
            underrun_for: 0,
            playing_for: 8_000,
        };
        // 8,000 bytes are 1,000 frames, 10 ms are 441.
        assert_eq!(reading(&told, 2.0).frame, 559.0);
    }
}
