//! What the device's thread, the thread that asks it and the window tell each other; atomics alone.

use super::RATE;
use super::heard::{Line, Reading};
use super::words::Words;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::Instant;

/// The state of a stream, shared by all who have to do with it.
#[derive(Debug)]
pub struct Clock {
    opened: Instant,
    /// Frames written, and the time at which the last of them were asked for. The device's thread writes.
    written: Words<2>,
    /// The line of what has been heard. One thread writes: whichever asks the device.
    line: Words<3>,
    /// The most frames that were ever answered.
    answered: AtomicU64,
    gaps: AtomicU64,
    gone: AtomicBool,
    stopped: AtomicBool,
}

impl Clock {
    /// A clock of a stream that opens now.
    pub fn start() -> Self {
        Self {
            opened: Instant::now(),
            written: Words::new(),
            line: Words::new(),
            answered: AtomicU64::new(0),
            gaps: AtomicU64::new(0),
            gone: AtomicBool::new(false),
            stopped: AtomicBool::new(false),
        }
    }

    /// Seconds since the stream was opened.
    pub fn now(&self) -> f64 {
        self.opened.elapsed().as_secs_f64()
    }

    /// The device has `frames` in all, of which the last were asked for `at`. Called by the device's thread alone.
    pub fn wrote(&self, frames: u64, at: f64) {
        self.written.write([frames, at.to_bits()]);
    }

    /// The device told something. Called by one thread alone.
    pub fn told(&self, reading: Reading) {
        let line = Line::follow(self.line(), reading);
        self.line
            .write([line.at, line.frame, line.rate].map(f64::to_bits));
    }

    /// The device had nothing to play.
    pub fn gap(&self) {
        self.gaps.fetch_add(1, Ordering::Relaxed);
    }

    /// How often it had nothing to play.
    pub fn gaps(&self) -> u64 {
        self.gaps.load(Ordering::Relaxed)
    }

    /// Nothing is to be played any more.
    pub fn stop(&self) {
        self.stopped.store(true, Ordering::Release);
    }

    /// Whether nothing is to be played any more.
    pub fn is_stopped(&self) -> bool {
        self.stopped.load(Ordering::Acquire)
    }

    /// The device is no more.
    pub fn close(&self) {
        self.gone.store(true, Ordering::Release);
    }

    /// Whether the device still plays.
    pub fn is_open(&self) -> bool {
        !self.gone.load(Ordering::Acquire)
    }

    /// Frames heard by now.
    pub fn heard(&self) -> Option<f64> {
        self.heard_at(self.now())
    }

    /// Frames heard at a time: never fewer than were answered before, never more than were written.
    fn heard_at(&self, at: f64) -> Option<f64> {
        let told = self.line().zip(self.written.read());
        let frame = told.map_or(0.0, |(line, [frames, _])| {
            line.frame_at(at).min(frames as f64).max(0.0) + 0.0
        });
        // Numbers from 0 up are in the same order as their bits.
        let before = f64::from_bits(self.answered.fetch_max(frame.to_bits(), Ordering::AcqRel));
        (told.is_some() || before > 0.0).then(|| frame.max(before))
    }

    /// Seconds from when a frame is written to when it is heard.
    pub fn latency(&self) -> Option<f64> {
        let (line, [frames, at]) = self.line().zip(self.written.read())?;
        let under_way = frames as f64 - line.frame_at(f64::from_bits(at));
        Some((under_way / f64::from(RATE)).max(0.0))
    }

    fn line(&self) -> Option<Line> {
        let [at, frame, rate] = self.line.read()?.map(f64::from_bits);
        Some(Line { at, frame, rate })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn plays(at: f64, frame: f64) -> Reading {
        let plays = true;
        Reading {
            at,
            frame,
            plays,
            anew: false,
        }
    }

    #[test]
    fn nothing_is_told_before_the_device_does() {
        let clock = Clock::start();
        assert_eq!(clock.heard_at(1.0), None);
        clock.wrote(1_102, 0.0);
        assert_eq!((clock.heard_at(1.0), clock.latency()), (None, None));
        clock.told(plays(0.01, -600.0));
        assert_eq!(clock.heard_at(0.01), Some(0.0));
    }

    #[test]
    fn heard_runs_on_between_answers_and_stops_at_what_was_written() {
        let clock = Clock::start();
        clock.wrote(44_100, 0.98);
        clock.told(plays(1.0, 43_000.0));
        assert_eq!(clock.heard_at(1.01), Some(43_441.0));
        assert_eq!(clock.heard_at(1.02), Some(43_882.0));
        assert_eq!(clock.heard_at(1.5), Some(44_100.0));
        assert_eq!(clock.heard_at(9.0), Some(44_100.0));
        // Asked for at 0.98, when 42,118 had been heard: 1,982 frames were under way.
        let latency = clock.latency().unwrap();
        assert!((latency - 1_982.0 / 44_100.0).abs() < 1e-9, "{latency}");
    }

    #[test]
    fn a_device_that_waits_stands_still_and_goes_on_from_there() {
        let clock = Clock::start();
        clock.wrote(100_000, 1.9);
        clock.told(plays(1.0, 40_000.0));
        let plays = false;
        clock.told(Reading {
            at: 1.1,
            frame: 42_000.0,
            plays,
            anew: false,
        });
        assert_eq!(clock.heard_at(1.1), Some(42_000.0));
        assert_eq!(clock.heard_at(1.4), Some(42_000.0));
        clock.told(Reading {
            at: 1.5,
            frame: 42_500.0,
            plays: true,
            anew: false,
        });
        assert_eq!(clock.heard_at(1.6), Some(46_910.0));
    }

    #[test]
    fn after_a_leap_back_heard_waits_until_it_is_caught_up() {
        let clock = Clock::start();
        clock.wrote(100_000, 1.0);
        clock.told(plays(1.0, 40_000.0));
        assert_eq!(clock.heard_at(1.1), Some(44_410.0));
        clock.told(plays(1.1, 42_000.0));
        assert_eq!(clock.heard_at(1.1), Some(44_410.0));
        assert_eq!(clock.heard_at(1.12), Some(44_410.0));
        let caught_up = clock.heard_at(1.2).unwrap();
        assert!((caught_up - 46_410.0).abs() < 1e-6, "{caught_up}");
    }

    #[test]
    fn after_a_gap_the_device_is_believed_at_once() {
        let clock = Clock::start();
        clock.wrote(100_000, 1.0);
        clock.told(plays(1.0, 40_000.0));
        let late = plays(1.1, 44_210.0);
        clock.told(Reading { anew: true, ..late });
        assert_eq!(clock.heard_at(1.1), Some(44_210.0));
        // Without a gap it would have counted a quarter.
        clock.told(plays(1.1, 44_250.0));
        assert_eq!(clock.heard_at(1.1), Some(44_220.0));
    }

    proptest! {
        #[test]
        fn heard_never_runs_backwards_and_never_ahead(
            steps in proptest::collection::vec(
                (0.0..0.2_f64, -3_000.0..3_000.0_f64, 0_u64..12_000, any::<bool>(), any::<bool>()),
                1..60,
            ),
        ) {
            let clock = Clock::start();
            let (mut at, mut written, mut last) = (0.0, 0, 0.0);
            for (secs, jitter, frames, tells, plays) in steps {
                at += secs;
                written += frames;
                clock.wrote(written, at);
                if tells {
                    clock.told(Reading { anew: secs < 0.05, at, frame: at * 44_100.0 + jitter, plays });
                }
                if let Some(heard) = clock.heard_at(at) {
                    prop_assert!(heard >= last, "{heard} after {last}");
                    prop_assert!(heard <= written as f64, "{heard} of {written}");
                    last = heard;
                }
                prop_assert!(clock.latency().is_none_or(|l| l >= 0.0));
            }
        }

        #[test]
        fn heard_is_no_further_off_than_the_jitter_and_the_crystal(
            jitters in proptest::collection::vec(-220.0..220.0_f64, 30..80),
        ) {
            // The device is 100 parts in a million fast, 0.44 frames an answer: the line stays three
            // answers behind.
            let truth = |at: f64| at * 44_100.0 * 1.0001;
            let clock = Clock::start();
            clock.wrote(u64::from(u32::MAX), 0.0);
            for (answer, jitter) in jitters.iter().enumerate() {
                let at = answer as f64 / 10.0;
                clock.told(plays(at, truth(at) + jitter));
            }
            let line = clock.line().unwrap();
            prop_assert!((line.frame - truth(line.at)).abs() < 220.0 + 1.4);
        }
    }
}
