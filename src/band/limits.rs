//! The limits of a part: what its players can reach, narrowed by what the director said.

use super::go_easy;
use super::instrument::{Instrument, WrittenRange};
use super::remarks::{NotesPerSecond, Remarks};
use super::roster::Players;
use crate::music::{Interval, Sounding, Written};
use thiserror::Error;

/// A range of sounding pitches, both ends included.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct SoundingRange {
    /// Lowest.
    pub low: Sounding,
    /// Highest.
    pub high: Sounding,
}

impl SoundingRange {
    /// Whether a pitch is inside.
    #[must_use]
    pub fn contains(self, pitch: Sounding) -> bool {
        self.low <= pitch && pitch <= self.high
    }
}

/// What a part may be asked for.
///
/// All but `comfortable` are hard: no note the program writes breaks them. `comfortable` is
/// what may be relied on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Limits {
    /// Hard limits: what every player of the part can reach (the stretch range of the weakest),
    /// narrowed by the remarks.
    pub range: SoundingRange,
    /// What every player may be relied on for, inside `range`.
    pub comfortable: SoundingRange,
    /// Greatest interval between two notes that follow one another, if the director gave one.
    pub max_leap: Option<Interval>,
    /// Greatest speed of notes that follow one another, if the director gave one.
    pub max_speed: Option<NotesPerSecond>,
    /// Most bars played without a bar of rest, if the director gave a number.
    pub rests_every: Option<u16>,
    /// Most sharps or flats of a written key, if the director gave a number.
    pub max_accidentals: Option<u8>,
}

/// Why a part has no limits.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
pub enum LimitsError {
    /// Nobody plays it.
    #[error("the part has no players")]
    NoPlayers,
    /// What the players can reach and the remarks have no note in common.
    #[error("the remarks leave these players no notes")]
    NoNotes,
}

/// The highest written note of clarinets below the break: B flat 4, the top of the throat
/// register (common practice, no source).
pub const BELOW_THE_BREAK: Written = Written(70);

/// The limits of a part, sounding: hard the notes in the stretch range of every level present,
/// narrowed by the remarks; comfortable those in every comfortable range, narrowed to the hard
/// range (the whole hard range where nothing is left). Braces and injuries narrow the hard range
/// and shorten what is played on end ([`GoEasy`](super::GoEasy)).
///
/// # Errors
/// Without players, or where no note is left.
pub fn limits(
    instrument: &Instrument,
    players: Players,
    remarks: &Remarks,
) -> Result<Limits, LimitsError> {
    let all = players.levels().map(|(level, _)| instrument.range(level));
    let (stretch, comfortable) = all
        .map(|r| (r.stretch, r.comfortable))
        .reduce(|a, b| (meet(a.0, b.0), meet(a.1, b.1)))
        .ok_or(LimitsError::NoPlayers)?;
    let eased = go_easy::eased(instrument, remarks.go_easy, comfortable, stretch);
    let hard = meet(eased, said(remarks));
    let range = sounding(instrument, hard).ok_or(LimitsError::NoNotes)?;
    let comfortable = sounding(instrument, meet(comfortable, hard)).unwrap_or(range);
    Ok(Limits {
        range,
        comfortable,
        max_leap: remarks.no_leaps_over,
        max_speed: go_easy::speed(instrument, players, remarks.no_faster_than, remarks.go_easy),
        rests_every: go_easy::bars_on_end(remarks.rests_every, remarks.go_easy),
        max_accidentals: remarks.accidentals_at_most,
    })
}

fn said(remarks: &Remarks) -> WrittenRange {
    let mut high = remarks.highest.unwrap_or(Written(i16::MAX));
    if remarks.below_the_break {
        high = high.min(BELOW_THE_BREAK);
    }
    WrittenRange {
        low: remarks.lowest.unwrap_or(Written(i16::MIN)),
        high,
    }
}

fn meet(a: WrittenRange, b: WrittenRange) -> WrittenRange {
    WrittenRange {
        low: a.low.max(b.low),
        high: a.high.min(b.high),
    }
}

/// `None` for a range without notes.
fn sounding(instrument: &Instrument, range: WrittenRange) -> Option<SoundingRange> {
    if range.low > range.high {
        return None;
    }
    Some(SoundingRange {
        low: instrument.transposition.sounding(range.low)?,
        high: instrument.transposition.sounding(range.high)?,
    })
}
