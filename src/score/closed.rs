//! Stretches in which a part may play nothing, because of a remark of the director's.

use crate::band::PartId;
use crate::music::{KeySignature, Tick};

/// Why a part may play nothing.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Why {
    /// The key, as the part reads it, has too many sharps or flats.
    Key(KeySignature),
    /// Its players play another part there, or change to it.
    OtherPart(PartId),
    /// It has to rest now and then.
    Rest,
}

/// A stretch in which a part may play nothing.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct ClosedStretch {
    /// Where it begins.
    pub start: Tick,
    /// Where it ends.
    pub end: Tick,
    /// Why.
    pub why: Why,
}

/// The closed stretches of all parts. Locked notes may stand in them all the same: they are the
/// arranger's.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Closed(Vec<OfPart>);

/// The closed stretches of a part by their beginnings, and for each of them the latest end so far.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
struct OfPart {
    stretches: Vec<ClosedStretch>,
    latest: Vec<Tick>,
}

impl Closed {
    /// Closes a stretch for a part; an empty stretch closes nothing.
    pub fn close(&mut self, part: PartId, stretch: ClosedStretch) {
        if stretch.end <= stretch.start {
            return;
        }
        if self.0.len() <= part.0 {
            self.0.resize(part.0 + 1, OfPart::default());
        }
        if let Some(of_part) = self.0.get_mut(part.0) {
            let all = &mut of_part.stretches;
            let at = all.partition_point(|s| s.start <= stretch.start);
            all.insert(at, stretch);
            of_part.latest.truncate(at);
            for stretch in all.iter().skip(at) {
                let before = of_part.latest.last().copied();
                of_part
                    .latest
                    .push(stretch.end.max(before.unwrap_or_default()));
            }
        }
    }

    /// The closed stretches of a part by their beginnings; they may overlap.
    #[must_use]
    pub fn of(&self, part: PartId) -> &[ClosedStretch] {
        self.0.get(part.0).map_or(&[], |p| &p.stretches)
    }

    /// The closed time of a part, in order, what adjoins or overlaps joined.
    #[must_use]
    pub fn spans(&self, part: PartId) -> Vec<(Tick, Tick)> {
        joined(self.of(part).iter().map(|s| (s.start, s.end)).collect())
    }

    /// Whether a part may play nothing from one tick to another.
    #[must_use]
    pub fn covers(&self, part: PartId, start: Tick, end: Tick) -> bool {
        let covers = |s: &(Tick, Tick)| s.0 <= start && end <= s.1;
        self.meets(part, start, end) && self.spans(part).iter().any(covers)
    }

    /// Whether any closed stretch of a part meets the time from one tick to another.
    #[must_use]
    pub fn meets(&self, part: PartId, start: Tick, end: Tick) -> bool {
        let next = self.of(part).partition_point(|s| s.start < end);
        let latest = self
            .0
            .get(part.0)
            .and_then(|p| p.latest.get(next.checked_sub(1)?));
        latest.is_some_and(|latest| start < *latest)
    }
}

/// Stretches in order, what adjoins or overlaps joined.
#[must_use]
pub fn joined(mut stretches: Vec<(Tick, Tick)>) -> Vec<(Tick, Tick)> {
    stretches.sort_unstable();
    let mut joined: Vec<(Tick, Tick)> = Vec::with_capacity(stretches.len());
    for (start, end) in stretches {
        match joined.last_mut().filter(|last| start <= last.1) {
            Some(last) => last.1 = last.1.max(end),
            None => joined.push((start, end)),
        }
    }
    joined
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn closed_time_is_as_counted_tick_by_tick(
            stretches in prop::collection::vec((0..30_u64, 0..12_u64), 0..8),
            (from, length) in (0..40_u64, 1..12_u64),
        ) {
            let mut closed = Closed::default();
            for (start, length) in &stretches {
                closed.close(PartId(0), stretch(*start, start + length));
            }
            let shut = |t: u64| stretches.iter().any(|(s, l)| (*s..s + l).contains(&t));
            let mut time = from..from + length;
            let (start, end) = (Tick(from), Tick(from + length));
            prop_assert_eq!(closed.meets(PartId(0), start, end), time.clone().any(shut));
            prop_assert_eq!(closed.covers(PartId(0), start, end), time.all(shut));
        }
    }

    fn stretch(start: u64, end: u64) -> ClosedStretch {
        ClosedStretch {
            start: Tick(start),
            end: Tick(end),
            why: Why::Rest,
        }
    }

    #[test]
    fn stretches_are_joined_and_found() {
        let mut closed = Closed::default();
        for (start, end) in [(40, 50), (0, 10), (10, 20), (15, 18), (7, 7)] {
            closed.close(PartId(1), stretch(start, end));
        }
        let part = PartId(1);
        assert_eq!(
            closed.spans(part),
            [(Tick(0), Tick(20)), (Tick(40), Tick(50))]
        );
        assert!(closed.covers(part, Tick(5), Tick(20)) && !closed.covers(part, Tick(5), Tick(21)));
        assert!(closed.meets(part, Tick(19), Tick(21)) && !closed.meets(part, Tick(20), Tick(40)));
        assert_eq!(closed.of(PartId(0)), []);
        assert_eq!(closed.of(PartId(9)), []);
    }
}
