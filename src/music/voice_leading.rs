//! How far voices must move from chord to chord: the size of voice leadings between chords as
//! pitch classes, and the three moves between triads that keep two tones.
//!
//! Chords are multisets of pitch classes. A voice leading pairs all their notes; each pair counts
//! the shortest way round the circle of twelve (Tymoczko, The Geometry of Musical Chords, 2006).
//! The size that no part writing can undercut is what real parts are held against.

use super::key::Mode;
use super::pitch::{PitchClass, Sounding};
use itertools::Itertools;

/// Most notes of a chord that is measured.
pub const MOST_NOTES: usize = 12;

/// The least size of a voice leading, by two measures; their pairings may differ.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Size {
    /// The sum of all motion, in semitones (L1).
    pub semitones: u32,
    /// The sum of squares of all motion, in semitones squared.
    pub squares: u32,
}

impl Size {
    /// The length of the motion as a straight line in chord space, in semitones (L2).
    #[must_use]
    pub fn length(self) -> f64 {
        f64::from(self.squares).sqrt()
    }
}

/// Semitones between two pitch classes, the shorter way round: 0 to 6.
#[must_use]
pub const fn shortest_way(a: PitchClass, b: PitchClass) -> u8 {
    let up = a.up_to(b);
    if up > 6 { 12 - up } else { up }
}

/// The least size of a voice leading from one chord to another.
///
/// Of chords with as many notes the least one crosses no voices: both are put in order round the
/// circle and only turned against each other (Tymoczko 2006). Where one has fewer notes, they are
/// doubled in every way. `None` where a chord has no note, or more than [`MOST_NOTES`].
///
/// ```
/// use bandwright::music::{PitchClass, voice_leading::least_size};
/// let chord = |notes: &[i32]| notes.iter().copied().map(PitchClass::of).collect::<Vec<_>>();
/// let size = least_size(&chord(&[7, 11, 2, 5]), &chord(&[0, 4, 7])).unwrap(); // G7 to C
/// assert_eq!((size.semitones, size.squares), (4, 6));
/// ```
#[must_use]
pub fn least_size(from: &[PitchClass], to: &[PitchClass]) -> Option<Size> {
    let (few, many) = if from.len() <= to.len() {
        (from, to)
    } else {
        (to, from)
    };
    if few.is_empty() || many.len() > MOST_NOTES {
        return None;
    }
    let many = in_order(many);
    few.iter()
        .copied()
        .combinations_with_replacement(many.len() - few.len())
        .filter_map(|doubled| least_turn(&in_order(&[few, &doubled].concat()), &many))
        .reduce(least_of_both)
}

fn in_order(notes: &[PitchClass]) -> Vec<PitchClass> {
    notes.iter().copied().sorted().collect()
}

fn least_of_both(a: Size, b: Size) -> Size {
    Size {
        semitones: a.semitones.min(b.semitones),
        squares: a.squares.min(b.squares),
    }
}

/// The least over all turns of one ordered chord against another of as many notes.
fn least_turn(a: &[PitchClass], b: &[PitchClass]) -> Option<Size> {
    let turned = |by: usize| {
        let pairs = a.iter().zip(b.iter().cycle().skip(by));
        size_of(pairs.map(|(x, y)| u32::from(shortest_way(*x, *y))))
    };
    (0..b.len()).map(turned).reduce(least_of_both)
}

fn size_of(ways: impl Iterator<Item = u32>) -> Size {
    let zero = Size {
        semitones: 0,
        squares: 0,
    };
    ways.fold(zero, |sum, way| Size {
        semitones: sum.semitones + way,
        squares: sum.squares + way * way,
    })
}

/// The size of the motion of parts that go from one pitch each to another, in part order; never
/// under [`least_size`] of their pitch classes.
#[must_use]
pub fn motion_size(parts: impl IntoIterator<Item = (Sounding, Sounding)>) -> Size {
    let ways = parts.into_iter().map(|(a, b)| u32::from(a.distance(b)));
    size_of(ways)
}

/// A move from a triad to another that keeps two of its tones (Riemann; Cohn, Neo-Riemannian
/// Operations, 1997, from memory). Each undoes itself.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum TriadMove {
    /// Major and minor on one root: C and C minor.
    Parallel,
    /// The root of a major triad falls to its leading tone: C and E minor.
    LeadingTone,
    /// The relative key's triad: C and A minor.
    Relative,
}

impl TriadMove {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Parallel, Self::LeadingTone, Self::Relative];

    /// The triad that it leads to, as root and mode.
    #[must_use]
    pub const fn of(self, root: PitchClass, mode: Mode) -> (PitchClass, Mode) {
        let up = match (self, mode) {
            (Self::Parallel, _) => 0,
            (Self::LeadingTone, Mode::Major) => 4,
            (Self::LeadingTone, Mode::Minor) => -4,
            (Self::Relative, Mode::Major) => -3,
            (Self::Relative, Mode::Minor) => 3,
        };
        let other = match mode {
            Mode::Major => Mode::Minor,
            Mode::Minor => Mode::Major,
        };
        (root.up(up), other)
    }
}

/// The notes of a triad, root first.
#[must_use]
pub const fn triad(root: PitchClass, mode: Mode) -> [PitchClass; 3] {
    let third = match mode {
        Mode::Major => 4,
        Mode::Minor => 3,
    };
    [root, root.up(third), root.up(7)]
}
