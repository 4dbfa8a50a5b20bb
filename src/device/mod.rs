//! The sound device: a stream that runs all the time, and a clock that tells what of it has been heard.
//!
//! The caller's function fills stereo frames on the device's thread. It is asked for about 5 ms at a time, 25 ms
//! ahead. What we do on that thread neither allocates nor locks nor waits: the caller's function, a copy, two
//! atomics. The packages beneath do a little more than that, see `pulse` (Linux) and `other` (elsewhere).
//!
//! On a machine whose cores are all busy the device may run dry now and then, because no raised priority is asked for
//! on Linux; [`Output::gaps`] counts that, and [`Output::heard`] follows it.
//!
//! No wait on Linux is without an end: a sound server that has hung costs [`open`] two seconds at most, and dropping
//! an [`Output`] nothing. Elsewhere both take as long as the system does.

mod clock;
mod feed;
pub mod found_fonts;
pub mod heard;
#[cfg(feature = "midi-out")]
pub mod midi_out;
#[cfg(feature = "midi-out")]
pub mod midi_player;
mod no_device;
pub mod open_font;
#[cfg(not(target_os = "linux"))]
mod other;
#[cfg(target_os = "linux")]
pub mod pulse;
#[cfg(any(test, not(target_os = "linux")))]
mod shape;
mod words;

#[cfg(not(target_os = "linux"))]
use other as platform;
#[cfg(target_os = "linux")]
use pulse as platform;

use clock::Clock;
use feed::Feed;
pub use no_device::NoDevice;
use std::sync::Arc;

pub use crate::sound::tones::RATE;

/// Samples of a frame: left and right.
const CHANNELS: usize = 2;

/// Opens this machine's sound output and keeps it running.
///
/// `fill` gets interleaved frames, left and right, full of silence, [`RATE`] a second, and is called on the
/// device's thread until the [`Output`] is dropped. It must not allocate, lock or wait. `name` is what the
/// system's volume control shows.
///
/// # Errors
/// Where there is no sound output, or it does not answer. What is displayed is one sentence for the window.
pub fn open(name: &str, fill: impl FnMut(&mut [f32]) + Send + 'static) -> Result<Output, NoDevice> {
    let clock = Arc::new(Clock::start());
    let stream = platform::open(name, Feed::new(fill, &clock), &clock)?;
    Ok(Output { clock, stream })
}

/// A sound output that plays. Dropping it stops the sound at once; on Linux it waits for nobody.
#[derive(Debug)]
pub struct Output {
    clock: Arc<Clock>,
    /// Stops the sound when it is dropped.
    #[allow(dead_code, reason = "it is held for its drop")]
    stream: platform::Stream,
}

impl Output {
    /// Frames heard since the stream began, up to now, by the device's own clock; `None` until the device has told.
    ///
    /// It never runs backwards and is never more than were written. Between what the device tells it runs on at
    /// [`RATE`]; where the device stands still, it stands still.
    #[must_use]
    pub fn heard(&self) -> Option<f64> {
        self.clock.heard()
    }

    /// Seconds from when a frame is written to when it is heard, as the device tells it; `None` until it has.
    #[must_use]
    pub fn latency(&self) -> Option<f64> {
        self.clock.latency()
    }

    /// How often the device had nothing to play since it began, as far as it tells: each is a gap in the sound.
    #[must_use]
    pub fn gaps(&self) -> u64 {
        self.clock.gaps()
    }

    /// Whether the device still plays: not after it or its server went away. Then another has to be opened.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.clock.is_open()
    }
}
