//! How much there is of every term in the chords of a problem: what a change of weights changes.

use super::solve::Ready;
use super::terms::{Term, Weights};
use super::{Effort, Problem};

/// How much there is of every term in some chords, whatever the terms weigh.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Amounts {
    units: Vec<f64>,
    /// How often a part that fills the chord goes to another note.
    pub moves: u32,
    /// How far it goes then, all together, semitones.
    pub semitones: u32,
}

impl Amounts {
    /// Solves a problem's chords and counts. Of [`Term::LowWeak`] only what weighs something is counted.
    #[must_use]
    pub fn of(problem: &Problem<'_>, effort: &Effort<'_>) -> Self {
        let ready = Ready::of(problem);
        let around = ready.around(problem);
        let chords = ready.chords(&around);
        let steps = 0..chords.steps.len();
        let chosen = chords.solve(steps.clone(), effort, &mut |_| {}).chosen;
        // Every term weighs something here, so that none is left out of the account.
        let all = Term::ALL.iter();
        let ones = all.fold(Weights::default(), |w, t| w.with(*t, 1.0));
        let mut own = Self {
            units: vec![0.0; Term::ALL.len()],
            ..Self::default()
        };
        for entry in chords.account(&chosen, steps, &ones) {
            if let Some(units) = own.units.get_mut(entry.term as usize) {
                *units += entry.units;
            }
        }
        for (before, now) in chosen.iter().zip(chosen.iter().skip(1)) {
            for (a, b) in before.iter().zip(now).filter(|(_, b)| !b.fixed) {
                let way = a.leave.filter(|_| a.sounds.is_some()).zip(b.enter);
                let by = way.map_or(0, |(from, to)| from.distance(to));
                own.moves += u32::from(by > 0);
                own.semitones += u32::from(by);
            }
        }
        own
    }

    /// Units of a term.
    #[must_use]
    pub fn units(&self, term: Term) -> f64 {
        self.units.get(term as usize).copied().unwrap_or(0.0)
    }

    /// How far a part goes when it moves, on average, semitones.
    #[must_use]
    pub fn mean_move(&self) -> f64 {
        f64::from(self.semitones) / f64::from(self.moves.max(1))
    }
}
