//! Where locks and remarks contradict each other, and the smallest relaxation that would do.
//!
//! A lock outranks every remark, so the draft comes all the same, around what conflicts; but no draft
//! can keep both, and that is said in the arranger's and the director's own terms.

mod nobody;
mod of_locks;
mod relaxation;

pub use relaxation::Change;

use crate::band::{Band, PartId};
use crate::music::{BarNumber, Tick};
use crate::score::{Draft, Locks};
use crate::voicing::{Problem, Status, Voiced};

/// What contradicts what.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Kind {
    /// A locked note outside the part's range.
    LockRange,
    /// Two locked notes in a row lie further apart than the director allows.
    LockLeap,
    /// Locked notes follow one another faster than the director allows.
    LockSpeed,
    /// A locked note where the key has too many sharps or flats for the part.
    LockKey,
    /// A lock where the part's players play another part, or change to it.
    LockPlayers,
    /// Locked bars leave no bar of rest where one was asked for.
    LockRest,
    /// A locked note is heard alone, of a part that never is to be.
    LockAlone,
    /// Under the remarks and locks nobody may play some notes of the tune.
    NobodyTune,
    /// Under the remarks and locks nobody may play some notes of the bass.
    NobodyBass,
    /// Under the remarks nobody who is free may play the third of a chord.
    NobodyThird,
}

impl Kind {
    /// Its word in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::LockRange => "lock_range",
            Self::LockLeap => "lock_leap",
            Self::LockSpeed => "lock_speed",
            Self::LockKey => "lock_key",
            Self::LockPlayers => "lock_players",
            Self::LockRest => "lock_rest",
            Self::LockAlone => "lock_alone",
            Self::NobodyTune => "nobody_tune",
            Self::NobodyBass => "nobody_bass",
            Self::NobodyThird => "nobody_third",
        }
    }

    /// Whether no draft can keep to all that was asked for. A chord without its third is poor, but
    /// nobody ruled it out.
    #[must_use]
    pub fn is_hard(self) -> bool {
        self != Self::NobodyThird
    }
}

/// A conflict between locks, remarks and the sketch.
#[derive(Clone, PartialEq, Debug)]
pub struct Conflict {
    /// What contradicts what.
    pub kind: Kind,
    /// The bars, in order.
    pub bars: Vec<(BarNumber, BarNumber)>,
    /// The parts that it is about; where nobody may play something, whoever is to give way.
    pub parts: Vec<PartId>,
    /// What contradicts what, one sentence.
    pub says: String,
    /// The smallest changes that together would do.
    pub relaxation: Vec<Change>,
}

impl Conflict {
    /// The relaxation in words.
    #[must_use]
    pub fn relaxation_in_words(&self, band: &Band) -> String {
        let all: Vec<String> = self.relaxation.iter().map(|c| c.words(band)).collect();
        all.join(", and ")
    }

    /// A band and locks in which the relaxation was granted.
    #[must_use]
    pub fn relaxed(&self, band: &Band, locks: &Locks) -> (Band, Locks) {
        let (mut band, mut locks) = (band.clone(), locks.clone());
        for change in &self.relaxation {
            change.apply(&mut band, &mut locks);
        }
        for lock in &mut locks.0 {
            if lock.bars.0.is_empty() {
                lock.notes.clear();
            }
        }
        locks.0.retain(|l| !l.bars.0.is_empty());
        (band, locks)
    }
}

/// All conflicts that meet a stretch of time, those of locks first, then by kind and part.
#[must_use]
pub fn conflicts(problem: &Problem<'_>, draft: &Draft, within: (Tick, Tick)) -> Vec<Conflict> {
    let mut all = of_locks::of_locks(problem, draft);
    all.extend(nobody::lines(problem, draft, within));
    all.extend(nobody::thirds(problem, draft, within));
    let meets = |c: &Conflict| {
        c.bars.iter().any(|(a, b)| {
            problem.meters.bar_start(*a) < within.1 && within.0 < problem.meters.bar_end(*b)
        })
    };
    all.retain(meets);
    all
}

impl Voiced {
    /// The same with its conflicts in a stretch of time, and the status that follows.
    #[must_use]
    pub(super) fn with_conflicts(mut self, problem: &Problem<'_>, within: (Tick, Tick)) -> Self {
        self.conflicts = conflicts(problem, &self.draft, within);
        if self.conflicts.iter().any(|c| c.kind.is_hard()) {
            self.status = Status::Impossible;
        }
        self
    }
}
