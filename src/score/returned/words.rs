//! What was changed, in words for people.

use super::{Change, How, Returned};
use crate::band::Band;
use crate::music::BarNumber;
use crate::score::{as_ranges, bars_in_words};
use std::collections::{BTreeMap, BTreeSet};

impl Returned {
    /// What was changed, a sentence each: bars put in and cut out, then part by part and stretch by stretch of bars,
    /// then the sketch, then what nobody meant.
    #[must_use]
    pub fn in_words(&self, band: &Band) -> Vec<String> {
        let mut told = Vec::new();
        let inserted: BTreeSet<BarNumber> = self.bars.inserted().collect();
        let cut: BTreeSet<BarNumber> = self.bars.cut().collect();
        if !inserted.is_empty() {
            told.push(format!("put in: {}", bars_in(&inserted)));
        }
        if !cut.is_empty() {
            told.push(format!("cut out: {} as sent out", bars_in(&cut)));
        }
        for (part, about) in band.ids() {
            let own = self.changes.iter();
            let own = own.filter(|c| c.part == part && c.how.is_meant());
            let mut by_bar: BTreeMap<BarNumber, Counts> = BTreeMap::new();
            own.for_each(|c| by_bar.entry(c.bar).or_default().count(c));
            let bars: Vec<(BarNumber, Counts)> = by_bar.into_iter().collect();
            for stretch in bars.chunk_by(|a, b| a.0.0 + 1 == b.0.0) {
                let all: BTreeSet<BarNumber> = stretch.iter().map(|(bar, _)| *bar).collect();
                let sum = stretch.iter().fold(Counts::default(), |a, b| a.and(&b.1));
                told.push(format!(
                    "{}, {}: {}",
                    about.name,
                    bars_in(&all),
                    sum.words()
                ));
            }
        }
        if !self.sketch.is_empty() {
            told.push(format!(
                "the sketch is another in {}",
                bars_in(&self.sketch)
            ));
        }
        let respelled = self.changes.iter().filter(|c| c.how == How::Respelled);
        let respelled = respelled.count();
        if respelled > 0 {
            let notes = if respelled == 1 {
                "note has"
            } else {
                "notes have"
            };
            told.push(format!(
                "{respelled} {notes} another name and the same sound"
            ));
        }
        let rounded = self.changes.iter().filter(|c| c.how == How::Rounded);
        let rounded = rounded.count();
        if rounded > 0 {
            let notes = if rounded == 1 {
                "note has"
            } else {
                "notes have"
            };
            told.push(format!(
                "{rounded} {notes} times that were rounded otherwise; that is not taken for a change"
            ));
        }
        told
    }
}

/// `bar 5`, `bars 5-8, 12`.
fn bars_in(bars: &BTreeSet<BarNumber>) -> String {
    bars_in_words(&as_ranges(bars.iter().copied()))
}

/// How many changes there are of each kind.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
struct Counts(BTreeMap<How, usize>);

impl Counts {
    fn count(&mut self, change: &Change) {
        *self.0.entry(change.how).or_default() += 1;
    }

    fn and(mut self, other: &Self) -> Self {
        for (how, count) in &other.0 {
            *self.0.entry(*how).or_default() += count;
        }
        self
    }

    fn words(&self) -> String {
        let one = |(how, count): (&How, &usize)| {
            let notes = if *count == 1 { "note" } else { "notes" };
            let what = match how {
                How::Pitch => "with another pitch",
                How::Moved => "moved in time",
                How::Length => "longer or shorter",
                How::Added => "put in",
                How::Removed => "taken out",
                How::Respelled => "with another name",
                How::Rounded => "rounded otherwise",
            };
            format!("{count} {notes} {what}")
        };
        let words: Vec<String> = self.0.iter().map(one).collect();
        words.join(", ")
    }
}
