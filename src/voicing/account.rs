//! The account of a solution: every term of its cost, where it arises and by whom.

use super::candidates::Choice;
use super::choir::tell_state;
use super::chords::Chords;
use super::coverage::{Counts, MOST_MARKS};
use super::moves::tell_together;
use super::terms::{Listed, Milli, Term, Weights};
use crate::band::PartId;
use crate::music::PitchClass;
use std::ops::Range;

/// What a cost is about.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum About {
    /// What a part does by itself.
    Note(PartId),
    /// How a part comes from what it did before.
    Way(PartId),
    /// The chord of a choir, by its place among the choirs.
    Choir(usize),
    /// The move of a choir of two.
    Together(usize),
    /// The chord of the whole band; one of its tones, or the octave under the tune.
    Band(Option<PitchClass>),
}

/// One entry of the account.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Entry {
    /// The step, by its place.
    pub step: usize,
    /// What it is about.
    pub about: About,
    /// The term.
    pub term: Term,
    /// Its units.
    pub units: f64,
    /// Its cost, in thousandths of a point.
    pub cost: Milli,
}

impl Chords<'_> {
    /// Every term that some steps of a solution cost; the entries add up to its cost. The way into
    /// the first of the steps counts from what was played in the step before it.
    #[must_use]
    pub fn account(
        &self,
        chosen: &[Vec<Choice>],
        steps: Range<usize>,
        weights: &Weights,
    ) -> Vec<Entry> {
        let mut entries = Vec::new();
        for s in steps {
            let Some(now) = chosen.get(s) else { break };
            let ids = (0..now.len()).map(PartId);
            let nothing: Vec<Choice> = ids.map(|id| self.nothing_yet(id)).collect();
            let before = s
                .checked_sub(1)
                .and_then(|b| chosen.get(b))
                .unwrap_or(&nothing);
            for id in (0..now.len()).map(PartId) {
                self.account_part(s, id, (before[id.0], now[id.0]), weights, &mut entries);
            }
            for c in 0..self.choirs().len() {
                self.account_choir(s, c, (before, now), weights, &mut entries);
            }
            self.account_band(s, now, weights, &mut entries);
        }
        entries
    }

    fn account_part(
        &self,
        s: usize,
        id: PartId,
        (before, now): (Choice, Choice),
        weights: &Weights,
        entries: &mut Vec<Entry>,
    ) {
        let mut list = Listed::new(weights);
        let _ = self.place(id, s).tell(now, &mut list);
        entries.extend(entries_of(s, About::Note(id), list));
        let mut list = Listed::new(weights);
        let alone = self.alone(id, s, &now);
        let _ = self.passing(id, s).tell(before, (now, alone), &mut list);
        entries.extend(entries_of(s, About::Way(id), list));
    }

    fn account_choir(
        &self,
        s: usize,
        c: usize,
        (before, now): (&[Choice], &[Choice]),
        weights: &Weights,
        entries: &mut Vec<Entry>,
    ) {
        let parts = &self.choirs()[c];
        let of = |all: &[Choice]| parts.iter().map(|id| all[id.0]).collect::<Vec<Choice>>();
        let (was, is) = (of(before), of(now));
        let mut list = Listed::new(weights);
        tell_state(&self.steps[s], &is, &mut list);
        entries.extend(entries_of(s, About::Choir(c), list));
        if self.counts_together(parts, s) {
            let mut list = Listed::new(weights);
            tell_together(&was, &is, &mut list);
            entries.extend(entries_of(s, About::Together(c), list));
        }
    }

    fn account_band(&self, s: usize, now: &[Choice], weights: &Weights, entries: &mut Vec<Entry>) {
        let coverage = self.coverage(s);
        let mut counts: Counts = [0; MOST_MARKS];
        for (choice, units) in now.iter().zip(self.units()) {
            coverage.add(&mut counts, *choice, *units);
        }
        let told = coverage.tell(&self.steps[s], &counts, weights);
        entries.extend(told.into_iter().map(|(class, term, units, cost)| Entry {
            step: s,
            about: About::Band(class),
            term,
            units,
            cost,
        }));
    }
}

fn entries_of(step: usize, about: About, list: Listed<'_>) -> impl Iterator<Item = Entry> {
    let entry = move |(term, units, cost)| Entry {
        step,
        about,
        term,
        units,
        cost,
    };
    list.costs.into_iter().map(entry)
}
