//! What has been heard: a straight line through what the device tells now and then.
//!
//! A device tells some times a second, and with some jitter: its blocks, and the time that the answer was under way.
//! Between two answers sound runs on at its rate, so a line is known by one point. Each answer moves the point a part
//! of the way. A sound card's crystal is off by some hundred parts in a million at most (MEM), which is some frames in
//! a tenth of a second: far too little to need a second number for the slope.

use super::RATE;

/// The part of the way that one answer moves the line (ours: the spread of jitter falls to 0.38 of itself, and an error
/// of 10 ms is under 1 ms after nine answers).
const PART: f64 = 0.25;

/// From this many frames on it is not jitter but a gap or a new device (ours: 20 ms).
const LEAP: f64 = 882.0;

/// What a device told.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Reading {
    /// Seconds since the stream was opened.
    pub at: f64,
    /// Frames heard by then; below 0 where the first is still under way.
    pub frame: f64,
    /// Whether it was playing, rather than waiting for frames.
    pub plays: bool,
    /// Whether it began to play anew since it told the last time: what was thought of it then is void.
    pub anew: bool,
}

/// What has been heard at any time.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Line {
    /// Seconds since the stream was opened.
    pub at: f64,
    /// Frames heard by then.
    pub frame: f64,
    /// Frames a second: [`RATE`], or 0 where the device waits.
    pub rate: f64,
}

impl Line {
    /// The line after one more answer.
    ///
    /// ```
    /// use bandwright::device::heard::{Line, Reading};
    /// let first = Line::follow(None, Reading { at: 1.0, frame: 40_000.0, plays: true, anew: true });
    /// assert_eq!(first.frame_at(1.1), 44_410.0);
    /// // The next answer is 40 frames late: it counts a quarter.
    /// let second = Line::follow(Some(first), Reading { at: 1.1, frame: 44_370.0, plays: true, anew: false });
    /// assert_eq!(second.frame_at(1.1), 44_400.0);
    /// ```
    #[must_use]
    pub fn follow(before: Option<Line>, told: Reading) -> Line {
        let rate = if told.plays { f64::from(RATE) } else { 0.0 };
        let frame = match before {
            Some(line) if line.rate > 0.0 && told.plays && !told.anew => {
                let thought = line.frame_at(told.at);
                let off = told.frame - thought;
                if off.abs() < LEAP {
                    thought + PART * off
                } else {
                    told.frame
                }
            }
            _ => told.frame,
        };
        Line {
            at: told.at,
            frame,
            rate,
        }
    }

    /// Frames heard at a time, in seconds since the stream was opened.
    #[must_use]
    pub fn frame_at(&self, at: f64) -> f64 {
        self.frame + (at - self.at) * self.rate
    }
}
