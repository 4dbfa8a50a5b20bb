//! A bar as a stretch of ticks, and the places of ticks inside it.

use super::value::Grains;
use crate::music::{BarNumber, Meter, MeterMap, Tick, Ticks};

/// A bar in time.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct BarTime {
    /// Its number.
    pub number: BarNumber,
    /// Where it begins.
    pub start: Tick,
    /// Where it ends, always later.
    pub end: Tick,
    /// Its meter.
    pub meter: Meter,
    /// How long it is in writing. A bar cut short is as long as the 64ths that fit it best.
    pub length: Grains,
}

/// The finest grid of ordinary writing: a 64th.
const SIXTY_FOURTH: u32 = 12;

impl BarTime {
    /// A bar of a piece.
    #[must_use]
    pub fn of(meters: &MeterMap, number: BarNumber) -> Self {
        let start = meters.bar_start(number);
        let end = meters.bar_end(number).max(start + Ticks(1));
        let meter = meters.meter(start);
        let nominal = Grains::WHOLE.0 * u32::from(meter.numerator());
        let nominal = nominal / u32::from(meter.denominator());
        let (ticks, whole) = (end.since(start), meter.bar(meters.quarter()));
        let length = if ticks == whole {
            nominal
        } else {
            let share = ticks.0 as f64 / whole.0 as f64 * f64::from(nominal);
            let grid = f64::from(SIXTY_FOURTH);
            ((share / grid).round() * grid).max(grid) as u32
        };
        Self {
            number,
            start,
            end,
            meter,
            length: Grains(length),
        }
    }

    /// The finest grid of the bar: a 64th, in meters of 128ths one of those.
    #[must_use]
    pub(super) const fn finest(&self) -> u32 {
        if self.meter.denominator() >= 128 {
            SIXTY_FOURTH / 2
        } else {
            SIXTY_FOURTH
        }
    }

    /// Where a tick lies in the bar, in grains, between its start and its end.
    #[must_use]
    pub(super) fn exact(&self, at: Tick) -> f64 {
        let whole = self.end.since(self.start).0 as f64;
        let share = at.since(self.start).0 as f64 / whole;
        share.min(1.0) * f64::from(self.length.0)
    }

    /// The tick nearest to a place in the bar.
    #[must_use]
    pub fn tick(&self, place: Grains) -> Tick {
        let whole = self.end.since(self.start).0 as f64;
        let share = f64::from(place.0) / f64::from(self.length.0.max(1));
        self.start + Ticks((share.min(1.0) * whole).round() as u64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::TicksPerQuarter;
    use crate::music::meter::MeterChange;

    #[test]
    fn bars_are_as_long_as_their_meter_says_or_as_they_are_cut() {
        let change = |at, n, d| MeterChange {
            at: Tick(at),
            meter: Meter::new(n, d).unwrap(),
        };
        let quarter = TicksPerQuarter::new(480).unwrap();
        let meters = MeterMap::new(quarter, [change(0, 4, 2), change(2400, 6, 3)]);
        let bar = |n| BarTime::of(&meters, BarNumber(n));
        assert_eq!(bar(1).length, Grains(768));
        assert_eq!(bar(2).length, Grains(192));
        assert_eq!(bar(3).length, Grains(576));
        assert_eq!(bar(3).tick(Grains(288)), Tick(2400 + 720));
        assert!((bar(3).exact(Tick(2400 + 240)) - 96.0).abs() < 1e-9);
    }
}
