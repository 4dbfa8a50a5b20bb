//! Timelines in shares and in bars by their own tempo plan: stretched to a length, or told in seconds.

use super::place::{MOST_BARS, MOST_SECONDS, Place, Seconds, Share, at_bars, beats_in_bar};
use super::{BeatClock, Timeline, bar_line};
use crate::music::{BarBeat, Meter};

impl Timeline<Share> {
    /// Stretched to some bars of its meter (1 to 10 000). Places land on the nearest bar line, so that peaks begin
    /// with a bar; where two would land on the same one, both stay exactly where they are.
    ///
    /// ```
    /// use bandwright::plan::timeline::{Place, template};
    /// let rise = template("long-rise").unwrap().in_bars(60);
    /// assert_eq!(rise.bars(), 60);
    /// assert!(rise.marks.iter().all(|m| m.at.beat == 1.0));
    /// ```
    #[must_use]
    pub fn in_bars(&self, bars: u32) -> Timeline<BarBeat> {
        let bars = bars.clamp(1, MOST_BARS);
        let exact: Vec<f64> = self
            .places()
            .into_iter()
            .map(|p| p.0 * f64::from(bars))
            .collect();
        let alone = |line: f64| exact.iter().filter(|e| e.round() == line).count() == 1;
        let to = |place: Share| {
            let along = place.0 * f64::from(bars);
            let line = along.round();
            at_bars(if alone(line) { line } else { along }, self.meter)
        };
        let mut stretched = self.moved(&to);
        stretched.end = bar_line(bars + 1);
        stretched
    }

    /// Stretched to some seconds (up to six hours).
    #[must_use]
    pub fn in_seconds(&self, seconds: f64) -> Timeline<Seconds> {
        let whole = if seconds.is_finite() {
            seconds.clamp(0.0, MOST_SECONDS)
        } else {
            0.0
        };
        self.moved(&|place: Share| Seconds(place.0 * whole))
    }
}

impl Timeline<BarBeat> {
    /// The clock of its tempo plan, in felt beats of its meter.
    #[must_use]
    pub fn clock(&self) -> BeatClock {
        let tempos = self.tempos.iter();
        BeatClock::new(tempos.map(|t| (beats(t.at, self.meter), t.beats_per_minute, t.ramp)))
    }

    /// Seconds from the beginning to a place, by its tempo plan, with the pauses before it.
    #[must_use]
    pub fn seconds_to(&self, at: BarBeat) -> Seconds {
        let reached = beats(at, self.meter);
        let before = self
            .pauses
            .iter()
            .filter(|p| beats(p.at, self.meter) < reached);
        let paused: f64 = before.map(|p| p.seconds).sum();
        Seconds(self.clock().seconds(reached) + paused)
    }

    /// The same in seconds, by its own tempo plan: what a plan in bars lasts before there is music. A pause at a
    /// place comes after that place and before what follows.
    ///
    /// ```
    /// use bandwright::plan::timeline::{Seconds, TempoPoint, Timeline, bar_line};
    /// let mut plan = Timeline::new("March", bar_line(17));
    /// let (at, beats_per_minute) = (bar_line(1), 96.0);
    /// plan.tempos.push(TempoPoint { at, beats_per_minute, ramp: false });
    /// assert_eq!(plan.in_seconds().end, Seconds(40.0));
    /// ```
    #[must_use]
    pub fn in_seconds(&self) -> Timeline<Seconds> {
        self.moved(&|place| self.seconds_to(place))
    }
}

/// Felt beats from the beginning.
fn beats(at: BarBeat, meter: Meter) -> f64 {
    at.along(meter) * f64::from(beats_in_bar(meter))
}
