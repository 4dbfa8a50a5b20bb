//! The rule of octaves: inside a breath a part plays a line in one octave.

use super::Problem;
use super::part_notes::PartNotes;
use crate::music::{Interval, Tick};
use crate::plan::fit::OCTAVES;
use crate::plan::line::LineNote;
use crate::score::{DraftNote, Role};

/// A set of octaves against the sketch, of those that are tried ([`OCTAVES`]).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Octaves(u16);

impl Octaves {
    /// All that are tried.
    pub const ALL: Self = Self(0x1FF);
    /// None.
    pub const NONE: Self = Self(0);
    /// The sketch's own.
    pub const AS_WRITTEN: Self = Self::NONE.with(0);

    const fn bit(octave: i16) -> u16 {
        if octave < -4 || octave > 4 {
            0
        } else {
            1 << (octave + 4)
        }
    }

    /// With an octave more.
    #[must_use]
    pub const fn with(self, octave: i16) -> Self {
        Self(self.0 | Self::bit(octave))
    }

    /// Whether an octave is among them.
    #[must_use]
    pub const fn has(self, octave: i16) -> bool {
        self.0 & Self::bit(octave) != 0
    }

    /// Those in both.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// All of them, lowest first.
    pub fn iter(self) -> impl Iterator<Item = i16> {
        OCTAVES.filter(move |k| self.has(*k))
    }
}

/// The octaves in which a part may play a breath of a line: all; the one in which it plays some of
/// it already; the one in which a lock has all of the breath that lies in its bars; and the sketch's
/// own where a note of the breath stays as written.
#[must_use]
pub fn open_octaves(
    problem: &Problem<'_>,
    role: Role,
    breath: &[LineNote],
    has: &PartNotes,
) -> Octaves {
    let mut open = Octaves::ALL;
    if role == Role::Melody && holds_as_written(problem, breath) {
        open = Octaves::AS_WRITTEN;
    }
    for note in breath {
        for own in has.struck(note.onset) {
            if own.role == role && !own.locked {
                open =
                    open.and(octave_of(note, own).map_or(Octaves::ALL, |k| Octaves::NONE.with(k)));
            }
        }
    }
    let held = breath.chunk_by(|a, b| bars_of(has, a.onset) == bars_of(has, b.onset));
    for stretch in held.filter(|s| s.first().is_some_and(|n| bars_of(has, n.onset).is_some())) {
        let locked = locked_octaves(stretch, has);
        if locked != Octaves::NONE {
            open = open.and(locked);
        }
    }
    open
}

/// Whether a note of a breath of the tune stays as written.
#[must_use]
pub fn holds_as_written(problem: &Problem<'_>, breath: &[LineNote]) -> bool {
    breath
        .iter()
        .any(|n| problem.tune.is_as_written(n.onset, problem.meters))
}

/// Which of the locked stretches of bars a tick lies in.
fn bars_of(has: &PartNotes, at: Tick) -> Option<usize> {
    let next = has.fixed.partition_point(|(start, _)| *start <= at);
    let here = next.checked_sub(1)?;
    has.fixed.get(here).filter(|(_, end)| at < *end)?;
    Some(here)
}

/// The octaves in which a lock strikes every note of a stretch; none where it does not.
fn locked_octaves(stretch: &[LineNote], has: &PartNotes) -> Octaves {
    let of = |note: &LineNote| {
        let own = has.struck(note.onset).filter(|own| own.locked);
        let octaves = own.filter_map(|own| octave_of(note, own));
        octaves.fold(Octaves::NONE, Octaves::with)
    };
    stretch.iter().map(of).fold(Octaves::ALL, Octaves::and)
}

/// How many octaves a part's note lies over the line's; `None` where it is another tone.
fn octave_of(note: &LineNote, own: &DraftNote) -> Option<i16> {
    let up = note.pitch.to(own.pitch);
    OCTAVES.into_iter().find(|k| Interval::octaves(*k) == up)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_of_octaves() {
        let some = Octaves::NONE.with(-4).with(2).with(9);
        assert_eq!(some.iter().collect::<Vec<_>>(), [-4, 2]);
        assert_eq!(
            some.and(Octaves::NONE.with(2)).iter().collect::<Vec<_>>(),
            [2]
        );
        assert_eq!(Octaves::ALL.iter().count(), 9);
        assert!(Octaves::AS_WRITTEN.has(0) && !Octaves::AS_WRITTEN.has(1));
    }
}
