//! The written range of a part as notes on a stave.

use super::stave::{Clef, StaveNote, clefs};
use crate::band::{Part, Remarks, SoundingRange, limits};
use crate::music::{Sounding, Written};

/// What the end of a range means.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Mark {
    /// The end of what every player of the part may be relied on for.
    Comfortable,
    /// The end of what every player can reach.
    Stretch,
    /// The hard limit that the director's remarks leave, where it is another than the stretch.
    Limit,
}

/// The end of a range.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct RangeNote {
    /// What it means.
    pub mark: Mark,
    /// Whether it is the upper end.
    pub upper: bool,
    /// As the player reads it.
    pub written: Written,
    /// Where it stands.
    pub place: StaveNote,
}

/// A part's range, ready to be drawn.
#[derive(Clone, PartialEq, Debug)]
pub struct RangeStave {
    /// The part's name.
    pub name: String,
    /// Its stave or staves, the upper one first.
    pub clefs: Vec<Clef>,
    /// The ends of its ranges from left to right: stretch, limit and comfortable below, then
    /// comfortable, limit and stretch above. A limit stands only where it differs from the stretch.
    pub notes: Vec<RangeNote>,
}

impl RangeStave {
    /// The highest and the lowest step that the drawing needs, staves included.
    #[must_use]
    pub fn steps(&self) -> (i16, i16) {
        let notes = || self.notes.iter().map(|n| n.place.step);
        let top = self.clefs.iter().map(|c| c.top_line());
        let bottom = self.clefs.iter().map(|c| c.bottom_line());
        let high = top.chain(notes()).max().unwrap_or_default();
        let low = bottom.chain(notes()).min().unwrap_or_default();
        (high, low)
    }

    /// The end of a range, if it is drawn.
    #[must_use]
    pub fn note(&self, mark: Mark, upper: bool) -> Option<&RangeNote> {
        let mut notes = self.notes.iter();
        notes.find(|n| n.mark == mark && n.upper == upper)
    }
}

/// The range of a part: comfortable and stretch of all its players, before remarks; and the hard
/// limits after them.
#[must_use]
pub fn range_stave(part: &Part) -> RangeStave {
    let before = limits(&part.instrument, part.players, &Remarks::default());
    let players = before.unwrap_or(part.limits);
    let (stretch, comfortable, hard) = (players.range, players.comfortable, part.limits.range);
    let mut notes = Vec::new();
    let mut put = |mark, upper, pitch: Sounding| {
        let written = part.instrument.transposition.written(pitch);
        notes.push(RangeNote {
            mark,
            upper,
            written,
            place: StaveNote::of(written),
        });
    };
    let end = |r: SoundingRange, upper: bool| if upper { r.high } else { r.low };
    for upper in [false, true] {
        let mut ends = vec![(Mark::Stretch, end(stretch, upper))];
        if end(hard, upper) != end(stretch, upper) {
            ends.push((Mark::Limit, end(hard, upper)));
        }
        ends.push((Mark::Comfortable, end(comfortable, upper)));
        if upper {
            ends.reverse();
        }
        for (mark, pitch) in ends {
            put(mark, upper, pitch);
        }
    }
    RangeStave {
        name: part.name.clone(),
        clefs: clefs(&part.instrument.clef),
        notes,
    }
}
