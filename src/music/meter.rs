//! Meters, and where the bars of a piece begin.

use super::time::{Tick, Ticks, TicksPerQuarter};
use std::fmt;

/// A meter such as 4/4 or 6/8.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Meter {
    numerator: u8,
    /// Log2 of the denominator, 0 to 7.
    denominator_power: u8,
}

impl Meter {
    /// Common time: what holds where a file names no meter (SMF 1.0).
    pub const COMMON: Self = Self {
        numerator: 4,
        denominator_power: 2,
    };

    /// A meter from its numerator and the power of two of its denominator, as MIDI files give
    /// it; `None` for a zero numerator or a denominator over 128.
    #[must_use]
    pub const fn new(numerator: u8, denominator_power: u8) -> Option<Self> {
        if numerator == 0 || denominator_power > 7 {
            None
        } else {
            Some(Self {
                numerator,
                denominator_power,
            })
        }
    }

    /// Upper number.
    #[must_use]
    pub const fn numerator(self) -> u8 {
        self.numerator
    }

    /// Lower number: 1, 2, 4, 8 …
    #[must_use]
    pub const fn denominator(self) -> u16 {
        1 << self.denominator_power
    }

    /// The power of two of the lower number.
    #[must_use]
    pub const fn denominator_power(self) -> u8 {
        self.denominator_power
    }

    /// Whether beats divide by three (6/8, 9/8, 12/8).
    #[must_use]
    pub const fn is_compound(self) -> bool {
        self.denominator_power >= 3 && self.numerator.is_multiple_of(3) && self.numerator > 3
    }

    /// Length of a bar, at least one tick.
    #[must_use]
    pub fn bar(self, quarter: TicksPerQuarter) -> Ticks {
        let whole = 4 * u64::from(quarter.get());
        Ticks((whole * u64::from(self.numerator) / u64::from(self.denominator())).max(1))
    }

    /// Length of the felt beat (a dotted value in compound time), at least one tick.
    #[must_use]
    pub fn beat(self, quarter: TicksPerQuarter) -> Ticks {
        let unit = 4 * u64::from(quarter.get()) / u64::from(self.denominator());
        Ticks(if self.is_compound() { 3 * unit } else { unit }.max(1))
    }
}

impl fmt::Display for Meter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.numerator, self.denominator())
    }
}

/// The number of a bar, counted from 1.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct BarNumber(pub u32);

impl fmt::Display for BarNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A place as musicians say it: bar and beat, both counted from 1.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct BarBeat {
    /// The bar.
    pub bar: BarNumber,
    /// The beat in the bar, in the meter's felt beats; 1.0 is the downbeat.
    pub beat: f64,
}

impl fmt::Display for BarBeat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let beat = (self.beat * 100.0).round() / 100.0;
        write!(f, "bar {}, beat {beat}", self.bar)
    }
}

/// One meter from a tick on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct MeterChange {
    /// Where it begins; a bar begins here too.
    pub at: Tick,
    /// The meter.
    pub meter: Meter,
}

/// All meters of a piece, in order, with the bars they make. A change in the middle of a bar
/// cuts that bar short: the new meter begins a bar of its own.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct MeterMap {
    changes: Vec<MeterChange>,
    /// Whether the first was not given.
    assumed: bool,
    /// Number of the first bar of each change.
    first_bars: Vec<u32>,
    quarter: TicksPerQuarter,
}

impl MeterMap {
    /// Builds the map. Changes are put in order; of several at one tick the last holds; before
    /// the first change 4/4 holds.
    #[must_use]
    pub fn new(quarter: TicksPerQuarter, changes: impl IntoIterator<Item = MeterChange>) -> Self {
        let mut sorted: Vec<_> = changes.into_iter().collect();
        sorted.sort_by_key(|c| c.at);
        let mut kept: Vec<MeterChange> = Vec::with_capacity(sorted.len() + 1);
        let assumed = sorted.first().is_none_or(|c| c.at > Tick::ZERO);
        if assumed {
            kept.push(MeterChange {
                at: Tick::ZERO,
                meter: Meter::COMMON,
            });
        }
        for change in sorted {
            match kept.last_mut() {
                Some(last) if last.at == change.at => *last = change,
                _ => kept.push(change),
            }
        }
        let first_bars = first_bars(&kept, quarter);
        Self {
            changes: kept,
            assumed,
            first_bars,
            quarter,
        }
    }

    /// The changes in order; never empty, the first at tick 0.
    #[must_use]
    pub fn changes(&self) -> &[MeterChange] {
        &self.changes
    }

    /// The changes that were given: without the one assumed at tick 0, if there is such.
    #[must_use]
    pub fn given(&self) -> &[MeterChange] {
        &self.changes[usize::from(self.assumed)..]
    }

    /// The ticks of a quarter note that the map was built with.
    #[must_use]
    pub const fn quarter(&self) -> TicksPerQuarter {
        self.quarter
    }

    /// The meter at a tick.
    #[must_use]
    pub fn meter(&self, at: Tick) -> Meter {
        self.changes[self.index(at)].meter
    }

    /// The bar that a tick lies in.
    #[must_use]
    pub fn bar(&self, at: Tick) -> BarNumber {
        let i = self.index(at);
        let bar = self.changes[i].meter.bar(self.quarter).0;
        let passed = at.since(self.changes[i].at).0 / bar;
        BarNumber(self.first_bars[i].saturating_add(u32::try_from(passed).unwrap_or(u32::MAX)))
    }

    /// Where a bar begins.
    #[must_use]
    pub fn bar_start(&self, bar: BarNumber) -> Tick {
        let i = self
            .first_bars
            .partition_point(|b| *b <= bar.0)
            .saturating_sub(1);
        let passed = u64::from(bar.0.saturating_sub(self.first_bars[i]));
        let start = self.changes[i].at
            + Ticks(passed.saturating_mul(self.changes[i].meter.bar(self.quarter).0));
        // A bar cut short by the next meter ends where that one begins.
        self.changes
            .get(i + 1)
            .map_or(start, |next| start.min(next.at))
    }

    /// Where a bar ends.
    #[must_use]
    pub fn bar_end(&self, bar: BarNumber) -> Tick {
        self.bar_start(BarNumber(bar.0.saturating_add(1)))
    }

    /// The bar that something at a tick belongs to: after the middle of a bar it is a pickup, told by
    /// the bar that it leads into.
    #[must_use]
    pub fn bar_led_to(&self, at: Tick) -> BarNumber {
        let bar = self.bar(at);
        let (start, end) = (self.bar_start(bar), self.bar_end(bar));
        let pickup = 2 * at.since(start).0 > end.since(start).0;
        BarNumber(bar.0.saturating_add(u32::from(pickup)))
    }

    /// A tick as bar and beat.
    #[must_use]
    pub fn place(&self, at: Tick) -> BarBeat {
        let bar = self.bar(at);
        let beat = self.meter(at).beat(self.quarter).0 as f64;
        BarBeat {
            bar,
            beat: 1.0 + at.since(self.bar_start(bar)).0 as f64 / beat,
        }
    }

    fn index(&self, at: Tick) -> usize {
        self.changes
            .partition_point(|c| c.at <= at)
            .saturating_sub(1)
    }
}

fn first_bars(changes: &[MeterChange], quarter: TicksPerQuarter) -> Vec<u32> {
    let mut number: u32 = 1;
    let mut numbers = Vec::with_capacity(changes.len());
    for (i, change) in changes.iter().enumerate() {
        if i > 0 {
            let before = changes[i - 1];
            let bars = change
                .at
                .since(before.at)
                .0
                .div_ceil(before.meter.bar(quarter).0);
            number = number.saturating_add(u32::try_from(bars).unwrap_or(u32::MAX));
        }
        numbers.push(number);
    }
    numbers
}

#[cfg(test)]
mod tests {
    use super::*;

    fn map(changes: &[(u64, u8, u8)]) -> MeterMap {
        let change = |&(at, n, d): &(u64, u8, u8)| MeterChange {
            at: Tick(at),
            meter: Meter::new(n, d).unwrap(),
        };
        MeterMap::new(
            TicksPerQuarter::new(480).unwrap(),
            changes.iter().map(change),
        )
    }

    #[test]
    fn common_time_where_none_is_given() {
        let m = map(&[]);
        assert_eq!(m.meter(Tick(0)), Meter::COMMON);
        assert_eq!(m.bar(Tick(1919)), BarNumber(1));
        assert_eq!(m.bar(Tick(1920)), BarNumber(2));
        assert_eq!(m.bar_start(BarNumber(3)), Tick(3840));
    }

    #[test]
    fn a_change_inside_a_bar_cuts_it_short() {
        let m = map(&[(0, 4, 2), (2880, 3, 2)]);
        assert_eq!(m.bar(Tick(2879)), BarNumber(2));
        assert_eq!(m.bar(Tick(2880)), BarNumber(3));
        assert_eq!(m.bar_end(BarNumber(2)), Tick(2880));
        assert_eq!(m.bar_start(BarNumber(4)), Tick(2880 + 1440));
        assert_eq!(m.place(Tick(2880 + 480)).to_string(), "bar 3, beat 2");
    }

    #[test]
    fn compound_time_counts_dotted_beats() {
        let m = map(&[(0, 6, 3)]);
        assert!(m.meter(Tick(0)).is_compound());
        assert_eq!(m.place(Tick(720)).to_string(), "bar 1, beat 2");
        assert!(!Meter::new(3, 3).unwrap().is_compound());
    }
}
