//! Beats on the written grid: which beat a tick lies in.

use crate::music::{Meter, MeterMap, Tick};

/// A beat of the written grid.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Cell {
    /// Its first tick.
    pub(super) start: u64,
    /// Where the next begins.
    pub(super) end: u64,
    /// Its full length, which a change of meter may cut.
    pub(super) full: u64,
    /// Whether it divides by three (a dotted value).
    pub(super) compound: bool,
}

impl Cell {
    /// The tick nearest to a fraction of the beat.
    pub(super) fn tick(&self, numerator: u64, denominator: u64) -> u64 {
        let (part, whole) = (
            u128::from(numerator) * u128::from(self.full),
            u128::from(denominator.max(1)),
        );
        self.start + u64::try_from((part + whole / 2) / whole).unwrap_or(0)
    }

    /// Where a time lies in the beat, 0 to 1.
    pub(super) fn fraction(&self, at: f64) -> f64 {
        (at - self.start as f64) / self.full as f64
    }
}

/// What cuts written time into beats.
#[derive(Clone, Copy, Debug)]
pub(super) enum Ruler<'a> {
    /// The beats of meters, not longer than a quarter note in simple time.
    Meters(&'a MeterMap),
    /// Even beats.
    Even {
        /// Ticks of a beat.
        length: u64,
        /// Whether it is a dotted value.
        compound: bool,
    },
}

impl Ruler<'_> {
    /// The beat that a tick lies in.
    pub(super) fn cell(&self, tick: u64) -> Cell {
        match self {
            Self::Even { length, compound } => {
                let full = (*length).max(1);
                let start = tick - tick % full;
                Cell {
                    start,
                    end: start.saturating_add(full),
                    full,
                    compound: *compound,
                }
            }
            Self::Meters(meters) => meter_cell(meters, tick),
        }
    }
}

/// Whether a meter is felt in dotted beats, 3/8 too.
pub(super) const fn by_dotted_beats(meter: Meter) -> bool {
    meter.denominator_power() >= 3 && meter.numerator().is_multiple_of(3)
}

fn meter_cell(meters: &MeterMap, tick: u64) -> Cell {
    let changes = meters.changes();
    let next = changes.partition_point(|c| c.at <= Tick(tick));
    let (origin, meter) = changes
        .get(next.saturating_sub(1))
        .map_or((0, meters.meter(Tick(tick))), |c| (c.at.0, c.meter));
    let limit = changes.get(next).map_or(u64::MAX, |c| c.at.0);
    let bar = meter.bar(meters.quarter()).0.max(1);
    let quarter = u64::from(meters.quarter().get());
    let compound = by_dotted_beats(meter);
    let beats = if compound {
        u64::from(meter.numerator()) / 3
    } else {
        // Longer units than a quarter are cut into quarters.
        let unit = (4 / u64::from(meter.denominator())).max(1);
        u64::from(meter.numerator()) * unit
    };
    let beats = if bar < beats || quarter == 0 {
        1
    } else {
        beats.max(1)
    };
    let inside = (tick - origin.min(tick)) % bar;
    let start_of_bar = tick - inside;
    let index = beat_index(inside, bar, beats);
    let (from, to) = (index * bar / beats, (index + 1) * bar / beats);
    Cell {
        start: start_of_bar + from,
        end: start_of_bar.saturating_add(to).min(limit),
        full: (to - from).max(1),
        compound,
    }
}

/// The beat of a bar that a tick lies in, where beats begin at whole ticks.
fn beat_index(inside: u64, bar: u64, beats: u64) -> u64 {
    let index = inside * beats / bar;
    if (index + 1) * bar / beats <= inside {
        index + 1
    } else {
        index
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{TicksPerQuarter, meter::MeterChange};

    #[test]
    fn beats_follow_one_another() {
        for (quarter, top, power) in [(480, 4, 2), (97, 6, 3), (480, 2, 1), (1, 7, 7), (3, 255, 7)]
        {
            let change = MeterChange {
                at: Tick(5),
                meter: Meter::new(top, power).unwrap(),
            };
            let meters = MeterMap::new(TicksPerQuarter::new(quarter).unwrap(), [change]);
            let ruler = Ruler::Meters(&meters);
            let mut at = 0;
            for _ in 0..50 {
                let cell = ruler.cell(at);
                assert_eq!(cell.start, at);
                assert!(cell.end > at);
                assert_eq!(ruler.cell(cell.end - 1), cell);
                at = cell.end;
            }
        }
    }
}
