//! What a re-solve may change, and what staying as drafted is worth in it.

use super::terms::{Term, Weights};
use crate::band::{Band, PartId};
use crate::music::{BarNumber, MeterMap, Tick};
use crate::score::{Draft, DraftNote, joined};

/// What a re-solve may change: for every part, stretches of time. Outside them nothing moves.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Scope(Vec<Vec<(Tick, Tick)>>);

impl Scope {
    /// Some bars of some parts; `of` empty: of all `parts` parts of the band.
    #[must_use]
    pub fn bars(
        meters: &MeterMap,
        parts: usize,
        bars: &[(BarNumber, BarNumber)],
        of: &[PartId],
    ) -> Self {
        let span = |(first, last): &(BarNumber, BarNumber)| {
            (meters.bar_start(*first), meters.bar_end(*last))
        };
        let spans = joined(bars.iter().map(span).collect());
        let own = |part: usize| {
            if of.is_empty() || of.contains(&PartId(part)) {
                spans.clone()
            } else {
                Vec::new()
            }
        };
        Self((0..parts).map(own).collect())
    }

    /// What should follow a lock of some bars: all parts there and in the bar before and after.
    #[must_use]
    pub fn around(meters: &MeterMap, parts: usize, bars: &[(BarNumber, BarNumber)]) -> Self {
        let wider = |(a, b): &(BarNumber, BarNumber)| {
            let before = a.0.saturating_sub(1).max(1);
            (BarNumber(before), BarNumber(b.0.saturating_add(1)))
        };
        let wider: Vec<_> = bars.iter().map(wider).collect();
        Self::bars(meters, parts, &wider, &[])
    }

    /// What should follow a change of a part's limits: all parts in the bars in which it has notes that
    /// it may not play any more, and the part in the bar before and after; where there are none, the
    /// part everywhere, for there may be notes that it could not play before.
    #[must_use]
    pub fn after_change(band: &Band, meters: &MeterMap, draft: &Draft, part: PartId) -> Self {
        let parts = band.parts.len();
        let Some(limits) = band.parts.get(part.0).map(|p| &p.limits) else {
            return Self::default();
        };
        let notes = draft.lines.get(part.0).map_or(&[][..], |l| &l.notes);
        let leaps = |w: &[DraftNote]| {
            let [a, b] = w else { return None };
            let far = limits
                .max_leap
                .is_some_and(|m| a.pitch.to(b.pitch).size() > m.size());
            far.then_some(b.onset)
        };
        let out = notes.iter().filter(|n| !limits.range.contains(n.pitch));
        let at = out
            .map(|n| n.onset)
            .chain(notes.windows(2).filter_map(leaps));
        let bars: Vec<_> = at.map(|t| (meters.bar(t), meters.bar(t))).collect();
        if bars.is_empty() {
            return Self::whole(parts, &[part]);
        }
        let mut beside = Self::around(meters, parts, &bars);
        let others = beside.0.iter_mut().enumerate();
        others
            .filter(|(id, _)| *id != part.0)
            .for_each(|(_, own)| own.clear());
        Self::bars(meters, parts, &bars, &[]).and(beside)
    }

    /// All of some parts; `of` empty: of all `parts` parts of the band.
    #[must_use]
    pub fn whole(parts: usize, of: &[PartId]) -> Self {
        let own = |part: usize| {
            let asked = of.is_empty() || of.contains(&PartId(part));
            asked
                .then_some((Tick::ZERO, Tick(u64::MAX)))
                .into_iter()
                .collect()
        };
        Self((0..parts).map(own).collect())
    }

    /// What either of two scopes may change.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        self.0.resize(self.0.len().max(other.0.len()), Vec::new());
        for (own, more) in self.0.iter_mut().zip(other.0) {
            *own = joined([std::mem::take(own), more].concat());
        }
        self
    }

    /// The same without some stretches of time, for all parts.
    #[must_use]
    pub fn without(mut self, stretches: &[(Tick, Tick)]) -> Self {
        for own in &mut self.0 {
            for (start, end) in stretches {
                let cut = own.iter().flat_map(|(a, b)| {
                    [(*a, (*b).min(*start)), ((*a).max(*end), *b)]
                        .into_iter()
                        .filter(|(a, b)| a < b)
                });
                *own = cut.collect();
            }
        }
        self
    }

    /// The stretches of a part, in order.
    #[must_use]
    pub fn of(&self, part: PartId) -> &[(Tick, Tick)] {
        self.0.get(part.0).map_or(&[], Vec::as_slice)
    }

    /// Whether all from one tick to another may change for a part.
    #[must_use]
    pub fn covers(&self, part: PartId, start: Tick, end: Tick) -> bool {
        let own = self.of(part);
        let at = own.partition_point(|(_, e)| *e <= start);
        own.get(at).is_some_and(|(s, e)| *s <= start && end <= *e)
    }

    /// Whether nothing may change.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(Vec::is_empty)
    }

    /// Where the first stretch of any part begins and the last one ends.
    #[must_use]
    pub fn ends(&self) -> Option<(Tick, Tick)> {
        let spans = || self.0.iter().flatten();
        let start = spans().map(|s| s.0).min()?;
        Some((start, spans().map(|s| s.1).max()?))
    }

    /// All time outside the stretches of a part, in order.
    #[must_use]
    pub fn rest_of(&self, part: PartId) -> Vec<(Tick, Tick)> {
        let own = self.of(part);
        let starts = std::iter::once(Tick::ZERO).chain(own.iter().map(|s| s.1));
        let ends = own.iter().map(|s| s.0).chain([Tick(u64::MAX)]);
        starts.zip(ends).filter(|(a, b)| a < b).collect()
    }
}

/// What staying as drafted is worth: 0 (start afresh) to 10 (leave it).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Stay(u8);

impl Default for Stay {
    /// A note moves where that gains two points a beat: as a rule, where something is wrong with it.
    fn default() -> Self {
        Self(4)
    }
}

impl Stay {
    /// The greatest: nothing moves that need not.
    pub const MOST: Self = Self(10);

    /// From a number; more than ten is ten.
    #[must_use]
    pub fn new(stay: u8) -> Self {
        Self(stay.min(10))
    }

    /// The number.
    #[must_use]
    pub const fn get(self) -> u8 {
        self.0
    }

    /// Points a beat for a note that is not as drafted: a quarter at 1, twice as much with every
    /// further step; at 10 more than all other terms of a note together (ours).
    #[must_use]
    pub fn points(self) -> f64 {
        match self.0 {
            0 => 0.0,
            10.. => 2_000.0,
            stay => 0.125 * f64::from(1_u32 << stay),
        }
    }

    /// Weights with what staying is worth.
    #[must_use]
    pub fn weigh(self, weights: &Weights) -> Weights {
        weights.clone().with(Term::Moved, self.points())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn staying_is_worth_twice_as_much_with_every_step() {
        let points: Vec<f64> = (0..=10).map(|n| Stay::new(n).points()).collect();
        assert_eq!((points[0], points[1], points[4]), (0.0, 0.25, 2.0));
        assert!(points.windows(2).all(|w| w[0] < w[1]));
        assert_eq!(Stay::new(11), Stay::MOST);
    }

    proptest! {
        #[test]
        fn a_scope_is_as_counted_tick_by_tick(
            a in prop::collection::vec((0..30_u64, 1..9_u64), 0..4),
            b in prop::collection::vec((0..30_u64, 1..9_u64), 0..3),
            (from, length) in (0..40_u64, 1..6_u64),
        ) {
            let spans = |all: &[(u64, u64)]| all.iter().map(|(s, l)| (Tick(*s), Tick(s + l))).collect::<Vec<_>>();
            let scope = Scope(vec![joined(spans(&a))]).without(&spans(&b));
            let inside = |all: &[(u64, u64)], t| all.iter().any(|(s, l)| (*s..s + l).contains(&t));
            let open = |t: u64| inside(&a, t) && !inside(&b, t);
            let part = PartId(0);
            let all = (from..from + length).all(open);
            prop_assert_eq!(scope.covers(part, Tick(from), Tick(from + length)), all);
            let rest = scope.rest_of(part);
            for t in 0..50 {
                let shut = rest.iter().any(|(s, e)| *s <= Tick(t) && Tick(t) < *e);
                prop_assert_eq!(shut, !open(t));
            }
        }
    }
}
