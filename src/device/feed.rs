//! What the device's thread calls: the caller's function, and a count of the frames it gave.

use super::CHANNELS;
use super::clock::Clock;
use std::sync::Arc;

/// The caller's function as the device's thread needs it. It neither allocates nor locks nor waits.
///
/// When the device drops it, it will not be called again: so the clock learns that the device is no more.
#[derive(Debug)]
pub struct Feed<F> {
    fill: F,
    clock: Arc<Clock>,
    frames: u64,
}

impl<F: FnMut(&mut [f32])> Feed<F> {
    /// A feed that gave nothing yet.
    pub fn new(fill: F, clock: &Arc<Clock>) -> Self {
        Self {
            fill,
            clock: Arc::clone(clock),
            frames: 0,
        }
    }

    /// Frames that it gave so far.
    #[cfg(any(test, not(target_os = "linux")))]
    pub fn frames(&self) -> u64 {
        self.frames
    }

    /// Fills whole frames of samples, interleaved. After a stop they are silent.
    pub fn samples(&mut self, out: &mut [f32]) {
        let asked = self.clock.now();
        out.fill(0.0);
        if !self.clock.is_stopped() {
            (self.fill)(out);
        }
        self.frames += (out.len() / CHANNELS) as u64;
        self.clock.wrote(self.frames, asked);
    }
}

impl<F> Drop for Feed<F> {
    fn drop(&mut self) {
        self.clock.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::heard::Reading;
    use crate::device::shape::Shape;

    #[test]
    fn it_counts_what_it_gave() {
        let clock = Arc::new(Clock::start());
        let mut feed = Feed::new(|out: &mut [f32]| out.fill(1.0), &clock);
        let mut out = vec![9.0; 20];
        feed.samples(&mut out);
        feed.samples(&mut out[..6]);
        assert_eq!(out, [1.0; 20]);
        assert_eq!(feed.frames(), 13);
    }

    #[test]
    fn after_a_stop_it_is_silent_and_when_dropped_the_clock_knows() {
        let clock = Arc::new(Clock::start());
        let mut feed = Feed::new(|out: &mut [f32]| out.fill(1.0), &clock);
        let mut out = vec![9.0; 4];
        clock.stop();
        feed.samples(&mut out);
        assert_eq!(out, [0.0; 4]);
        assert!(clock.is_open());
        drop(feed);
        assert!(!clock.is_open());
    }

    #[test]
    fn a_device_that_tells_at_each_request_makes_it_allocate_nothing() {
        let clock = Arc::new(Clock::start());
        let mut feed = Feed::new(|out: &mut [f32]| out.fill(1.0), &clock);
        let mut shape = Shape::new(48_000, 6);
        let mut out = vec![0.0; 60_000];
        let made = allocation_counter::measure(|| {
            clock.told(Reading {
                at: clock.now(),
                frame: feed.frames() as f64 - 441.0,
                plays: true,
                anew: false,
            });
            shape.fill(&mut out, |frames| feed.samples(frames));
        });
        assert_eq!(made.count_total, 0);
    }
}
