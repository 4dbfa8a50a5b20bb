//! What is different between two drafts or two bands, in words.

use super::desk::line_of;
use super::roster_done::RosterDone;
use super::words::{bars_in_words, notes_in_words};
use crate::band::{Band, Part, remarks_in_words};
use crate::music::{BarNumber, MeterMap};
use crate::score::{Draft, DraftNote};
use std::collections::BTreeMap;

/// What is different in a draft after from a draft before of the same band, a sentence for every part and
/// every stretch of bars that follow one another, in the order of the parts and bars:
/// `Clarinet 2: 14 notes in bars 9-16 are others`. Locks are not compared.
#[must_use]
pub fn drafts_differ(band: &Band, meters: &MeterMap, before: &Draft, after: &Draft) -> Vec<String> {
    let mut told = Vec::new();
    for (id, part) in band.ids() {
        let by_bar = changes(line_of(before, id), line_of(after, id), meters);
        let bars: Vec<(BarNumber, Change)> = by_bar.into_iter().collect();
        for stretch in bars.chunk_by(|a, b| a.0.0.saturating_add(1) == b.0.0) {
            let (Some(first), Some(last)) = (stretch.first(), stretch.last()) else {
                continue;
            };
            let sum = stretch.iter().fold(Change::default(), |a, b| a.and(b.1));
            let place = bars_in_words((first.0, last.0));
            told.push(format!("{}: {}", part.name, sum.in_words(&place)));
        }
    }
    told
}

/// How many notes are gone and how many are new.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
struct Change {
    gone: usize,
    new: usize,
}

impl Change {
    const fn and(self, other: Self) -> Self {
        Self {
            gone: self.gone + other.gone,
            new: self.new + other.new,
        }
    }

    fn in_words(self, place: &str) -> String {
        let other = self.gone.min(self.new);
        let mut said = Vec::new();
        let mut say = |count: usize, what: (&str, &str)| {
            if count > 0 {
                let what = if count == 1 { what.0 } else { what.1 };
                said.push(format!("{} in {place} {what}", notes_in_words(count)));
            }
        };
        say(other, ("is another", "are others"));
        say(self.new - other, ("is new", "are new"));
        say(self.gone - other, ("is gone", "are gone"));
        said.join(", ")
    }
}

/// By bar, what two lines do not share. Both are by onset, then pitch.
fn changes(
    before: &[DraftNote],
    after: &[DraftNote],
    meters: &MeterMap,
) -> BTreeMap<BarNumber, Change> {
    let plain = |n: &DraftNote| (n.onset, n.pitch, n.duration, n.velocity);
    let mut counts: BTreeMap<_, isize> = BTreeMap::new();
    for note in before {
        *counts.entry(plain(note)).or_default() -= 1;
    }
    for note in after {
        *counts.entry(plain(note)).or_default() += 1;
    }
    let mut found: BTreeMap<BarNumber, Change> = BTreeMap::new();
    for ((onset, ..), count) in counts {
        let n = count.unsigned_abs();
        if n > 0 {
            let here = found.entry(meters.bar(onset)).or_default();
            if count < 0 {
                here.gone += n;
            } else {
                here.new += n;
            }
        }
    }
    found
}

/// What is different in a band after an edit of its roster: parts that came, left or are called otherwise, and
/// of the others what their players reach, how many they are and what is said of them.
#[must_use]
pub fn bands_differ(
    before: &Band,
    done: &RosterDone,
    parts: &[Option<crate::band::PartId>],
) -> Vec<String> {
    let after = &done.band;
    let mut told = Vec::new();
    for (id, now) in after.ids() {
        let was = parts.iter().position(|p| *p == Some(id));
        match was.and_then(|w| before.parts.get(w)) {
            None => told.push(format!("{} is new", now.name)),
            Some(was) => told.extend(part_differs(was, now)),
        }
    }
    for (was, now) in before.parts.iter().zip(parts) {
        if now.is_none() {
            told.push(format!("{} is gone", was.name));
        }
    }
    told
}

fn part_differs(was: &Part, now: &Part) -> Option<String> {
    let mut said = Vec::new();
    if was.name != now.name {
        said.push(format!("was {}", was.name));
    }
    if was.instrument.id != now.instrument.id {
        said.push(format!("plays {}", now.instrument.name));
    }
    let (had, has) = (was.players.count(), now.players.count());
    match had == has {
        false => said.push(format!("{has} players instead of {had}")),
        true if was.players != now.players => {
            said.push("players of other levels".to_owned());
        }
        true => {}
    }
    let reach = |part: &Part| {
        let written = |p| part.instrument.transposition.written(p);
        let range = part.limits.range;
        format!("{} to {}", written(range.low), written(range.high))
    };
    let (could, can) = (reach(was), reach(now));
    if could != can {
        said.push(format!("reaches written {can} instead of {could}"));
    }
    if was.remarks != now.remarks {
        let words = remarks_in_words(&now.remarks);
        said.push(match words.is_empty() {
            true => "nothing is said of it any more".to_owned(),
            false => format!("said of it: {}", words.join(", ")),
        });
    }
    (!said.is_empty()).then(|| format!("{}: {}", now.name, said.join("; ")))
}
