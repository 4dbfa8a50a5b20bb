//! The unit of time of a score: so fine that every tick of the song and every written value is a
//! whole number, and no finer than what is written needs.

use crate::music::{Tick, Ticks, TicksPerQuarter};
use crate::notation::{Grains, WrittenBar};
use std::ops::Sub;

/// A length or a place in units of a score.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub(super) struct Units(pub(super) i128);

impl Sub for Units {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

/// A bar of one tick is written as a 64th, of twelve grains; so that each of them is a unit at least, a tick
/// is twelve.
const FINER: u64 = 12;

/// How long things are in units.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Clock {
    /// Units of a quarter, before they are made coarser.
    quarter: u64,
    /// Units of a tick.
    tick: u64,
    /// Units that are one unit of the file.
    coarse: u64,
}

impl Clock {
    /// The finest clock of a song.
    pub(super) fn finest(quarter: TicksPerQuarter) -> Self {
        let (ticks, grains) = (u64::from(quarter.get()), u64::from(Grains::QUARTER.0));
        let units = FINER * (ticks / common(ticks, grains) * grains);
        Self {
            quarter: units,
            tick: units / ticks,
            coarse: 1,
        }
    }

    /// The coarsest clock in which some lengths are whole numbers.
    pub(super) fn coarsest(self, lengths: impl IntoIterator<Item = Units>) -> Self {
        let fold = |all, length: Units| {
            u64::try_from(length.0.unsigned_abs()).map_or(1, |length| common(all, length))
        };
        let coarse = lengths.into_iter().fold(self.quarter, fold);
        Self { coarse, ..self }
    }

    /// Units of a quarter in the file.
    pub(super) const fn divisions(self) -> u64 {
        self.quarter / self.coarse
    }

    /// A length in the file's units.
    pub(super) const fn of_file(self, length: Units) -> i128 {
        length.0 / self.coarse as i128
    }

    /// A length of the song.
    pub(super) const fn ticks(self, length: Ticks) -> Units {
        Units(length.0 as i128 * self.tick as i128)
    }

    /// How far a tick lies behind the start of a bar; before it, less than nothing.
    pub(super) const fn since_start(self, bar: &WrittenBar, at: Tick) -> Units {
        let ticks = at.0 as i128 - bar.start.0 as i128;
        Units(ticks * self.tick as i128)
    }

    /// How long a bar is.
    pub(super) const fn bar(self, bar: &WrittenBar) -> Units {
        self.ticks(bar.end.since(bar.start))
    }

    /// Where a written place lies in its bar. It is exact but in a bar that is cut short to a length
    /// that no 64ths make: there places are stretched with the bar, so that the next one begins on time.
    pub(super) fn place(self, bar: &WrittenBar, place: Grains) -> Units {
        let (units, grains) = (self.bar(bar).0, i128::from(bar.length.0.max(1)));
        let product = units * i128::from(place.0);
        Units((product + grains / 2) / grains)
    }
}

/// The greatest common divisor; the other one of a number and 0.
fn common(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { common(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_clock_is_as_coarse_as_it_may_be() {
        let clock = Clock::finest(TicksPerQuarter::new(480).unwrap());
        assert_eq!((clock.quarter, clock.tick), (12 * 960, 12 * 2));
        let halves = [clock.ticks(Ticks(240)), clock.ticks(Ticks(1920))];
        assert_eq!(clock.coarsest(halves).divisions(), 2);
        let triplets = [clock.ticks(Ticks(160)), clock.ticks(Ticks(240))];
        let coarse = clock.coarsest(triplets);
        assert_eq!(coarse.divisions(), 6);
        assert_eq!(coarse.of_file(clock.ticks(Ticks(160))), 2);
        assert_eq!(clock.coarsest([]).divisions(), 1);
        let odd = Clock::finest(TicksPerQuarter::new(7).unwrap());
        assert_eq!((odd.quarter, odd.tick), (12 * 1344, 12 * 192));
    }
}
