//! What to rehearse first: the bars of which most is likely to be missed.

use super::clean::{CleanLine, HARD_BELOW};
use super::exposed::{Exposed, ExposedMoment};
use crate::band::{Band, PartId};
use crate::music::{BarNumber, MeterMap, Sounding, Tick, Ticks};
use crate::score::{DraftNote, PartLine};
use std::collections::BTreeMap;

/// What is missed where a part is exposed counts so many times (ours: everybody hears it).
const WHERE_EXPOSED: f64 = 2.0;

/// The rule by which spots are ranked, for people.
pub const RULE: &str = "A spot is one bar of one part with a note that is likely missed more than once in ten times. It \
counts the notes that all players of the part together are likely to miss in it (1 less the clean chance, added up over \
notes and players), and twice that where the part is heard alone or nearly so. A bar that comes again note for note is \
one spot, and all its times are added up.";

/// A spot to rehearse: a bar of a part, with all other bars in which it plays the same.
#[derive(Clone, PartialEq, Debug)]
pub struct Spot {
    /// Who.
    pub part: PartId,
    /// The bars, in order.
    pub bars: Vec<BarNumber>,
    /// Which note of the line is its hardest.
    pub hardest: usize,
    /// Where that is.
    pub at: Tick,
    /// Its pitch.
    pub pitch: Sounding,
    /// Its clean chance, 0 to 1.
    pub chance: f64,
    /// How many notes all players of the part are likely to miss in these bars, in one playing.
    pub missed: f64,
    /// Why the part is heard by itself in at least one of the bars; the most of several.
    pub exposed: Option<Exposed>,
    /// What it is ranked by.
    pub points: f64,
}

/// A bar's notes from its beginning, with pitches and lengths: bars alike in these are one spot.
type Played = Vec<(Ticks, Sounding, Ticks)>;

/// The notes of a line that begin in one bar.
struct Bar {
    number: BarNumber,
    notes: std::ops::Range<usize>,
}

/// All spots, the greatest trouble first. `clean` and `exposed` are those of the lines.
#[must_use]
pub fn spots(
    band: &Band,
    lines: &[PartLine],
    meters: &MeterMap,
    clean: &[CleanLine],
    exposed: &[ExposedMoment],
) -> Vec<Spot> {
    let mut all = Vec::new();
    for line in lines {
        let Some(chances) = clean.iter().find(|c| c.part == line.part) else {
            continue;
        };
        let finder = Finder {
            line,
            meters,
            chances: &chances.notes,
            players: f64::from(band.part(line.part).players.count()),
            exposed: exposed.iter().filter(|m| m.part == line.part).collect(),
        };
        all.extend(finder.spots());
    }
    all.sort_by(|a, b| {
        let more = b.points.total_cmp(&a.points);
        more.then(a.at.cmp(&b.at)).then(a.part.cmp(&b.part))
    });
    all
}

struct Finder<'a> {
    line: &'a PartLine,
    meters: &'a MeterMap,
    chances: &'a [f64],
    players: f64,
    exposed: Vec<&'a ExposedMoment>,
}

impl Finder<'_> {
    fn spots(&self) -> Vec<Spot> {
        let mut alike: BTreeMap<Played, Vec<Bar>> = BTreeMap::new();
        for bar in self.bars() {
            let start = self.meters.bar_start(bar.number);
            let own = self.line.notes.get(bar.notes.clone()).unwrap_or_default();
            let note = |n: &DraftNote| (n.onset.since(start), n.pitch, n.duration);
            alike
                .entry(own.iter().map(note).collect())
                .or_default()
                .push(bar);
        }
        alike.values().filter_map(|b| self.spot(b)).collect()
    }

    fn bars(&self) -> Vec<Bar> {
        let notes = &self.line.notes;
        let mut bars: Vec<Bar> = Vec::new();
        for (i, note) in notes.iter().enumerate() {
            let number = self.meters.bar(note.onset);
            match bars.last_mut().filter(|b| b.number == number) {
                Some(bar) => bar.notes.end = i + 1,
                None => bars.push(Bar {
                    number,
                    notes: i..i + 1,
                }),
            }
        }
        bars
    }

    /// The spot of bars that are alike; `None` where no note of them is hard.
    fn spot(&self, bars: &[Bar]) -> Option<Spot> {
        let chance = |i: &usize| self.chances.get(*i).copied().unwrap_or(1.0);
        let notes = bars.iter().flat_map(|b| b.notes.clone());
        let hardest = notes.min_by(|a, b| chance(a).total_cmp(&chance(b)).then(a.cmp(b)))?;
        if chance(&hardest) >= HARD_BELOW {
            return None;
        }
        let (mut missed, mut points, mut why) = (0.0, 0.0, None);
        for bar in bars {
            let own = bar.notes.clone().map(|i| 1.0 - chance(&i)).sum::<f64>() * self.players;
            let here = self.exposed_in(bar);
            missed += own;
            points += own * here.map_or(1.0, |_| WHERE_EXPOSED);
            why = match (why, here) {
                (Some(a), Some(b)) => Some(std::cmp::min::<Exposed>(a, b)),
                (a, b) => a.or(b),
            };
        }
        let note = self.line.notes.get(hardest)?;
        Some(Spot {
            part: self.line.part,
            bars: bars.iter().map(|b| b.number).collect(),
            hardest,
            at: note.onset,
            pitch: note.pitch,
            chance: chance(&hardest),
            missed,
            exposed: why,
            points,
        })
    }

    fn exposed_in(&self, bar: &Bar) -> Option<Exposed> {
        let notes = self.line.notes.get(bar.notes.clone()).unwrap_or_default();
        let span = (
            notes.first()?.onset,
            notes.iter().map(DraftNote::end).max()?,
        );
        let here = self.exposed.iter().filter(|m| m.meets(span));
        here.map(|m| m.why).min()
    }
}
