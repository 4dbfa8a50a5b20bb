//! How long measures are, and the grid of bars that they lie on as played.

use super::flow::Turn;
use super::measure::{Flow, Measure, Signature};
use super::oddities::{Oddities, Place};
use super::units::Units;
use crate::music::meter::MeterChange;
use crate::music::{Meter, Tick};

/// Measures that may make one bar together, as those do that a repeat cuts.
const MOST_JOINED: usize = 8;
/// How far off its meter a measure may be that is full all the same: this part of a quarter, for files
/// whose tuplets are rounded.
const ROUNDING: u64 = 48;

/// What all parts say of one measure.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Column {
    /// How far it is filled.
    pub(super) filled: u64,
    /// How far whole-measure rests reach.
    pub(super) rest: u64,
    /// The time signature that begins with it.
    pub(super) signature: Option<Signature>,
    /// Whether the file says that it does not count.
    pub(super) implicit: bool,
    /// Its number as the file has it.
    pub(super) number: String,
    /// Its repeats and jumps.
    pub(super) flow: Flow,
    /// Whether parts disagree on its time signature.
    pub(super) disagrees: bool,
}

impl Column {
    /// Takes in what a part says.
    pub(super) fn take(&mut self, measure: &Measure) {
        self.filled = self.filled.max(measure.filled);
        self.rest = self.rest.max(measure.rest);
        match (self.signature, measure.signature) {
            (None, own) => self.signature = own,
            (Some(first), Some(own)) => self.disagrees |= first != own,
            (Some(_), None) => {}
        }
        self.implicit |= measure.implicit;
        if self.number.is_empty() {
            self.number.clone_from(&measure.number);
        }
        self.flow.join(&measure.flow);
    }

    /// Whether the file says that it is no whole measure.
    fn is_partial(&self) -> bool {
        self.implicit || self.number == "0"
    }
}

/// A measure with its meter.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Frame {
    /// The meter; `None` where bars are as long as what they hold.
    pub(super) meter: Option<Meter>,
    /// How long a full one is.
    pub(super) full: u64,
    /// How long it is.
    pub(super) length: u64,
    partial: bool,
}

/// The measures with their lengths, in the order of the file.
pub(super) fn frames(columns: &[Column], units: Units, oddities: &mut Oddities) -> Vec<Frame> {
    let mut meter = None;
    let mut frames: Vec<Frame> = Vec::with_capacity(columns.len());
    for column in columns {
        if column.disagrees {
            oddities.add(
                "parts have other time signatures at once; the first part's makes the bars",
                Place {
                    part: "",
                    measure: &column.number,
                },
            );
        }
        match column.signature {
            Some(Signature::Meter(own)) => meter = Some(own),
            Some(Signature::Free) => meter = None,
            None => {}
        }
        let usual = frames.last().map_or(4 * units.quarter, |f| f.length);
        let held = column.filled.max(column.rest);
        let (full, length) = match meter {
            Some(meter) => {
                let full = meter.bar(units.ticks_per_quarter()).0;
                (full, length(column, full, units))
            }
            None if held == 0 => (usual, usual),
            None => (held, held),
        };
        frames.push(Frame {
            meter,
            full,
            length,
            partial: column.is_partial(),
        });
    }
    frames
}

fn length(column: &Column, full: u64, units: Units) -> u64 {
    if column.filled == 0 {
        return if (1..full).contains(&column.rest) {
            column.rest
        } else {
            full
        };
    }
    let rounded = column.filled.abs_diff(full) <= units.quarter / ROUNDING;
    let rests = column.rest >= full && column.filled < full && !column.is_partial();
    if rounded || rests {
        full
    } else {
        column.filled
    }
}

/// Where measures lie as played, and the meters of the bars that they make.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Grid {
    /// Where each measure begins, in playing order.
    pub(super) starts: Vec<u64>,
    /// The meters.
    pub(super) meters: Vec<MeterChange>,
    /// Whether the music begins with a pickup, in front of which a rest fills the bar.
    pub(super) pickup: bool,
    /// Where the last measure ends.
    pub(super) end: u64,
    /// Measures that make bars shorter or longer than their meter, in playing order.
    pub(super) irregular: Vec<usize>,
}

/// Lays measures on a grid. A short one at the beginning is a pickup: a rest fills its bar in front. Short ones that
/// fill a bar together are one bar. All other bars are as long as they are.
pub(super) fn grid(frames: &[Frame], order: &[Turn], units: Units) -> Grid {
    let mut grid = Grid::default();
    let mut current: Option<(u64, Meter)> = None;
    let mut at = 0;
    let mut next = 0;
    while let Some(frame) = frame_of(frames, order, next) {
        let joined = joined(frames, order, next);
        let first = next == 0 && order.len() > 1 && frame.length < frame.full;
        let pickup = first && (frame.partial || joined.is_none());
        let (count, length) = match joined {
            _ if pickup => (1, frame.full),
            Some(count) => (count, frame.full),
            None => (1, frame.length),
        };
        let mut start = at;
        if pickup {
            grid.pickup = true;
            start += frame.full - frame.length;
        }
        for turn in next..next + count {
            grid.starts.push(start);
            start += frame_of(frames, order, turn).map_or(0, |f| f.length);
        }
        let last = next + count >= order.len();
        let meter = meter_of(frame, length, last, units);
        if length != frame.full && !(last && length < frame.full) {
            grid.irregular.push(next);
        }
        let bar = |meter: Meter| meter.bar(units.ticks_per_quarter()).0;
        let goes_on = current
            .is_some_and(|(since, own)| own == meter && (at - since).is_multiple_of(bar(own)));
        if !goes_on {
            grid.meters.push(MeterChange {
                at: Tick(at),
                meter,
            });
            current = Some((at, meter));
        }
        at += length;
        next += count;
    }
    grid.end = at;
    grid
}

fn frame_of(frames: &[Frame], order: &[Turn], turn: usize) -> Option<Frame> {
    frames.get(order.get(turn)?.measure).copied()
}

/// How many short measures from one on fill a bar together.
fn joined(frames: &[Frame], order: &[Turn], from: usize) -> Option<usize> {
    let first = frame_of(frames, order, from)?;
    let mut sum = 0;
    for count in 1..=MOST_JOINED {
        let frame = frame_of(frames, order, from + count - 1)?;
        if frame.length >= first.full || frame.meter != first.meter {
            return None;
        }
        sum += frame.length;
        if sum >= first.full {
            return (sum == first.full).then_some(count);
        }
    }
    None
}

/// The meter of a bar: its own; where the bar has another length, one of that length, if there is such.
fn meter_of(frame: Frame, length: u64, last: bool, units: Units) -> Meter {
    if let Some(meter) = frame.meter
        && (length == frame.full || (last && length < frame.full))
    {
        return meter;
    }
    let own = frame.meter.map_or(2, Meter::denominator_power);
    let powers = [own, 2, 3, 4, 5, 6, 7];
    let exact = powers.into_iter().find_map(|power| {
        let unit = 4 * units.quarter;
        let parts = length << power;
        let numerator = parts.is_multiple_of(unit).then_some(parts / unit)?;
        Meter::new(u8::try_from(numerator).ok()?, power)
    });
    exact.or(frame.meter).unwrap_or(Meter::COMMON)
}
