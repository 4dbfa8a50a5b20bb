//! The best ways to reach a place in the search.

/// Ways kept at each place.
const WAYS: usize = 10;

/// A way to reach a place: its last chord, where that began, and the way before.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    pub(super) score: f64,
    /// `None` is silence.
    pub(super) label: Option<usize>,
    pub(super) start: usize,
    /// Which of the ways to `start`.
    pub(super) before: usize,
    /// The classes that the accompaniment struck in the last chord.
    pub(super) struck: u16,
}

/// The best ways to a place, the best first, at most one with each last chord.
#[derive(Clone, Debug, Default)]
pub(super) struct Ways(Vec<Way>);

impl Ways {
    /// Where the piece begins.
    pub(super) fn first() -> Self {
        Self(vec![Way {
            score: 0.0,
            label: None,
            start: 0,
            before: 0,
            struck: 0,
        }])
    }

    /// The best way.
    pub(super) fn best(&self) -> Option<&Way> {
        self.0.first()
    }

    /// The way with this index.
    pub(super) fn get(&self, index: usize) -> Option<&Way> {
        self.0.get(index)
    }

    /// All ways.
    pub(super) fn iter(&self) -> impl Iterator<Item = &Way> {
        self.0.iter()
    }

    /// What a further way must score to be kept.
    pub(super) fn least(&self) -> f64 {
        let last = self.0.get(WAYS - 1);
        last.map_or(f64::NEG_INFINITY, |way| way.score)
    }

    /// Goes on in silence.
    pub(super) fn rest(&mut self, before: &Self, start: usize) {
        if let Some(best) = before.best() {
            self.keep(Way {
                label: None,
                start,
                before: 0,
                struck: 0,
                ..*best
            });
        }
    }

    /// Keeps a way if it is among the best.
    pub(super) fn keep(&mut self, way: Way) {
        if let Some(old) = self.0.iter().position(|w| w.label == way.label) {
            if self.0[old].score >= way.score {
                return;
            }
            self.0.remove(old);
        }
        let at = self.0.partition_point(|w| w.score >= way.score);
        self.0.insert(at, way);
        self.0.truncate(WAYS);
    }
}
