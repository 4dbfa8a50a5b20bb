//! Other systems than Linux: the package `cpal`, which speaks to each in its own way.
//!
//! It calls our [`Feed`] on the system's own thread for sound, with the system's priority, and tells each time how
//! long it will be until the first frame is heard. What it asks for is the system's usual: some 10 ms at a time.

use super::clock::Clock;
use super::feed::Feed;
use super::heard::Reading;
use super::no_device::NoDevice;
use super::shape::Shape;
use super::{CHANNELS, RATE};
use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{ErrorKind, OutputCallbackInfo, SampleFormat, StreamConfig};
use std::sync::Arc;
use std::time::Duration;

/// How long the system may take to begin, where it can be told so.
const PATIENCE: Duration = Duration::from_secs(2);

/// The stream, as the window holds it. Dropping it ends the stream.
pub struct Stream {
    clock: Arc<Clock>,
    /// Ends the stream when it is dropped.
    _stream: cpal::Stream,
}

impl std::fmt::Debug for Stream {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("Stream").field(&self.clock).finish()
    }
}

impl Drop for Stream {
    fn drop(&mut self) {
        self.clock.stop();
    }
}

/// As [`super::open`]. These systems have no place for the name: they show the program's.
pub(super) fn open<F: FnMut(&mut [f32]) + Send + 'static>(
    _name: &str,
    mut feed: Feed<F>,
    clock: &Arc<Clock>,
) -> Result<Stream, NoDevice> {
    let device = cpal::default_host()
        .default_output_device()
        .ok_or(NoDevice::Nothing)?;
    let config = taken(&device)?;
    let mut shape = Shape::new(config.sample_rate, config.channels);
    let (its_clock, its_end) = (Arc::clone(clock), Arc::clone(clock));
    let fill = move |out: &mut [f32], about: &OutputCallbackInfo| {
        its_clock.told(reading(about, feed.frames(), its_clock.now()));
        shape.fill(out, |frames| feed.samples(frames));
    };
    let failed = move |error: cpal::Error| match error.kind() {
        ErrorKind::Xrun => its_end.gap(),
        ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied => (),
        _ => its_end.close(),
    };
    let stream = device
        .build_output_stream(config, fill, failed, Some(PATIENCE))
        .map_err(|error| refused(&error))?;
    stream.play().map_err(|error| refused(&error))?;
    Ok(Stream {
        clock: Arc::clone(clock),
        _stream: stream,
    })
}

/// What the device takes of what we have: our rate and two channels, our rate, or what it plays by itself.
fn taken(device: &cpal::Device) -> Result<StreamConfig, NoDevice> {
    let offered: Vec<_> = device
        .supported_output_configs()
        .map_err(|error| refused(&error))?
        .filter(|offer| offer.sample_format() == SampleFormat::F32)
        .filter_map(|offer| offer.try_with_sample_rate(RATE))
        .collect();
    let stereo = |offer: &&cpal::SupportedStreamConfig| usize::from(offer.channels()) == CHANNELS;
    if let Some(offer) = offered.iter().find(stereo).or(offered.first()) {
        return Ok(offer.config());
    }
    let usual = device
        .default_output_config()
        .map_err(|error| refused(&error))?;
    if usual.sample_format() == SampleFormat::F32 {
        return Ok(usual.config());
    }
    Err(NoDevice::Refused(format!(
        "it takes samples of the kind {} alone",
        usual.sample_format()
    )))
}

/// The next frame to be written will be heard after the delay that the device tells.
fn reading(about: &OutputCallbackInfo, frames: u64, at: f64) -> Reading {
    let times = about.timestamp();
    let delay = times.playback.saturating_duration_since(times.callback);
    Reading {
        at,
        frame: frames as f64 - delay.as_secs_f64() * f64::from(RATE),
        plays: true,
        anew: false,
    }
}

fn refused(error: &cpal::Error) -> NoDevice {
    match error.kind() {
        ErrorKind::DeviceNotAvailable | ErrorKind::HostUnavailable => NoDevice::Nothing,
        _ => NoDevice::Refused(error.to_string().trim_end_matches('.').to_owned()),
    }
}
