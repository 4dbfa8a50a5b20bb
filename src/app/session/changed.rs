//! The notes that the last solve changed, shown for a moment.

use crate::band::PartId;
use crate::music::{Sounding, Tick};
use crate::score::Draft;
use std::collections::BTreeSet;
use std::time::{Duration, Instant};

/// So long they are shown.
const SHOWN: Duration = Duration::from_secs(4);

/// The notes that the last solve changed.
#[derive(Clone, Debug)]
pub struct Changed {
    notes: BTreeSet<(PartId, Tick, Sounding)>,
    since: Instant,
}

impl Changed {
    /// The notes of a draft that another one does not have.
    #[must_use]
    pub fn between(before: &Draft, after: &Draft) -> Self {
        let all = |draft: &Draft| -> BTreeSet<(PartId, Tick, Sounding)> {
            let lines = draft.lines.iter();
            lines
                .flat_map(|l| l.notes.iter().map(|n| (l.part, n.onset, n.pitch)))
                .collect()
        };
        let was = all(before);
        Self {
            notes: all(after).difference(&was).copied().collect(),
            since: Instant::now(),
        }
    }

    /// How many there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.notes.len()
    }

    /// Whether nothing changed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.notes.is_empty()
    }

    /// Whether a note is one of them.
    #[must_use]
    pub fn has(&self, part: PartId, at: Tick, pitch: Sounding) -> bool {
        self.notes.contains(&(part, at, pitch))
    }

    /// Whether they were shown long enough.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.since.elapsed() > SHOWN
    }
}
