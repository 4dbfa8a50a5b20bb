//! Ways to divide a beat, and what each costs.

/// Whether a beat is divided by two or by three; a beat that is not divided keeps to its neighbours.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Family {
    /// By two, four, eight.
    Straight,
    /// By three, six, twelve.
    Triplet,
}

/// A way to divide a beat.
#[derive(Clone, Copy, Debug)]
pub(super) struct Division {
    /// Parts of the beat.
    pub(super) parts: u64,
    /// The parts where a note may begin, in order.
    pub(super) points: &'static [u64],
    pub(super) family: Family,
    /// How many beats of a hundred are so divided, before the piece is known.
    pub(super) usual: f64,
    /// The same in compound time.
    pub(super) usual_compound: f64,
}

use Family::{Straight, Triplet};

/// Most points of a division.
pub(super) const MOST_POINTS: usize = 16;

const fn division(
    parts: u64,
    points: &'static [u64],
    family: Family,
    usual: f64,
    usual_compound: f64,
) -> Division {
    Division {
        parts,
        points,
        family,
        usual,
        usual_compound,
    }
}

/// All of them. How usual each is: common practice, no source; only the start of what is then
/// learnt from the piece itself.
pub(super) const DIVISIONS: [Division; 13] = [
    division(1, &[0], Straight, 40.0, 2.0),
    division(1, &[0], Triplet, 2.0, 40.0),
    division(2, &[0, 1], Straight, 32.0, 1.5),
    division(4, &[0, 1, 2, 3], Straight, 14.0, 0.8),
    division(8, &[0, 1, 2, 3, 4, 5, 6, 7], Straight, 0.8, 0.1),
    division(
        16,
        &[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15],
        Straight,
        0.1,
        0.02,
    ),
    division(3, &[0, 1, 2], Triplet, 6.0, 36.0),
    division(6, &[0, 1, 2, 3, 4, 5], Triplet, 1.2, 14.0),
    division(
        12,
        &[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11],
        Triplet,
        0.1,
        0.8,
    ),
    division(12, &[0, 3, 6, 8, 10], Straight, 0.4, 0.05),
    division(12, &[0, 2, 4, 6, 9], Straight, 0.4, 0.05),
    division(5, &[0, 1, 2, 3, 4], Straight, 0.05, 0.02),
    division(8, &[0, 3, 4, 7], Straight, 0.8, 0.05),
];

/// What going from one family to the other costs. Chosen by trial.
pub(super) const CHANGE: f64 = 1.5;

/// How sure the start is, in beats seen.
const START_WEIGHT: f64 = 24.0;
/// The same for single points.
const POINT_WEIGHT: f64 = 8.0;

/// Share of the beats for which a rare division is not believed.
const DOUBT: f64 = 0.06;

/// What was counted in a fitted piece.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Counts {
    /// Beats by division.
    pub(super) beats: [f64; DIVISIONS.len()],
    /// Struck points by division.
    pub(super) struck: [[f64; MOST_POINTS]; DIVISIONS.len()],
}

/// Costs in nats: the negative logarithm of how likely each thing is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Costs {
    /// A beat of this division with nothing struck.
    pub(super) beat: [f64; DIVISIONS.len()],
    /// What striking a point adds (may be below zero).
    pub(super) point: [[f64; MOST_POINTS]; DIVISIONS.len()],
}

impl Costs {
    /// From what is usual and what was counted so far.
    pub(super) fn learnt(counts: &Counts, compound: bool) -> Self {
        let usual = |d: &Division| if compound { d.usual_compound } else { d.usual };
        let all: f64 = DIVISIONS.iter().map(usual).sum();
        let all_seen: f64 = counts.beats.iter().sum();
        // What is seldom found may be noise: it must be found more often than that to be learnt.
        let sure = |d: usize| {
            let rare = usual(&DIVISIONS[d]) < 0.05 * all;
            (counts.beats[d] - if rare { DOUBT * all_seen } else { 0.0 }).max(0.0)
        };
        let seen: f64 = (0..DIVISIONS.len()).map(sure).sum();
        let mut costs = Self {
            beat: [0.0; DIVISIONS.len()],
            point: [[0.0; MOST_POINTS]; DIVISIONS.len()],
        };
        for (d, division) in DIVISIONS.iter().enumerate() {
            let share = (sure(d) + START_WEIGHT * usual(division) / all) / (seen + START_WEIGHT);
            costs.beat[d] = -share.ln();
            for (p, point) in division.points.iter().enumerate() {
                let start = usual_struck(division.parts, *point);
                let struck =
                    (counts.struck[d][p] + POINT_WEIGHT * start) / (counts.beats[d] + POINT_WEIGHT);
                let struck = struck.clamp(0.02, 0.98);
                costs.beat[d] -= (1.0 - struck).ln();
                costs.point[d][p] = ((1.0 - struck) / struck).ln();
            }
        }
        costs
    }

    /// A beat in which nothing begins.
    pub(super) fn empty_beat(&self) -> f64 {
        self.beat[0].min(self.beat[1])
    }
}

/// How often a point is struck in a beat that is divided so: what makes the division necessary
/// often, the beat itself nearly always (Temperley, Music and Probability, 2007, ch. 3 has such
/// a table; the figures here are chosen by trial).
fn usual_struck(parts: u64, point: u64) -> f64 {
    match (parts, point) {
        (_, 0) => 0.85,
        (2, _) => 0.95,
        (4 | 8, p) if 2 * p == parts => 0.75,
        (3, 1) => 0.65,
        (3, _) => 0.8,
        _ => 0.55,
    }
}
