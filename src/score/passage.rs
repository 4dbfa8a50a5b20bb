//! A passage: some bars with one way of scoring.

use crate::music::{BarNumber, Tick};

/// A stretch of the piece that is scored one way. Passages follow one another without gaps.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Passage {
    /// Where it begins; a pickup belongs to the passage it leads into.
    pub start: Tick,
    /// Where the next begins.
    pub end: Tick,
    /// Its first bar, without the pickup.
    pub first_bar: BarNumber,
    /// Its last bar, without the next passage's pickup.
    pub last_bar: BarNumber,
    /// Wanted intensity, 0 (hush) to 10 (peak).
    pub intensity: f64,
    /// Index of the earlier passage that most of it repeats.
    pub repeats: Option<usize>,
    /// Whether a peak of the show, as its timeline names it, stands in it.
    pub peak: bool,
}

impl Passage {
    /// Whether a tick lies in it.
    #[must_use]
    pub fn contains(&self, at: Tick) -> bool {
        self.start <= at && at < self.end
    }
}
