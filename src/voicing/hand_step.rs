//! One step of the path along a line that hands over: how each state at a note is best reached.

use super::hand_over::{Asking, Back, Ruled, Taker};
use super::line_terms::{self as terms, IMPOSSIBLE, Milli};
use std::collections::BTreeSet;

/// One step along the line. State 0 is that nobody takes the note; the others are its takers.
pub(super) struct Walk<'a> {
    pub asking: &'a Asking<'a>,
    pub ruled: &'a Ruled,
    pub note: usize,
    pub breath: usize,
    /// Whether it is the first note of all.
    pub first: bool,
    pub before: &'a [(Taker, Milli)],
    /// What it costs to be in each state at the note before.
    pub best: &'a [Milli],
}

impl Walk<'_> {
    pub fn step(&self, now: &[(Taker, Milli)]) -> (Vec<Milli>, Vec<Back>) {
        let begins = self.begins_breath();
        let asked = self.asking.asked[self.note];
        let left = self.leaving(begins);
        let nobody = if asked.wanted { terms::NOBODY.of(1) } else { 0 };
        let mut costs = vec![left.0.saturating_add(nobody)];
        let mut backs = vec![Back {
            from: left.1,
            shared: false,
        }];
        let others = self.others(begins);
        for (taker, cost) in now {
            let (arrive, back) = self.arriving(*taker, begins, &others);
            costs.push(arrive.saturating_add(*cost).min(IMPOSSIBLE));
            backs.push(back);
        }
        (costs, backs)
    }

    fn begins_breath(&self) -> bool {
        let breath = self.asking.line.breaths.get(self.breath);
        self.first || breath.is_some_and(|b| b.start == self.note)
    }

    fn is_out(&self, taker: Taker) -> bool {
        let part = self.asking.pool[taker.place].0.0;
        let other = |octave: &i16| *octave != taker.octave;
        self.ruled.out.contains(&(self.note, part))
            || self
                .ruled
                .octave
                .get(&(self.breath, part))
                .is_some_and(other)
    }

    /// The cheapest way to be here with nobody, and from which state.
    fn leaving(&self, begins: bool) -> (Milli, usize) {
        let Some(last) = self.note.checked_sub(1).filter(|_| !self.first) else {
            return (0, 0);
        };
        let shared = self.asking.asked.get(last).is_some_and(|a| !a.bare);
        let cut = if begins {
            0
        } else {
            self.asking.cut_cost(self.note, shared)
        };
        let from = |(i, cost): (usize, &Milli)| {
            let out = match i.checked_sub(1).and_then(|i| self.before.get(i)) {
                Some((taker, _)) => cut + self.asking.end_cost(*taker, last),
                None => 0,
            };
            (cost.saturating_add(out), i)
        };
        self.best
            .iter()
            .enumerate()
            .map(from)
            .min()
            .unwrap_or((0, 0))
    }

    /// The states before from which hands may change, cheapest first: the first of each part, and
    /// nobody.
    fn others(&self, begins: bool) -> Vec<(Milli, usize, Option<usize>)> {
        let last = self.note.saturating_sub(1);
        let from =
            |(i, cost): (usize, &Milli)| match i.checked_sub(1).and_then(|i| self.before.get(i)) {
                Some((taker, _)) => {
                    let out = self.asking.end_cost(*taker, last);
                    let change = if begins { terms::BETWEEN.of(1) } else { 0 };
                    (cost.saturating_add(out + change), i, Some(taker.place))
                }
                None => (*cost, i, None),
            };
        let mut all: Vec<_> = self.best.iter().enumerate().map(from).collect();
        all.sort_unstable();
        let mut kept: Vec<(Milli, usize, Option<usize>)> = Vec::new();
        let mut known = BTreeSet::new();
        for one in all {
            // Nobody and two parts are enough to find one that is not the same.
            let parts = kept.iter().filter(|k| k.2.is_some()).count();
            if known.insert(one.2) && (one.2.is_none() || parts < 2) {
                kept.push(one);
            }
        }
        kept
    }

    /// The cheapest way to a taker, without the note itself.
    fn arriving(
        &self,
        taker: Taker,
        begins: bool,
        others: &[(Milli, usize, Option<usize>)],
    ) -> (Milli, Back) {
        let none = Back {
            from: 0,
            shared: false,
        };
        if self.is_out(taker) {
            return (IMPOSSIBLE, none);
        }
        let asking = self.asking;
        let part = asking.pool[taker.place].0;
        let mut ways: Vec<(Milli, bool, usize)> = Vec::new();
        for (i, (own, _)) in self.before.iter().enumerate() {
            let goes_on = own.place == taker.place && (begins || own.octave == taker.octave);
            if goes_on {
                let way = asking.way_cost(taker, own.octave, self.note);
                let octave = terms::CHANGE.of(i64::from(own.octave != taker.octave));
                let cost = self.best[i + 1].saturating_add(way).saturating_add(octave);
                ways.push((cost, false, i + 1));
            }
        }
        let entry = asking.entry_cost(part, self.note);
        let begin = asking.begin_cost(taker, self.note);
        let joins = !asking.asked[self.note].bare;
        let cut = if begins {
            0
        } else {
            asking.cut_cost(self.note, joins)
        };
        let other = others.iter().filter(|o| o.2 != Some(taker.place));
        for (cost, i, from) in other.take(2) {
            let cold = cost.saturating_add(entry + begin + cut);
            ways.push((cold, false, *i));
            if let Some(pickup) = from.filter(|_| !begins).and(self.pickup_cost(taker)) {
                let shared = asking.cut_cost(self.note, true);
                ways.push((cost.saturating_add(entry + pickup + shared), true, *i));
            }
        }
        let (cost, shared, from) = ways.into_iter().min().unwrap_or((IMPOSSIBLE, false, 0));
        (cost.min(IMPOSSIBLE), Back { from, shared })
    }

    /// What it costs a taker to play the note before as well, with the one who hands over.
    fn pickup_cost(&self, taker: Taker) -> Option<Milli> {
        let asking = self.asking;
        let last = self.note.checked_sub(1)?;
        let before = Walk {
            note: last,
            ..*self
        };
        let is_out = before.is_out(taker);
        let at = self.before.binary_search_by_key(&taker, |b| b.0).ok()?;
        let cost = self.before.get(at).filter(|_| !is_out)?.1;
        let way = asking.way_cost(taker, taker.octave, self.note);
        Some((cost + way + asking.begin_cost(taker, last)).min(IMPOSSIBLE))
    }
}
