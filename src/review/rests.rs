//! Whole bars of rest of a part, and how long it plays without one.

use crate::music::{BarBeat, BarNumber, MeterMap, Tick};
use crate::score::DraftNote;
use std::collections::BTreeSet;

/// Bars of rest that follow one another.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct BarsOfRest {
    /// The first.
    pub first: BarNumber,
    /// The last.
    pub last: BarNumber,
    /// Where the part comes in again; `None` where it does not.
    pub comes_in: Option<BarBeat>,
}

impl BarsOfRest {
    /// How many there are.
    #[must_use]
    pub const fn count(&self) -> u32 {
        self.last.0 - self.first.0 + 1
    }
}

/// How a part's playing and resting is laid out, in whole bars: a bar is played if anything sounds in it.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PlayedBars {
    /// How many bars the music has.
    pub bars: u32,
    /// In how many of them the part plays.
    pub played: u32,
    /// The most bars that it plays on end: first and last; `None` where it plays nothing.
    pub longest: Option<(BarNumber, BarNumber)>,
    /// Its rests, in order.
    pub rests: Vec<BarsOfRest>,
}

/// The bars of a line in music that ends at a tick.
#[must_use]
pub fn played_bars(notes: &[DraftNote], meters: &MeterMap, end: Tick) -> PlayedBars {
    let before = |at: Tick| meters.bar(Tick(at.0.saturating_sub(1)));
    let bars = if end == Tick::ZERO { 0 } else { before(end).0 };
    let mut played = BTreeSet::new();
    for note in notes {
        played.extend(meters.bar(note.onset).0..=before(note.end()).0);
    }
    let all: Vec<(u32, bool)> = (1..=bars).map(|b| (b, played.contains(&b))).collect();
    let mut found = PlayedBars {
        bars,
        played: u32::try_from(all.iter().filter(|b| b.1).count()).unwrap_or(bars),
        ..PlayedBars::default()
    };
    for run in all.chunk_by(|a, b| a.1 == b.1) {
        let (Some(first), Some(last)) = (run.first(), run.last()) else {
            continue;
        };
        let (from, to) = (BarNumber(first.0), BarNumber(last.0));
        if first.1 {
            let longer = |(a, b): (BarNumber, BarNumber)| b.0 - a.0 < to.0 - from.0;
            if found.longest.is_none_or(longer) {
                found.longest = Some((from, to));
            }
            continue;
        }
        let after = meters.bar_end(to);
        let next = notes.iter().find(|n| n.onset >= after);
        found.rests.push(BarsOfRest {
            first: from,
            last: to,
            comes_in: next.map(|n| meters.place(n.onset)),
        });
    }
    found
}
