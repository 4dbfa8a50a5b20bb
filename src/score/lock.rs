//! Locks: notes of a part in some bars, fixed by the arranger.

use super::draft::{DraftNote, PartLine};
use super::role::Role;
use crate::band::{Band, PartId};
use crate::music::{BarNumber, MeterMap, Tick, Ticks};
use crate::sketch::Note;
use std::collections::BTreeSet;

/// A set of bars.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct BarSet(pub BTreeSet<BarNumber>);

impl BarSet {
    /// The bars in which any of the notes sounds.
    #[must_use]
    pub fn of_notes(notes: &[Note], meters: &MeterMap) -> Self {
        let mut bars = BTreeSet::new();
        for note in notes {
            let last = meters.bar(Tick(note.end().0.saturating_sub(1)));
            bars.extend((meters.bar(note.onset).0..=last.0).map(BarNumber));
        }
        Self(bars)
    }

    /// Whether a tick lies in one of the bars.
    #[must_use]
    pub fn contains(&self, at: Tick, meters: &MeterMap) -> bool {
        self.0.contains(&meters.bar(at))
    }

    /// The bars as stretches of time, in order, adjoining ones joined.
    #[must_use]
    pub fn spans(&self, meters: &MeterMap) -> Vec<(Tick, Tick)> {
        let mut spans: Vec<(Tick, Tick)> = Vec::new();
        for bar in &self.0 {
            let (start, end) = (meters.bar_start(*bar), meters.bar_end(*bar));
            match spans.last_mut() {
                Some(last) if last.1 == start => last.1 = end,
                _ => spans.push((start, end)),
            }
        }
        spans
    }
}

/// How long a note may sound that begins outside of some stretches, in order: at most up to the next of them.
#[must_use]
pub fn up_to(spans: &[(Tick, Tick)], onset: Tick, duration: Ticks) -> Ticks {
    let next = spans.partition_point(|(start, _)| *start <= onset);
    spans
        .get(next)
        .map_or(duration, |(start, _)| duration.min(start.since(onset)))
}

/// What the arranger fixed of one part: in these bars it plays these notes and nothing else.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Lock {
    /// The part.
    pub part: PartId,
    /// The bars.
    pub bars: BarSet,
    /// The notes, by onset, then pitch. They may lie outside the part's limits; they are kept.
    pub notes: Vec<Note>,
}

/// All locks, at most one for each part, in the band's order.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Locks(pub Vec<Lock>);

impl Locks {
    /// These locks with others laid over them: where both lock a bar of a part, the others' notes
    /// hold, and a note that would sound over into such a bar ends at its barline. The answer is
    /// in the band's order.
    #[must_use]
    pub fn overlaid(mut self, others: Self, meters: &MeterMap) -> Self {
        for other in others.0 {
            match self.0.iter_mut().find(|l| l.part == other.part) {
                None => self.0.push(other),
                Some(lock) => {
                    lock.notes.retain(|n| !other.bars.contains(n.onset, meters));
                    let spans = other.bars.spans(meters);
                    for note in &mut lock.notes {
                        note.duration = up_to(&spans, note.onset, note.duration);
                    }
                    lock.notes.extend(other.notes);
                    lock.notes.sort();
                    lock.bars.0.extend(other.bars.0);
                }
            }
        }
        self.0.sort_by_key(|l| l.part);
        self
    }

    /// The locked notes as the lines of a band, one for each part: what they are for is yet to be found.
    #[must_use]
    pub fn lines(&self, band: &Band) -> Vec<PartLine> {
        let note = |n: &Note| DraftNote {
            onset: n.onset,
            pitch: n.pitch,
            duration: n.duration,
            velocity: n.velocity,
            role: Role::Harmony,
            locked: false,
        };
        let notes = |part| self.of(part).map_or(&[][..], |l| &l.notes);
        let line = |(part, _)| PartLine {
            part,
            notes: notes(part).iter().map(note).collect(),
        };
        band.ids().map(line).collect()
    }

    /// The lock of a part.
    #[must_use]
    pub fn of(&self, part: PartId) -> Option<&Lock> {
        self.0.iter().find(|l| l.part == part)
    }
}
