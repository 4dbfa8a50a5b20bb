//! What it is worth that one chord follows another at a place.

use super::context::{most_progression, progression};
use super::labels::Label;
use super::weights::Weights;

/// A chord that is to begin, and where.
pub(super) struct Place<'a> {
    pub(super) label: &'a Label,
    /// The classes that the accompaniment strikes while it lasts.
    pub(super) struck: u16,
    /// What a change costs there.
    pub(super) change: f64,
}

impl Place<'_> {
    /// What is gained by coming from a chord (with what the accompaniment struck in it) or from
    /// silence.
    pub(super) fn gain(&self, from: Option<(&Label, u16)>, w: &Weights) -> f64 {
        let Some((from, struck)) = from else {
            return -self.change;
        };
        if std::ptr::eq(from, self.label) {
            return self.label.entry * w.entry;
        }
        let change = if from.root == self.label.root && !self.is_brought(from, struck) {
            self.change.max(w.new_kind)
        } else {
            self.change
        };
        progression(from, self.label, w) - change
    }

    /// Whether the accompaniment makes a new chord of the old root: it strikes a tone that the old
    /// chord had not, and all tones in which the two differ it struck in the one and not in the
    /// other. A tune that passes makes none, nor does a chord that loses a tone, nor a bare fifth
    /// beside its triad.
    fn is_brought(&self, from: &Label, struck: u16) -> bool {
        let new = self.label.mask & !from.mask;
        let lost = from.mask & !self.label.mask;
        let only = |set: u16, here: u16, there: u16| set & !here == 0 && set & there == 0;
        let full = |label: &Label| label.mask.count_ones() > 2;
        let real = only(new, self.struck, struck) && only(lost, struck, self.struck);
        new != 0 && real && full(from) && full(self.label)
    }
}

/// The most that any chord can gain by beginning where a change costs so much.
pub(super) fn most_gained(change: f64, most_entry: f64, w: &Weights) -> f64 {
    (most_entry * w.entry).max(most_progression(w) - change)
}
