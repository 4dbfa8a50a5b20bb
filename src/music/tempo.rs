//! The tempo map: seconds at every tick.

use super::time::{Beats, Tick, TicksPerQuarter};

/// Microseconds a quarter note where a file gives none: 120 quarters a minute (SMF 1.0).
pub const DEFAULT_MICROS: u32 = 500_000;

/// One tempo from a tick on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TempoChange {
    /// Where it begins.
    pub at: Tick,
    /// Microseconds a quarter note, never zero.
    pub micros_per_quarter: u32,
}

/// All tempos of a piece, in order; the first holds from tick 0.
#[derive(Clone, PartialEq, Debug)]
pub struct TempoMap {
    changes: Vec<TempoChange>,
    /// Whether the first was not given.
    assumed: bool,
    /// Seconds at each change.
    starts: Vec<f64>,
    quarter: TicksPerQuarter,
}

impl TempoMap {
    /// Builds the map. Changes are put in order; of several at one tick the last holds; zero
    /// tempos are left out; before the first change the default of 120 holds.
    #[must_use]
    pub fn new(quarter: TicksPerQuarter, changes: impl IntoIterator<Item = TempoChange>) -> Self {
        let mut sorted: Vec<_> = changes
            .into_iter()
            .filter(|c| c.micros_per_quarter > 0)
            .collect();
        sorted.sort_by_key(|c| c.at);
        let mut kept: Vec<TempoChange> = Vec::with_capacity(sorted.len() + 1);
        let assumed = sorted.first().is_none_or(|c| c.at > Tick::ZERO);
        if assumed {
            kept.push(TempoChange {
                at: Tick::ZERO,
                micros_per_quarter: DEFAULT_MICROS,
            });
        }
        for change in sorted {
            match kept.last_mut() {
                Some(last) if last.at == change.at => *last = change,
                _ => kept.push(change),
            }
        }
        let starts = seconds_at_changes(&kept, quarter);
        Self {
            changes: kept,
            assumed,
            starts,
            quarter,
        }
    }

    /// The changes in order; never empty, the first at tick 0.
    #[must_use]
    pub fn changes(&self) -> &[TempoChange] {
        &self.changes
    }

    /// The changes that were given: without the one assumed at tick 0, if there is such.
    #[must_use]
    pub fn given(&self) -> &[TempoChange] {
        &self.changes[usize::from(self.assumed)..]
    }

    /// Ticks of a quarter note.
    #[must_use]
    pub fn quarter(&self) -> TicksPerQuarter {
        self.quarter
    }

    /// Seconds from the start of the piece.
    #[must_use]
    pub fn seconds(&self, at: Tick) -> f64 {
        let i = self
            .changes
            .partition_point(|c| c.at <= at)
            .saturating_sub(1);
        self.starts[i] + seconds_between(self.changes[i], at, self.quarter)
    }

    /// The tick that sounds so many seconds from the start of the piece, to the nearest; the first for
    /// negative times and for what is no number.
    #[must_use]
    pub fn at_seconds(&self, seconds: f64) -> Tick {
        let i = self
            .starts
            .partition_point(|s| *s <= seconds)
            .saturating_sub(1);
        let (from, change) = (self.starts[i], self.changes[i]);
        let quarters = (seconds - from).max(0.0) * 1e6 / f64::from(change.micros_per_quarter);
        change.at + self.quarter.ticks(Beats(quarters))
    }

    /// Quarter notes a minute at a tick.
    #[must_use]
    pub fn quarters_per_minute(&self, at: Tick) -> f64 {
        let i = self
            .changes
            .partition_point(|c| c.at <= at)
            .saturating_sub(1);
        60e6 / f64::from(self.changes[i].micros_per_quarter)
    }
}

fn seconds_between(from: TempoChange, to: Tick, quarter: TicksPerQuarter) -> f64 {
    quarter.beats(to.since(from.at)).0 * f64::from(from.micros_per_quarter) / 1e6
}

fn seconds_at_changes(changes: &[TempoChange], quarter: TicksPerQuarter) -> Vec<f64> {
    let mut now = 0.0;
    let mut starts = Vec::with_capacity(changes.len());
    for (i, change) in changes.iter().enumerate() {
        if i > 0 {
            now += seconds_between(changes[i - 1], change.at, quarter);
        }
        starts.push(now);
    }
    starts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seconds_add_up_over_changes() {
        let quarter = TicksPerQuarter::new(480).unwrap();
        let change = |at, micros_per_quarter| TempoChange {
            at: Tick(at),
            micros_per_quarter,
        };
        let map = TempoMap::new(
            quarter,
            [change(960, 1_000_000), change(960, 250_000), change(0, 0)],
        );
        assert_eq!(map.changes().len(), 2);
        assert!((map.seconds(Tick(960)) - 1.0).abs() < 1e-12);
        assert!((map.seconds(Tick(1440)) - 1.25).abs() < 1e-12);
        assert!((map.quarters_per_minute(Tick(5000)) - 240.0).abs() < 1e-12);
        for at in [0, 1, 959, 960, 961, 1440, 100_000].map(Tick) {
            assert_eq!(map.at_seconds(map.seconds(at)), at);
        }
        assert_eq!(map.at_seconds(-1.0), Tick::ZERO);
        assert_eq!(map.at_seconds(f64::NAN), Tick::ZERO);
    }
}
