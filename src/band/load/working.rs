//! Working limits of brass: how long, how high, how loud without a rest.

use super::conditions::Conditions;
use super::part_load::{Held, TimedNote};
use super::tables;
use crate::band::instrument::Family;
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::band::playing::Posture;
use crate::band::roster::Part;
use crate::music::{Dynamic, Written};
use serde::Deserialize;

/// Semitones at the top of the comfortable range that belong to the high zone, with all above.
const HIGH_ZONE: i16 = 4;
/// Over how many bars the share of rest is taken.
pub(super) const REST_BARS: usize = 32;

/// What players of a level may be asked for. Seconds are of sound.
#[derive(Clone, Copy, PartialEq, Debug, Deserialize)]
pub struct WorkingLimits {
    /// Most seconds without a rest long enough to recover in.
    pub playing_seconds: f64,
    /// Least share of rest in any 32 bars, 0 to 1.
    pub rest_share: f64,
    /// Most seconds in the high zone without leaving it.
    pub high_seconds: f64,
    /// Greatest share of what is played that lies in the high zone.
    pub high_share: f64,
    /// Most seconds above the comfortable range at a time.
    pub above_seconds: f64,
    /// Greatest share of what is played that lies in the high zone and is forte or louder.
    pub loud_high_share: f64,
}

/// What a part is asked for, to be held against its limits.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Worked {
    /// The longest playing without a rest long enough to recover in.
    pub playing: Held,
    /// The least share of rest in any 32 bars, and the first of these bars, from 0; `None` for shows
    /// that are shorter.
    pub rest: Option<(f64, usize)>,
    /// The longest stay in the high zone.
    pub high: Held,
    /// The share of what is played that lies in the high zone.
    pub high_share: f64,
    /// The longest stay above the comfortable range.
    pub above: Held,
    /// The share of what is played that lies in the high zone and is forte or louder.
    pub loud_high_share: f64,
}

/// A limit that is exceeded.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Exceeded {
    /// Playing too long without a rest: seconds.
    Playing(Held),
    /// Too little rest from this bar on (from 0): share.
    Rest(f64, usize),
    /// Too long in the high zone.
    High(Held),
    /// Too much in the high zone.
    HighShare(f64),
    /// Too long above the comfortable range.
    Above(Held),
    /// Too much that is high and loud.
    LoudHighShare(f64),
}

/// The working limits of a level (common practice, no source). Marching, those of the next lower level hold.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn working_limits(level: Level, conditions: Conditions) -> Result<WorkingLimits, TableError> {
    let lower = Level::ALL.get(level.index().saturating_sub(1));
    tables::working(match conditions.posture {
        Posture::Seated => level,
        Posture::Marching => lower.copied().unwrap_or(level),
    })
}

impl Worked {
    /// Every limit that is exceeded.
    #[must_use]
    pub fn exceeded(&self, limits: &WorkingLimits) -> Vec<Exceeded> {
        let over = |yes: bool, what| yes.then_some(what);
        let rest = self.rest.filter(|(share, _)| *share < limits.rest_share);
        let all = [
            over(
                self.playing.seconds > limits.playing_seconds,
                Exceeded::Playing(self.playing),
            ),
            rest.map(|(share, bar)| Exceeded::Rest(share, bar)),
            over(
                self.high.seconds > limits.high_seconds,
                Exceeded::High(self.high),
            ),
            over(
                self.high_share > limits.high_share,
                Exceeded::HighShare(self.high_share),
            ),
            over(
                self.above.seconds > limits.above_seconds,
                Exceeded::Above(self.above),
            ),
            over(
                self.loud_high_share > limits.loud_high_share,
                Exceeded::LoudHighShare(self.loud_high_share),
            ),
        ];
        all.into_iter().flatten().collect()
    }
}

/// What players of a level are asked for by notes in order of onset. `bars` are the seconds at which
/// the bars begin, and the end of the last. `None` for other than brass, for which these limits are
/// not meant.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn worked(
    part: &Part,
    level: Level,
    notes: &[TimedNote],
    bars: &[f64],
) -> Result<Option<Worked>, TableError> {
    if part.instrument.family != Family::Brass {
        return Ok(None);
    }
    let rest = &tables::table()?.rest;
    let top = part.instrument.range(level).comfortable.high;
    let written = |n: &TimedNote| part.instrument.transposition.written(n.pitch);
    let zone = Written(top.0 - HIGH_ZONE);
    let high = |n: &TimedNote| written(n) > zone;
    let share = |of: &dyn Fn(&TimedNote) -> bool| {
        let all: f64 = notes.iter().map(seconds).sum();
        let some: f64 = notes.iter().filter(|n| of(n)).map(seconds).sum();
        if all > 0.0 { some / all } else { 0.0 }
    };
    Ok(Some(Worked {
        playing: longest(notes, rest.recovering, &|_| true),
        rest: least_rest(notes, bars),
        high: longest(notes, rest.shortest, &high),
        high_share: share(&high),
        above: longest(notes, rest.shortest, &|n| written(n) > top),
        loud_high_share: share(&|n| high(n) && n.dynamic >= Dynamic::F),
    }))
}

fn seconds(note: &TimedNote) -> f64 {
    (note.to - note.from).max(0.0)
}

/// The longest stretch of notes of a kind, none of another kind between them and no gap as long as a
/// rest.
fn longest(notes: &[TimedNote], rest: f64, kind: &dyn Fn(&TimedNote) -> bool) -> Held {
    let mut best = Held::default();
    let mut now: Option<(Held, f64)> = None;
    for (index, note) in notes.iter().enumerate() {
        if !kind(note) {
            now = None;
            continue;
        }
        let (mut held, end) = now.filter(|(_, end)| note.from - end < rest).unwrap_or((
            Held {
                seconds: 0.0,
                first: index,
                last: index,
            },
            note.from,
        ));
        held.seconds += (note.to - note.from.max(end)).max(0.0);
        held.last = index;
        if held.seconds > best.seconds {
            best = held;
        }
        now = Some((held, end.max(note.to)));
    }
    best
}

/// The least share of rest in any stretch of 32 bars, and its first bar.
fn least_rest(notes: &[TimedNote], bars: &[f64]) -> Option<(f64, usize)> {
    let sounding = sounding_by_bar(notes, bars);
    let mut sums = vec![0.0];
    for s in &sounding {
        sums.push(sums.last().copied().unwrap_or(0.0) + s);
    }
    let last = sounding.len().checked_sub(REST_BARS)?;
    let share = |first: usize| {
        let long = bars[first + REST_BARS] - bars[first];
        let played: f64 = sums[first + REST_BARS] - sums[first];
        (1.0 - played / long, first)
    };
    let stretches = (0..=last).filter(|f| bars[f + REST_BARS] > bars[*f]);
    stretches.map(share).min_by(|a, b| a.0.total_cmp(&b.0))
}

/// Seconds of sound in each bar.
fn sounding_by_bar(notes: &[TimedNote], bars: &[f64]) -> Vec<f64> {
    let mut sounding = vec![0.0; bars.len().saturating_sub(1)];
    let mut end = f64::NEG_INFINITY;
    for note in notes {
        let from = note.from.max(end);
        end = end.max(note.to);
        let first = bars.partition_point(|b| *b <= from).saturating_sub(1);
        for bar in first..sounding.len() {
            if bars[bar] >= note.to {
                break;
            }
            sounding[bar] += (note.to.min(bars[bar + 1]) - from.max(bars[bar])).max(0.0);
        }
    }
    sounding
}
