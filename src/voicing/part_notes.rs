//! The notes that a part has already: its locks, and the lines it carries.

use super::Problem;
use crate::band::PartId;
use crate::music::{Interval, Sounding, Tick};
use crate::plan::line::OneLine;
use crate::score::{DraftNote, Role};

/// What a part plays besides chords, by onset; one note at a time but for locks.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PartNotes {
    /// The notes by onset, then pitch.
    pub notes: Vec<DraftNote>,
    /// Stretches that the arranger locked, in order: nothing may be added there.
    pub locked: Vec<(Tick, Tick)>,
}

impl PartNotes {
    /// The locked notes of a part, with the role that each is found to play.
    #[must_use]
    pub fn locked(problem: &Problem<'_>, part: PartId) -> Self {
        let Some(lock) = problem.locks.of(part) else {
            return Self::default();
        };
        let role = |onset, pitch: Sounding| {
            let doubled = |line: &OneLine| {
                line.at(onset)
                    .filter(|n| n.pitch.class() == pitch.class())
                    .copied()
            };
            match (doubled(&problem.lines.melody), doubled(&problem.lines.bass)) {
                (Some(_), _) => Role::Melody,
                (None, Some(bass)) if pitch.midi() <= bass.pitch.midi() + 7 => Role::Bass,
                _ => Role::Harmony,
            }
        };
        let notes = lock.notes.iter().map(|n| DraftNote {
            onset: n.onset,
            pitch: n.pitch,
            duration: n.duration,
            velocity: n.velocity,
            role: role(n.onset, n.pitch),
            locked: true,
        });
        Self {
            notes: notes.collect(),
            locked: lock.bars.spans(problem.meters),
        }
    }

    /// Whether a tick is locked.
    #[must_use]
    pub fn is_locked(&self, at: Tick) -> bool {
        let next = self.locked.partition_point(|(start, _)| *start <= at);
        next > 0 && at < self.locked[next - 1].1
    }

    /// Where the next locked stretch begins, at or after a tick.
    #[must_use]
    pub fn next_lock(&self, at: Tick) -> Tick {
        let next = self.locked.partition_point(|(start, _)| *start < at);
        self.locked
            .get(next)
            .map_or(Tick(u64::MAX), |(start, _)| *start)
    }

    /// Whether anything sounds or is locked inside a stretch.
    #[must_use]
    pub fn is_busy(&self, start: Tick, end: Tick) -> bool {
        let locks = self.is_locked(start) || self.next_lock(start) < end;
        locks
            || self.sounding(start).is_some()
            || self.first_from(start).is_some_and(|n| n.onset < end)
    }

    /// The note sounding at a tick; of several locked ones the highest.
    #[must_use]
    pub fn sounding(&self, at: Tick) -> Option<&DraftNote> {
        let next = self.notes.partition_point(|n| n.onset <= at);
        // Locked notes may overlap; a few steps back are enough to find the one that holds.
        self.notes[..next]
            .iter()
            .rev()
            .take(8)
            .find(|n| at < n.end())
    }

    /// The first note at or after a tick.
    #[must_use]
    pub fn first_from(&self, at: Tick) -> Option<&DraftNote> {
        self.notes.get(self.notes.partition_point(|n| n.onset < at))
    }

    /// The last note that begins before a tick.
    #[must_use]
    pub fn last_before(&self, at: Tick) -> Option<&DraftNote> {
        self.notes[..self.notes.partition_point(|n| n.onset < at)].last()
    }

    /// Adds notes and puts all in order.
    pub fn add(&mut self, notes: impl IntoIterator<Item = DraftNote>) {
        self.notes.extend(notes);
        self.notes.sort();
    }

    /// Takes out notes that follow or precede another at more than the greatest leap, of those
    /// that may go; the others stay.
    pub fn keep_leaps(&mut self, most: Option<Interval>, may_go: impl Fn(&DraftNote) -> bool) {
        let Some(most) = most else { return };
        let too_far = |a: &DraftNote, b: &DraftNote| a.pitch.to(b.pitch).size() > most.size();
        let mut kept: Vec<DraftNote> = Vec::with_capacity(self.notes.len());
        for note in std::mem::take(&mut self.notes) {
            let stays = !may_go(&note);
            while stays && kept.last().is_some_and(|l| may_go(l) && too_far(l, &note)) {
                kept.pop();
            }
            if stays || !kept.last().is_some_and(|l| too_far(l, &note)) {
                kept.push(note);
            }
        }
        self.notes = kept;
    }
}
