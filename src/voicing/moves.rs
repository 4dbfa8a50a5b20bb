//! What the moves of parts from one step to the next cost.

use super::candidates::{Around, Choice};
use super::steps::Step;
use super::terms::{FORBIDDEN, Milli, Sum, Tally, Term, Weights, motion_units};
use crate::music::motion::{Parallel, Step as Move, parallel};
use crate::music::{ChordTone, Sounding};
use crate::plan::fit::ChanceCosts;

/// Two steps that follow one another, for one part.
#[derive(Clone, Copy)]
pub struct Passing<'a> {
    /// The step before and the step now.
    pub steps: (&'a Step, &'a Step),
    /// What stands around them.
    pub around: (Around, Around),
    /// The greatest leap that the director allows, semitones.
    pub most: Option<u16>,
    /// The part's clean chances.
    pub costs: &'a ChanceCosts,
}

impl Passing<'_> {
    /// The cost of a move; `alone` is what the clean chance of the second note costs from nowhere
    /// ([`ChanceCosts::alone`]), in thousandths.
    #[must_use]
    pub fn cost(&self, a: Choice, (b, alone): (Choice, i32), weights: &Weights) -> Milli {
        let mut sum = Sum::new(weights);
        match self.tell(a, (b, alone), &mut sum) {
            Some(()) => sum.milli.min(FORBIDDEN),
            None => FORBIDDEN,
        }
    }

    /// Tells the terms of a move; `None` for one that is not allowed.
    pub fn tell(&self, a: Choice, (b, alone): (Choice, i32), tally: &mut impl Tally) -> Option<()> {
        if self.most.is_some() && b.enter.is_none() && b.leave != a.leave {
            return None;
        }
        let far = |from: Sounding, to: Sounding| self.most.is_some_and(|m| from.to(to).size() > m);
        if a.fixed && b.fixed {
            // A rest remembers a note that may be solved. Between two fixed ones nothing is chosen: that
            // the arranger leaps further than the director allows is told elsewhere.
            let rest = a.enter.is_none() && !a.anchored;
            let way = a.leave.filter(|_| rest).zip(b.enter);
            if way.is_some_and(|(from, to)| far(from, to)) {
                tally.add(Term::LeapIntoFixed, 1.0);
            }
            return Some(());
        }
        if a.sounds.is_some() != b.sounds.is_some() {
            tally.add(Term::Entry, 1.0);
        }
        let (Some(from), Some(to)) = (a.leave, b.enter) else {
            return Some(());
        };
        if far(from, to) {
            // Into a fixed note the way may have been too far before (two locks with a rest
            // between): dear, so that no solved note is taken, but not forbidden.
            if !b.fixed && !b.anchored {
                return None;
            }
            if !a.anchored {
                tally.add(Term::LeapIntoFixed, 1.0);
            }
            return Some(());
        }
        if a.sounds.is_some() && from != to {
            self.tell_way(Move { from, to }, alone, tally);
        }
        Some(())
    }

    fn tell_way(&self, own: Move, alone: i32, tally: &mut impl Tally) {
        let (_, now) = self.steps;
        let apart = own.from.distance(own.to);
        tally.add(Term::Motion, motion_units(apart));
        if apart > 12 {
            tally.add(Term::WideLeap, 1.0);
        }
        if matches!(apart, 6 | 11) {
            tally.add(Term::Awkward, 1.0);
        }
        if now.tones.contains(own.from.class()) {
            tally.add(Term::CommonTone, 1.0);
        }
        let lines = [
            (self.around.0.tune, self.around.1.tune),
            (self.around.0.bass, self.around.1.bass),
        ];
        for (was, is) in lines {
            let line = was.zip(is).map(|(from, to)| Move { from, to });
            match line.and_then(|l| parallel(own, l)) {
                Some(Parallel::Octaves) => tally.add(Term::ParallelOctave, 1.0),
                Some(Parallel::Fifths) => tally.add(Term::ParallelFifth, 1.0),
                None => {}
            }
        }
        self.tell_tendency(own, tally);
        let way = self.costs.way_beyond(own.from, own.to, &now.moment, alone);
        tally.add(Term::CleanWay, f64::from(way) / 1000.0);
    }

    /// The leading tone and the chord's seventh have somewhere to go when the chord changes.
    fn tell_tendency(&self, own: Move, tally: &mut impl Tally) {
        let (before, now) = self.steps;
        if before.chord == now.chord {
            return;
        }
        let by = own.from.to(own.to).0;
        let class = own.from.class();
        if before.leading == Some(class) && now.is_home && !matches!(by, 1 | -3 | -4) {
            tally.add(Term::LeadingTone, 1.0);
        }
        let seventh = before.tone(class) == Some(ChordTone::Seventh);
        if seventh && !matches!(by, -2..=0) {
            tally.add(Term::Seventh, 1.0);
        }
    }
}

/// Tells the terms of the move of a choir of two, besides those of each part alone: parallels
/// between them, and a part that passes its neighbour's note before.
pub fn tell_together(a: &[Choice], b: &[Choice], tally: &mut impl Tally) {
    let ([a1, a2], [b1, b2]) = (a, b) else { return };
    if (a1.fixed || b1.fixed) && (a2.fixed || b2.fixed) {
        return;
    }
    let line = |a: &Choice, b: &Choice| {
        let from = a.leave.filter(|_| a.sounds.is_some())?;
        Some(Move { from, to: b.enter? })
    };
    let (Some(upper), Some(lower)) = (line(a1, b1), line(a2, b2)) else {
        return;
    };
    match parallel(upper, lower) {
        Some(Parallel::Octaves) => tally.add(Term::OwnOctave, 1.0),
        Some(Parallel::Fifths) => tally.add(Term::OwnFifth, 1.0),
        None => {}
    }
    if upper.to < lower.from || lower.to > upper.from {
        tally.add(Term::Overlap, 1.0);
    }
}
