//! What the arranger says of the tune: where it must stay as written, and where a note of it may
//! change.

use super::lock::BarSet;
use crate::music::{MeterMap, Tick};
use std::collections::BTreeSet;

/// What is allowed with the tune, by bars. Without a rule it may be moved by whole octaves from
/// breath to breath, and no note of it is changed.
///
/// ```
/// use bandwright::music::{BarNumber, MeterMap, Tick, TicksPerQuarter};
/// use bandwright::score::{BarSet, TuneRules};
/// let meters = MeterMap::new(TicksPerQuarter::new(480).unwrap(), []);
/// let rules = TuneRules {
///     may_change: BarSet([BarNumber(1), BarNumber(2)].into()),
///     as_written: BarSet([BarNumber(2)].into()),
///     restored: [Tick(480)].into(),
/// };
/// assert!(rules.may_change(Tick(0), &meters));
/// assert!(!rules.may_change(Tick(480), &meters), "it was given back");
/// assert!(!rules.may_change(Tick(1920), &meters), "bar 2 stays as written");
/// ```
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct TuneRules {
    /// Bars in which the tune stays as written: every note, in the sketch's own octave. Who cannot
    /// play it so does not carry it. They outrank [`Self::may_change`].
    pub as_written: BarSet,
    /// Bars in which a note of the tune that nobody can play may give way to another.
    pub may_change: BarSet,
    /// Where notes of the tune begin that the arranger wants back as they were: they are never
    /// changed.
    pub restored: BTreeSet<Tick>,
}

impl TuneRules {
    /// Whether the arranger said nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.as_written.0.is_empty() && self.may_change.0.is_empty() && self.restored.is_empty()
    }

    /// Whether a note of the tune that begins at a tick stays as written.
    #[must_use]
    pub fn is_as_written(&self, at: Tick, meters: &MeterMap) -> bool {
        !self.as_written.0.is_empty() && self.as_written.contains(at, meters)
    }

    /// Whether a note of the tune that begins at a tick may give way to another.
    #[must_use]
    pub fn may_change(&self, at: Tick, meters: &MeterMap) -> bool {
        !self.may_change.0.is_empty()
            && self.may_change.contains(at, meters)
            && !self.is_as_written(at, meters)
            && !self.restored.contains(&at)
    }
}
