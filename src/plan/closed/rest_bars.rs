//! Bars of rest for parts that may not play for longer than so many bars on end.

use crate::band::{Band, PartId};
use crate::music::{BarNumber, MeterMap, Tick};
use crate::plan::habits::Strength;
use crate::plan::line::Lines;
use crate::plan::solve::PassagePlan;
use crate::score::{Closed, ClosedStretch, Locks, Role, Why};
use crate::sketch::Reading;
use std::collections::{BTreeMap, BTreeSet};

/// What a bar of rest costs where a part has each role, in hundredths (ours): filling a chord is
/// missed least, a tune or bass that nobody else carries most.
const HARMONY: i64 = 100;
const FIGURE: i64 = 150;
const COUNTERLINE: i64 = 250;
const BASS_SHARED: i64 = 200;
const BASS_ALONE: i64 = 500;
const MELODY_SHARED: i64 = 300;
const MELODY_ALONE: i64 = 800;
/// For each breath of the tune that is not over with the bar.
const TORN_BREATH: i64 = 400;
/// In a strong passage and above.
const STRONG: i64 = 60;
/// For each other part of the same role that rests in the bar already.
const TOGETHER: i64 = 60;
/// At the end of a phrase or a passage a rest costs half.
const AT_AN_END: i64 = 2;

/// All that rests are chosen from.
pub struct Music<'a> {
    /// The band.
    pub band: &'a Band,
    /// What the sketch sounds, and its phrases.
    pub reading: &'a Reading,
    /// Its lines.
    pub lines: &'a Lines,
    /// Its bars.
    pub meters: &'a MeterMap,
    /// What the arranger fixed.
    pub locks: &'a Locks,
    /// Who carries what.
    pub passages: &'a [PassagePlan],
}

/// What a part does in a bar, for the choice of rests.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Bar {
    /// Nothing, for certain.
    Rests,
    /// The arranger's notes, which stay.
    Locked,
    /// It may be given a rest, at a cost.
    Free(i64),
}

/// Closes bars so that no part with such a remark plays more bars on end than it may: where the
/// plan lets it rest anyway if that is enough, else where it is missed least. Notes that are locked
/// may still be too many on end; beside them the part rests.
pub fn close_for_rests(music: &Music<'_>, closed: &mut Closed) {
    let sounding = sounding_bars(music);
    let ends = end_bars(music);
    let mut resting: BTreeMap<(u32, Role), i64> = BTreeMap::new();
    for (id, part) in music.band.ids() {
        let Some(most) = part.limits.rests_every else {
            continue;
        };
        for stretch in sounding.chunk_by(|a, b| b - a == 1) {
            let bars = stretch
                .iter()
                .map(|b| bar(music, closed, id, BarNumber(*b), &ends, &resting));
            let bars: Vec<Bar> = bars.collect();
            for chosen in fewest_rests(&bars, usize::from(most)) {
                let Some(number) = stretch.get(chosen).copied() else {
                    continue;
                };
                let (start, end) = times(music.meters, BarNumber(number));
                let why = Why::Rest;
                closed.close(id, ClosedStretch { start, end, why });
                *resting.entry((number, role(music, id, start))).or_default() += 1;
            }
        }
    }
}

fn times(meters: &MeterMap, bar: BarNumber) -> (Tick, Tick) {
    (meters.bar_start(bar), meters.bar_end(bar))
}

/// The bars in which the sketch or a lock sounds, in order.
fn sounding_bars(music: &Music<'_>) -> Vec<u32> {
    let mut bars = BTreeSet::new();
    let mut add = |start: Tick, end: Tick| {
        let last = music.meters.bar(Tick(end.0.saturating_sub(1)));
        bars.extend(music.meters.bar(start).0..=last.0);
    };
    let slices = music.reading.slices.iter();
    for slice in slices.filter(|s| !s.classes.is_empty()) {
        add(slice.start, slice.end);
    }
    for note in music.locks.0.iter().flat_map(|l| &l.notes) {
        add(note.onset, note.end());
    }
    bars.into_iter().collect()
}

/// The bars in which a phrase or a passage ends.
fn end_bars(music: &Music<'_>) -> BTreeSet<u32> {
    let phrases = music.reading.phrases.iter().map(|p| p.end);
    let passages = music.passages.iter().map(|p| p.passage.end);
    let last = |end: Tick| music.meters.bar(Tick(end.0.saturating_sub(1))).0;
    phrases.chain(passages).map(last).collect()
}

fn planned<'a>(music: &Music<'a>, at: Tick) -> Option<&'a PassagePlan> {
    let next = music.passages.partition_point(|p| p.passage.start <= at);
    music.passages.get(next.saturating_sub(1))
}

fn role(music: &Music<'_>, part: PartId, at: Tick) -> Role {
    planned(music, at)
        .and_then(|p| p.roles.get(part.0))
        .map_or(Role::Rest, |r| r.role)
}

fn bar(
    music: &Music<'_>,
    closed: &Closed,
    part: PartId,
    number: BarNumber,
    ends: &BTreeSet<u32>,
    resting: &BTreeMap<(u32, Role), i64>,
) -> Bar {
    let (start, end) = times(music.meters, number);
    if let Some(lock) = music.locks.of(part) {
        if lock.notes.iter().any(|n| n.onset < end && n.end() > start) {
            return Bar::Locked;
        }
        if lock.bars.0.contains(&number) {
            return Bar::Rests;
        }
    }
    if closed.covers(part, start, end) {
        return Bar::Rests;
    }
    // A passage may change inside the bar: the dearer of the two counts.
    let last = Tick(end.0.saturating_sub(1));
    let costs = [start, last].map(|at| cost(music, closed, part, (start, end), at));
    let together = resting.get(&(number.0, role(music, part, start)));
    let [a, b] = costs;
    let mut cost = a.max(b);
    if cost > 0 {
        cost += together.map_or(0, |n| n * TOGETHER);
        if ends.contains(&number.0) {
            cost /= AT_AN_END;
        }
    }
    Bar::Free(cost)
}

/// What a rest in a bar costs, by the role that the part has at a tick in it.
fn cost(
    music: &Music<'_>,
    closed: &Closed,
    part: PartId,
    (start, end): (Tick, Tick),
    at: Tick,
) -> i64 {
    let role = role(music, part, at);
    let Some(planned) = planned(music, at) else {
        return 0;
    };
    let line = music.lines.of_role(role);
    let meets = |line: &crate::plan::line::OneLine| {
        let near = line.within(Tick(0), end);
        let note = near.end.checked_sub(1).and_then(|i| line.notes.get(i));
        note.is_some_and(|n| n.end > start)
    };
    if line.is_some_and(|l| !meets(l)) {
        return 0;
    }
    let shared = music.band.ids().any(|(id, _)| {
        let same = planned.roles.get(id.0).is_some_and(|r| r.role == role);
        id != part && same && !closed.meets(id, start, end)
    });
    let own = match (role, shared) {
        (Role::Rest, _) => return 0,
        (Role::Harmony, _) => HARMONY,
        (Role::Figure, _) => FIGURE,
        (Role::Counterline, _) => COUNTERLINE,
        (Role::Bass, true) => BASS_SHARED,
        (Role::Bass, false) => BASS_ALONE,
        (Role::Melody, true) => MELODY_SHARED,
        (Role::Melody, false) => MELODY_ALONE,
    };
    let torn = match line.filter(|_| role == Role::Melody) {
        Some(line) => torn_breaths(line, start, end) * TORN_BREATH,
        None => 0,
    };
    let strong = Strength::of(planned.passage.intensity) >= Strength::Strong;
    own + torn + if strong { STRONG } else { 0 }
}

/// Breaths of a line that sound in a stretch and outside it.
fn torn_breaths(line: &crate::plan::line::OneLine, start: Tick, end: Tick) -> i64 {
    let breath = |at: Tick| {
        let next = line.notes.partition_point(|n| n.onset < at);
        let (before, after) = (next.checked_sub(1)?, next);
        let breath = line.breaths.partition_point(|b| b.start <= before);
        let breath = line.breaths.get(breath.checked_sub(1)?)?;
        breath.contains(&after).then_some(())
    };
    [start, end].into_iter().filter_map(breath).count() as i64
}

/// The cheapest bars of rest so that never more than `most` bars are played on end, but for bars
/// that are all locked; those that rest anyway are not among them.
fn fewest_rests(bars: &[Bar], most: usize) -> Vec<usize> {
    // `best[i]`: the cheapest way to a rest before bar `i - 1`, bars counted from 1; 0 is the rest
    // before the first bar, `bars.len() + 1` that after the last.
    let mut best: Vec<(i64, usize)> = vec![(0, 0)];
    // The rest nearest before the locked bars that end here.
    let mut before_locks = 0;
    for to in 1..=bars.len() + 1 {
        let own = match bars.get(to - 1) {
            None | Some(Bar::Rests) => Some(0),
            Some(Bar::Free(cost)) => Some(*cost),
            Some(Bar::Locked) => None,
        };
        let near = to.saturating_sub(most + 1)..to;
        let ways = near.chain([before_locks]).filter_map(|from| {
            let (cost, _) = best.get(from)?;
            (*cost < IMPOSSIBLE).then_some((*cost, from))
        });
        // Of equals the farther one: fewer rests.
        let way = ways.min();
        let here = match (own, way) {
            (Some(own), Some((cost, from))) => (cost + own, from),
            _ => (IMPOSSIBLE, 0),
        };
        best.push(here);
        if bars.get(to - 1) != Some(&Bar::Locked) {
            before_locks = to;
        }
    }
    let mut chosen = Vec::new();
    let mut at = best.len() - 1;
    while at > 0 {
        at = best.get(at).map_or(0, |b| b.1);
        if at > 0 && bars.get(at - 1) != Some(&Bar::Rests) {
            chosen.push(at - 1);
        }
    }
    chosen.reverse();
    chosen
}

const IMPOSSIBLE: i64 = i64::MAX / 4;

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Whether no more than `most` bars are played on end, but for bars that are all locked.
    fn holds(bars: &[Bar], rests: &BTreeSet<usize>, most: usize) -> bool {
        let plays = |i: &usize| !rests.contains(i) && bars[*i] != Bar::Rests;
        bars.windows(most + 1).enumerate().all(|(from, window)| {
            let all = (from..from + window.len()).all(|i| plays(&i));
            !all || window.iter().all(|b| *b == Bar::Locked)
        })
    }

    fn cost(bars: &[Bar], rests: &BTreeSet<usize>) -> Option<i64> {
        rests.iter().try_fold(0, |sum, i| match bars[*i] {
            Bar::Free(cost) => Some(sum + cost),
            Bar::Rests => Some(sum),
            Bar::Locked => None,
        })
    }

    fn any_bar() -> impl Strategy<Value = Bar> {
        prop_oneof![
            1 => Just(Bar::Rests),
            2 => Just(Bar::Locked),
            4 => (0..500_i64).prop_map(Bar::Free),
        ]
    }

    proptest! {
        #[test]
        fn the_rests_are_enough_and_the_cheapest(
            bars in prop::collection::vec(any_bar(), 1..10),
            most in 0..5_usize,
        ) {
            let chosen: BTreeSet<usize> = fewest_rests(&bars, most).into_iter().collect();
            prop_assert!(holds(&bars, &chosen, most), "{chosen:?}");
            let all = (0..1_u32 << bars.len()).map(|set| {
                (0..bars.len()).filter(|i| set >> i & 1 == 1).collect::<BTreeSet<usize>>()
            });
            let least = all.filter(|s| holds(&bars, s, most)).filter_map(|s| cost(&bars, &s)).min();
            prop_assert_eq!(cost(&bars, &chosen), least);
        }
    }

    impl std::fmt::Debug for Bar {
        fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
            match self {
                Self::Rests => f.write_str("rests"),
                Self::Locked => f.write_str("locked"),
                Self::Free(cost) => write!(f, "{cost}"),
            }
        }
    }
}
