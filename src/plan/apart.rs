//! How far two notes of a part that follow one another must and may lie apart: in time, and in
//! pitch.

use super::line::LineNote;
use crate::band::Part;
use crate::music::{Interval, Sounding, TempoMap, Tick};

/// So much sooner than the greatest speed allows a note may come, in seconds: ticks and tempos are
/// rounded. Half of what the reviewer lets pass (ours).
const TOLERANCE: f64 = 0.000_5;

/// The greatest leap and the greatest speed of a part, in a piece.
#[derive(Clone, Copy, Debug)]
pub struct Apart<'a> {
    most: Option<Interval>,
    /// Fewest seconds from onset to onset.
    least: Option<f64>,
    tempo: &'a TempoMap,
}

impl<'a> Apart<'a> {
    /// Those of a part.
    #[must_use]
    pub fn of(part: &Part, tempo: &'a TempoMap) -> Self {
        let speed = part.limits.max_speed;
        Self {
            most: part.limits.max_leap,
            least: speed.map(|s| 1.0 / s.0.max(1e-9) - TOLERANCE),
            tempo,
        }
    }

    /// Whether every two notes may follow one another.
    #[must_use]
    pub const fn is_any(&self) -> bool {
        self.most.is_none() && self.least.is_none()
    }

    /// The greatest leap, in semitones.
    #[must_use]
    pub fn most_leap(&self) -> Option<u16> {
        self.most.map(Interval::size)
    }

    /// Whether a note may begin at a tick if the one before began at another.
    #[must_use]
    pub fn in_time(&self, before: Tick, now: Tick) -> bool {
        self.least
            .is_none_or(|least| self.tempo.seconds(now) - self.tempo.seconds(before) >= least)
    }

    /// Whether two notes, each an onset and a pitch, may follow one another.
    #[must_use]
    pub fn may_follow(&self, before: (Tick, Sounding), now: (Tick, Sounding)) -> bool {
        let near = self
            .most
            .is_none_or(|most| before.1.to(now.1).size() <= most.size());
        near && self.in_time(before.0, now.0)
    }

    /// Whether every note of a stretch of a line may follow the one before.
    #[must_use]
    pub fn holds_in(&self, notes: &[LineNote]) -> bool {
        let at = |n: &LineNote| (n.onset, n.pitch);
        self.is_any()
            || notes
                .windows(2)
                .all(|w| self.may_follow(at(&w[0]), at(&w[1])))
    }
}
