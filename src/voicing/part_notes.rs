//! The notes that a part has already: its locks, and the lines it carries.

use super::Problem;
use crate::band::PartId;
use crate::music::{Sounding, Tick};
use crate::plan::Apart;
use crate::plan::line::OneLine;
use crate::score::{DraftNote, Role, joined};
use crate::sketch::Note;

/// What a part plays besides chords, by onset; one note at a time but for locks.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PartNotes {
    /// The notes by onset, then pitch.
    pub notes: Vec<DraftNote>,
    /// Stretches in which nothing may be added, in order: those that the arranger locked, and those
    /// that a remark closes to the part.
    pub shut: Vec<(Tick, Tick)>,
    /// The bars that the arranger locked, as stretches in order.
    pub fixed: Vec<(Tick, Tick)>,
}

impl PartNotes {
    /// The locked notes of a part, with the role that each is found to play.
    #[must_use]
    pub fn locked(problem: &Problem<'_>, part: PartId) -> Self {
        let closed = problem.plan.closed.spans(part);
        let Some(lock) = problem.locks.of(part) else {
            return Self {
                notes: Vec::new(),
                shut: closed,
                fixed: Vec::new(),
            };
        };
        let roles = locked_roles(problem, &lock.notes);
        let notes = lock.notes.iter().zip(roles).map(|(n, role)| DraftNote {
            onset: n.onset,
            pitch: n.pitch,
            duration: n.duration,
            velocity: n.velocity,
            role,
            locked: true,
        });
        let fixed = lock.bars.spans(problem.meters);
        Self {
            notes: notes.collect(),
            shut: joined([fixed.clone(), closed].concat()),
            fixed,
        }
    }

    /// Whether nothing may be added at a tick.
    #[must_use]
    pub fn is_shut(&self, at: Tick) -> bool {
        let next = self.shut.partition_point(|(start, _)| *start <= at);
        next > 0 && at < self.shut[next - 1].1
    }

    /// Where the next stretch begins in which nothing may be added, at or after a tick.
    #[must_use]
    pub fn next_shut(&self, at: Tick) -> Tick {
        let next = self.shut.partition_point(|(start, _)| *start < at);
        self.shut
            .get(next)
            .map_or(Tick(u64::MAX), |(start, _)| *start)
    }

    /// Whether anything sounds or nothing may be added inside a stretch.
    #[must_use]
    pub fn is_busy(&self, start: Tick, end: Tick) -> bool {
        let shut = self.is_shut(start) || self.next_shut(start) < end;
        shut || self.sounding(start).is_some()
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

    /// The notes that begin at a tick.
    pub fn struck(&self, at: Tick) -> impl Iterator<Item = &DraftNote> {
        let from = self.notes.partition_point(|n| n.onset < at);
        self.notes[from..].iter().take_while(move |n| n.onset == at)
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

    /// Notes that follow another at more than the greatest leap, or faster than the part may play, each
    /// with the one before.
    pub fn too_far<'a>(
        &'a self,
        apart: &'a Apart<'_>,
    ) -> impl Iterator<Item = (&'a DraftNote, &'a DraftNote)> {
        let at = |n: &DraftNote| (n.onset, n.pitch);
        let pairs = self.notes.windows(2).map(|w| (&w[0], &w[1]));
        pairs.filter(move |(a, b)| !apart.may_follow(at(a), at(b)))
    }

    /// Takes out notes that follow or precede another at more than the greatest leap, or faster than
    /// the part may play, of those that may go; the others stay.
    pub fn keep_apart(&mut self, apart: &Apart<'_>, may_go: impl Fn(&DraftNote) -> bool) {
        if apart.is_any() {
            return;
        }
        let at = |n: &DraftNote| (n.onset, n.pitch);
        let wrong = |a: &DraftNote, b: &DraftNote| !apart.may_follow(at(a), at(b));
        let mut kept: Vec<DraftNote> = Vec::with_capacity(self.notes.len());
        for note in std::mem::take(&mut self.notes) {
            let stays = !may_go(&note);
            while stays && kept.last().is_some_and(|l| may_go(l) && wrong(l, &note)) {
                kept.pop();
            }
            if stays || !kept.last().is_some_and(|l| wrong(l, &note)) {
                kept.push(note);
            }
        }
        self.notes = kept;
    }
}

/// A lock carries a line in a bar where at least so much of what it has in that bar and its two
/// neighbours is struck with the line (ours).
const MOST: f64 = 0.6;

/// What each locked note is found to play. A chord that happens to have the tune's tone is no tune.
fn locked_roles(problem: &Problem<'_>, notes: &[Note]) -> Vec<Role> {
    let struck = |line: &OneLine, note: &Note| {
        let own = line.at(note.onset).filter(|l| l.onset == note.onset)?;
        (own.pitch.class() == note.pitch.class()).then_some(own.pitch)
    };
    let tune = |n: &Note| struck(&problem.lines.melody, n).is_some();
    let low = |n: &Note, bass: Sounding| n.pitch.midi() <= bass.midi().saturating_add(7);
    let bass = |n: &Note| struck(&problem.lines.bass, n).is_some_and(|b| low(n, b));
    let bars: Vec<u32> = notes
        .iter()
        .map(|n| problem.meters.bar(n.onset).0)
        .collect();
    let mut roles = Vec::with_capacity(notes.len());
    for (note, bar) in notes.iter().zip(&bars) {
        let from = bars.partition_point(|b| b.saturating_add(1) < *bar);
        let to = bars.partition_point(|b| *b <= bar.saturating_add(1));
        let near = notes.get(from..to).unwrap_or_default();
        let most = |of: &dyn Fn(&Note) -> bool| {
            let count = near.iter().filter(|n| of(n)).count();
            of(note) && count as f64 >= MOST * near.len() as f64
        };
        roles.push(match (most(&tune), most(&bass)) {
            (true, _) => Role::Melody,
            (false, true) => Role::Bass,
            _ => Role::Harmony,
        });
    }
    roles
}
