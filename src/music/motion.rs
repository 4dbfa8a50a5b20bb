//! How two lines move against each other.

use super::pitch::Sounding;

/// The motion of two lines from one moment to the next.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Motion {
    /// Neither line moves.
    Still,
    /// One line moves.
    Oblique,
    /// Both move, in opposite directions.
    Contrary,
    /// Both move the same way.
    Similar,
}

/// A line's step: where it was and where it is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Step {
    /// The pitch before.
    pub from: Sounding,
    /// The pitch now.
    pub to: Sounding,
}

/// The motion of two lines.
#[must_use]
pub fn motion(a: Step, b: Step) -> Motion {
    let (da, db) = (a.from.to(a.to).0.signum(), b.from.to(b.to).0.signum());
    match (da, db) {
        (0, 0) => Motion::Still,
        (0, _) | (_, 0) => Motion::Oblique,
        _ if da == db => Motion::Similar,
        _ => Motion::Contrary,
    }
}

/// A forbidden parallel.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Parallel {
    /// Consecutive perfect fifths.
    Fifths,
    /// Consecutive octaves or unisons.
    Octaves,
}

/// Consecutive perfect fifths or octaves between two lines that both move the same way
/// (textbook rule; Piston, Harmony, from memory).
///
/// ```
/// use bandwright::music::motion::{parallel, Parallel, Step};
/// use bandwright::music::Sounding;
/// let p = |m| Sounding::new(m).unwrap();
/// let bass = Step { from: p(48), to: p(50) };
/// let fifth = Step { from: p(55), to: p(57) };
/// assert_eq!(parallel(bass, fifth), Some(Parallel::Fifths));
/// ```
#[must_use]
pub fn parallel(a: Step, b: Step) -> Option<Parallel> {
    if motion(a, b) != Motion::Similar {
        return None;
    }
    match (a.from.distance(b.from) % 12, a.to.distance(b.to) % 12) {
        (7, 7) => Some(Parallel::Fifths),
        (0, 0) => Some(Parallel::Octaves),
        _ => None,
    }
}
