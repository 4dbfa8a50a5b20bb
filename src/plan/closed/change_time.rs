//! The time that players need to put one instrument down and take up another.

use crate::music::{MeterMap, TempoMap, Tick};

/// At least so many seconds (ours; common practice, no source).
const SECONDS: f64 = 8.0;
/// And at least so many bars (ours; common practice, no source).
const BARS: f64 = 2.0;
/// Rounding that is no shortness.
const ROUNDING: f64 = 1e-9;

/// Meters and tempos, for telling whether there is time to change instruments.
#[derive(Clone, Copy, Debug)]
pub struct ChangeTime<'a> {
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// Tempos.
    pub tempo: &'a TempoMap,
}

impl ChangeTime<'_> {
    /// The first tick at which a player who sounds one instrument until `end` may sound the other.
    pub(super) fn after(&self, end: Tick) -> Tick {
        let mut step = 1;
        while !self.is_enough(end, Tick(end.0.saturating_add(step))) {
            if end.0.checked_add(step).is_none() {
                return Tick(u64::MAX);
            }
            step = step.saturating_mul(2);
        }
        first(end.0, end.0.saturating_add(step), |t| {
            self.is_enough(end, Tick(t))
        })
    }

    /// The last tick until which a player may sound one instrument who sounds the other from
    /// `start` on; the start of the piece where there is no time at all.
    pub(super) fn before(&self, start: Tick) -> Tick {
        if !self.is_enough(Tick::ZERO, start) {
            return Tick::ZERO;
        }
        let too_late = first(0, start.0, |t| !self.is_enough(Tick(t), start));
        Tick(too_late.0.saturating_sub(1))
    }

    /// Whether there are eight seconds and two bars between two ticks, whichever is longer. Bars
    /// are counted from a place in one bar to the same place in another.
    #[must_use]
    pub fn is_enough(&self, end: Tick, start: Tick) -> bool {
        let seconds = self.tempo.seconds(start) - self.tempo.seconds(end);
        seconds >= SECONDS - ROUNDING && self.bars(start) - self.bars(end) >= BARS - ROUNDING
    }

    fn bars(&self, at: Tick) -> f64 {
        let bar = self.meters.bar(at);
        let (start, end) = (self.meters.bar_start(bar), self.meters.bar_end(bar));
        f64::from(bar.0) + at.since(start).0 as f64 / end.since(start).0.max(1) as f64
    }
}

/// The first number after `from` (at most `to`, where it holds) at which something holds that goes
/// on holding.
fn first(mut from: u64, mut to: u64, holds: impl Fn(u64) -> bool) -> Tick {
    while from + 1 < to {
        let middle = from + (to - from) / 2;
        if holds(middle) {
            to = middle;
        } else {
            from = middle;
        }
    }
    Tick(to)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::TicksPerQuarter;
    use crate::music::tempo::TempoChange;

    fn time(micros: u32) -> (MeterMap, TempoMap) {
        let quarter = TicksPerQuarter::new(480).unwrap();
        let tempo = TempoChange {
            at: Tick::ZERO,
            micros_per_quarter: micros,
        };
        (MeterMap::new(quarter, []), TempoMap::new(quarter, [tempo]))
    }

    #[test]
    fn eight_seconds_where_bars_are_short_and_two_bars_where_they_are_long() {
        // Bars of two seconds: eight seconds are four bars. Bars of eight: two bars are sixteen.
        for (micros, ticks) in [(500_000, 4 * 1920), (2_000_000, 2 * 1920)] {
            let (meters, tempo) = time(micros);
            let time = ChangeTime {
                meters: &meters,
                tempo: &tempo,
            };
            assert_eq!(time.after(Tick(1000)), Tick(1000 + ticks));
            assert_eq!(time.before(Tick(1000 + ticks)), Tick(1000));
            assert_eq!(time.before(Tick(ticks - 1)), Tick::ZERO);
        }
    }
}
