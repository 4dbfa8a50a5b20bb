//! A part's line as notation (SVG 1.1, W3C, to stand in a page), system by system across the width of a page.
//!
//! What stands where is [`notation`](crate::notation)'s business; here it is only painted: the same symbols as in
//! the window, with the music font that the page brings along ([`font_face`](super::font_face)).

mod breaks;
mod cell;
mod ink;
mod system;

use crate::music::{BarNumber, KeySignature, MeterMap, Tick};
use crate::notation::PartStave;
use crate::score::{DynamicMark, TempoMark};
use cell::cells;

/// What is painted.
#[derive(Clone, Copy, Debug)]
pub struct StaveMusic<'a> {
    /// The notes with their clef.
    pub stave: &'a PartStave,
    /// Bars.
    pub meters: &'a MeterMap,
    /// Concert keys, each from a tick on, in order.
    pub keys: &'a [(Tick, KeySignature)],
    /// Where the music ends.
    pub end: Tick,
    /// How loud it is written.
    pub dynamics: &'a [DynamicMark],
    /// Where the player breathes, in order.
    pub breaths: &'a [Tick],
    /// Rehearsal marks, in order.
    pub marks: &'a [(Tick, String)],
    /// Tempos, in order.
    pub tempos: &'a [TempoMark],
    /// Bars that are marked, with the number of the mark; in order of bars.
    pub spots: &'a [(BarNumber, usize)],
}

impl StaveMusic<'_> {
    fn last_bar(&self) -> BarNumber {
        self.meters.bar(Tick(self.end.0.saturating_sub(1)))
    }

    /// Whether something begins in the bar that must be seen, so that it is not joined to rests before it.
    fn is_marked(&self, bar: BarNumber) -> bool {
        let (start, end) = (self.meters.bar_start(bar), self.meters.bar_end(bar));
        let marks = self.marks.iter().map(|m| m.0);
        let tempos = self.tempos.iter().map(|t| t.at());
        marks.chain(tempos).any(|at| start <= at && at < end)
    }
}

/// Some bars beside each other.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct System {
    /// Its first bar.
    pub first: BarNumber,
    /// Its last bar.
    pub last: BarNumber,
    /// The element that shows it.
    pub svg: String,
}

/// The systems of a line on a page that is so many stave spaces wide. Bars of rest that follow one another, with
/// nothing between them that must be seen, are one sign with their number over it. Without notes there is nothing.
#[must_use]
pub fn systems(music: &StaveMusic<'_>, width: f32) -> Vec<System> {
    if music.stave.notes.is_empty() {
        return Vec::new();
    }
    let all = cells(music);
    let lines = breaks::lines(&all, width);
    let last = lines.len().saturating_sub(1);
    let paint = |(i, line): (usize, std::ops::Range<usize>)| {
        let next = all.get(line.end);
        let cells = all.get(line).unwrap_or_default();
        system::paint(music, cells, next, (width, i == last))
    };
    lines.into_iter().enumerate().filter_map(paint).collect()
}
