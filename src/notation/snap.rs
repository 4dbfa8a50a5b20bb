//! Onsets and ends put on the grid that they are written in: halves of halves, or tuplets where
//! those fit better. Which grid fits is ours; what musicians expect of it is common practice.

use super::bar_time::BarTime;
use super::pulse::{Kind, Span, groups};
use super::value::Tuplet;

/// A stretch of a bar under one grid, in grains.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Leaf {
    pub(super) start: u32,
    pub(super) length: u32,
    /// Distance of the places in it.
    pub(super) grid: u32,
    pub(super) tuplet: Option<Tuplet>,
}

impl Leaf {
    pub(super) const fn end(self) -> u32 {
        self.start + self.length
    }
}

/// Grids by halves with what each costs, in grains of distance from it: 16ths, 32nds, 64ths, and
/// 128ths where the meter counts them (ours: finer ones only where that helps much).
const HALVES: [(u32, f64); 4] = [(48, 0.0), (24, 6.0), (12, 9.0), (6, 12.0)];
/// What a triplet costs (ours: so little that what is nearer to a triplet becomes one).
const TRIPLET: f64 = 2.0;
/// What a triplet with halved notes costs.
const TRIPLET_HALVED: f64 = 3.5;
/// The shortest and longest stretch that a triplet fills: an eighth to a whole note.
const TRIPLET_LENGTHS: std::ops::RangeInclusive<u32> = 96..=768;
/// What is so near to a place is on it: half a 64th.
pub(super) const NEAR: f64 = 6.0;

/// The grids of a bar.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Grid {
    pub(super) leaves: Vec<Leaf>,
    length: u32,
}

impl Grid {
    /// The grids that fit some places in a bar best.
    pub(super) fn of(bar: &BarTime, places: &[f64]) -> Self {
        let fit = Fit {
            places,
            finest: bar.finest(),
        };
        let leaves = groups(bar).into_iter().flat_map(|g| fit.best(g).1);
        Self {
            leaves: leaves.collect(),
            length: bar.length.0,
        }
    }

    /// The nearest place of the grid.
    pub(super) fn snap(&self, place: f64) -> u32 {
        let inside = |l: &&Leaf| f64::from(l.start) <= place && place < f64::from(l.end());
        self.leaves.iter().find(inside).map_or(self.length, |l| {
            let steps = (place - f64::from(l.start)) / f64::from(l.grid.max(1));
            (l.start + steps.round() as u32 * l.grid).min(l.end())
        })
    }

    /// A stretch on the grid, never without length and never outside the bar.
    pub(super) fn stretch(&self, from: f64, to: f64) -> (u32, u32) {
        let mut start = self.snap(from);
        if start >= self.length {
            let last = self.leaves.last().map_or(self.length, |l| l.grid);
            start = self.length.saturating_sub(last);
        }
        let at = self
            .leaves
            .iter()
            .find(|l| l.start <= start && start < l.end());
        let unit = at.map_or(self.length, |l| l.grid).max(1);
        (start, self.snap(to).max(start + unit).min(self.length))
    }
}

struct Fit<'a> {
    places: &'a [f64],
    finest: u32,
}

/// What a choice of grids costs, and the grids.
type Choice = (f64, Vec<Leaf>);

impl Fit<'_> {
    /// The places inside a span, its ends left out.
    fn inside(&self, span: Span) -> impl Iterator<Item = f64> {
        let (start, end) = (f64::from(span.start), f64::from(span.end()));
        let places = self.places.iter().copied();
        places.filter(move |p| start < *p && *p < end)
    }

    fn best(&self, span: Span) -> Choice {
        if self.inside(span).next().is_none() {
            return self.halves(span);
        }
        match span.kind {
            Kind::Two => self.best_of_two(span),
            Kind::BeatOfThree => self.duplet(span).unwrap_or_else(|| self.parts(span)),
            Kind::ThreeBeats => self.best_of_three(span),
            Kind::TwoOfCompound | Kind::ThreeOfCompound => self.parts(span),
        }
    }

    /// Each part for itself.
    fn parts(&self, span: Span) -> Choice {
        joined(span.children().into_iter().map(|c| self.best(c)))
    }

    fn best_of_two(&self, span: Span) -> Choice {
        // Of equals the first holds: one triplet rather than a part of it in each half.
        let mut best = self.halves(span);
        for (halved, price) in [(1, TRIPLET), (2, TRIPLET_HALVED)] {
            if let Some(choice) = self.triplet(span, halved, price) {
                best = cheaper(best, choice);
            }
        }
        if span.length > *TRIPLET_LENGTHS.start() {
            best = cheaper(best, self.parts(span));
        }
        best
    }

    /// Three beats: each for itself, or two of them with a triplet over both.
    fn best_of_three(&self, span: Span) -> Choice {
        let parts = span.children();
        let mut best = self.parts(span);
        if let [first, second, third] = parts[..] {
            let pair = |a: Span| Span::new(a.start, 2 * a.length, Kind::Two);
            best = cheaper(best, joined([self.best(pair(first)), self.best(third)]));
            best = cheaper(best, joined([self.best(first), self.best(pair(second))]));
        }
        best
    }

    fn error(&self, span: Span, grid: u32) -> f64 {
        let grid = f64::from(grid.max(1));
        let off = |p: f64| {
            let steps = (p - f64::from(span.start)) / grid;
            (steps - steps.round()).abs() * grid
        };
        self.inside(span).map(off).sum()
    }

    /// The span under a grid of halves.
    fn halves(&self, span: Span) -> Choice {
        let fits = |g: &&(u32, f64)| g.0 >= self.finest && span.length.is_multiple_of(g.0);
        let grids = HALVES.iter().filter(fits);
        let choices = grids.map(|(grid, price)| {
            let leaf = Leaf {
                start: span.start,
                length: span.length,
                grid: *grid,
                tuplet: None,
            };
            (self.error(span, *grid) + price, vec![leaf])
        });
        let whole = Leaf {
            start: span.start,
            length: span.length,
            grid: span.length,
            tuplet: None,
        };
        choices
            .reduce(cheaper)
            .unwrap_or_else(|| (self.error(span, span.length), vec![whole]))
    }

    /// The span as a triplet, unless something stands in its middle.
    fn triplet(&self, span: Span, halved: u32, price: f64) -> Option<Choice> {
        let grid = span.length / 3 / halved;
        let fits = TRIPLET_LENGTHS.contains(&span.length) && span.length == 3 * halved * grid;
        let middle = f64::from(span.start) + f64::from(span.length) / 2.0;
        let shown = self.inside(span).any(|p| (p - middle).abs() < NEAR);
        (fits && grid >= 16 && !shown).then(|| {
            let leaf = Leaf {
                start: span.start,
                length: span.length,
                grid,
                tuplet: Some(Tuplet::TRIPLET),
            };
            (self.error(span, grid) + price, vec![leaf])
        })
    }

    /// A beat of three parts as two notes, if nothing stands but in its middle.
    fn duplet(&self, span: Span) -> Option<Choice> {
        let middle = f64::from(span.start) + f64::from(span.length) / 2.0;
        let all = self.inside(span).all(|p| (p - middle).abs() < NEAR / 2.0);
        let leaf = Leaf {
            start: span.start,
            length: span.length,
            grid: span.length / 2,
            tuplet: Some(Tuplet::DUPLET),
        };
        let fits = all && span.length.is_multiple_of(2 * self.finest);
        fits.then(|| (self.error(span, leaf.grid), vec![leaf]))
    }
}

/// The cheaper of two, the first if they cost the same.
fn cheaper(a: Choice, b: Choice) -> Choice {
    if b.0 < a.0 { b } else { a }
}

fn joined(choices: impl IntoIterator<Item = Choice>) -> Choice {
    let mut all = (0.0, Vec::new());
    for (cost, leaves) in choices {
        all.0 += cost;
        all.1.extend(leaves);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::meter::MeterChange;
    use crate::music::{BarNumber, Meter, MeterMap, Tick, TicksPerQuarter};

    fn tuplets(meter: (u8, u8), places: &[f64]) -> Vec<(u32, u32)> {
        let change = MeterChange {
            at: Tick::ZERO,
            meter: Meter::new(meter.0, meter.1).unwrap(),
        };
        let quarter = TicksPerQuarter::new(480).unwrap();
        let bar = BarTime::of(&MeterMap::new(quarter, [change]), BarNumber(1));
        let grid = Grid::of(&bar, places);
        let leaves = grid.leaves.iter().filter(|l| l.tuplet.is_some());
        leaves.map(|l| (l.start, l.length)).collect()
    }

    #[test]
    fn triplets_are_seen_by_beat_and_half_bar() {
        assert_eq!(tuplets((4, 2), &[0.0, 48.0, 96.0, 144.0, 192.0]), []);
        assert_eq!(tuplets((4, 2), &[0.0, 64.0, 128.0, 192.0]), [(0, 192)]);
        assert_eq!(tuplets((4, 2), &[384.0, 512.0, 640.0]), [(384, 384)]);
        assert_eq!(tuplets((4, 2), &[0.0, 256.0, 512.0]), [(0, 768)]);
        assert_eq!(
            tuplets((2, 2), &[32.0, 64.0, 96.0, 128.0, 160.0]),
            [(0, 96), (96, 96)]
        );
        assert_eq!(tuplets((3, 2), &[192.0, 320.0, 448.0]), [(192, 384)]);
        assert_eq!(tuplets((4, 2), &[192.0, 320.0]), [(192, 192)]);
        assert_eq!(tuplets((6, 3), &[144.0]), [(0, 288)]);
        assert_eq!(tuplets((6, 3), &[96.0, 144.0, 192.0]), []);
    }

    #[test]
    fn what_is_played_a_little_off_is_put_on_the_grid() {
        assert_eq!(tuplets((4, 2), &[2.0, 94.0, 190.0]), []);
        assert_eq!(tuplets((4, 2), &[62.0, 130.0, 190.0]), [(0, 192)]);
    }
}
