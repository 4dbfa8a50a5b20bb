//! The wanted curve over a line of numbers: straight, curved and held pieces between points.
//!
//! Curved pieces are cubics whose slopes keep them monotone, so that a curve never goes beyond its points: each
//! slope is at most three times that of either neighbouring chord and has its sign, which is enough (F. N. Fritsch and
//! R. E. Carlson, "Monotone Piecewise Cubic Interpolation", SIAM J. Numer. Anal. 17, 1980; from memory). Between two
//! curved pieces the slope is the weighted harmonic mean of the chords (F. N. Fritsch and J. Butland, SIAM J. Sci. Stat.
//! Comput. 5, 1984; from memory). At the ends, beside held pieces and where the curve turns, it is 0.

use super::point::Way;

/// The least and the greatest intensity.
pub const INTENSITIES: (f64, f64) = (0.0, 10.0);

#[derive(Clone, Copy, PartialEq, Debug)]
struct Knot {
    x: f64,
    y: f64,
    way: Way,
}

/// One piece between two knots.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Piece {
    from: Knot,
    to: Knot,
    /// Slopes at its ends; of curved pieces only.
    slopes: (f64, f64),
}

/// A wanted curve. Before its first point and after its last it stays as there.
///
/// ```
/// use bandwright::plan::timeline::{Curve, Way};
/// let curve = Curve::new([(0.0, 2.0, Way::Straight), (8.0, 6.0, Way::Curved)], []);
/// assert_eq!(curve.at(2.0), Some(3.0));
/// assert_eq!(curve.mean(0.0, 8.0), Some(4.0));
/// assert_eq!(curve.at(20.0), Some(6.0));
/// ```
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Curve {
    knots: Vec<Knot>,
    pieces: Vec<Piece>,
    /// Stretches in which it is 0, in order, not overlapping.
    silences: Vec<(f64, f64)>,
}

impl Curve {
    /// The curve through some points, 0 in some silences. Points are put in order and kept within 0 and 10; of
    /// several at one place the last holds; what is no number is passed over.
    #[must_use]
    pub fn new(
        points: impl IntoIterator<Item = (f64, f64, Way)>,
        silences: impl IntoIterator<Item = (f64, f64)>,
    ) -> Self {
        let points = points
            .into_iter()
            .filter(|(x, y, _)| x.is_finite() && y.is_finite());
        let mut all: Vec<Knot> = points
            .map(|(x, y, way)| Knot {
                x,
                y: y.clamp(INTENSITIES.0, INTENSITIES.1),
                way,
            })
            .collect();
        all.sort_by(|a, b| a.x.total_cmp(&b.x));
        let mut knots: Vec<Knot> = Vec::with_capacity(all.len());
        for knot in all {
            match knots.last_mut() {
                Some(last) if last.x >= knot.x => *last = knot,
                _ => knots.push(knot),
            }
        }
        let pieces = pieces(&knots);
        Self {
            knots,
            pieces,
            silences: joined(silences),
        }
    }

    /// Whether it has no point, so that nothing is wanted by it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.knots.is_empty()
    }

    /// What is wanted at a place, 0 to 10; `None` of a curve without points.
    #[must_use]
    pub fn at(&self, x: f64) -> Option<f64> {
        let drawn = self.drawn(x)?;
        let silent = self.silences.iter().any(|(from, to)| *from <= x && x < *to);
        Some(if silent { 0.0 } else { drawn })
    }

    /// The curve as it is drawn, through silences.
    fn drawn(&self, x: f64) -> Option<f64> {
        let (first, last) = (self.knots.first()?, self.knots.last()?);
        if x.is_nan() || x < first.x {
            return Some(first.y);
        }
        let next = self.pieces.partition_point(|p| p.to.x <= x);
        Some(self.pieces.get(next).map_or(last.y, |piece| piece.at(x)))
    }

    /// The mean over a stretch, exactly; at a place where the stretch has no length. `None` of a curve without
    /// points.
    #[must_use]
    pub fn mean(&self, from: f64, to: f64) -> Option<f64> {
        let length = to - from;
        if !length.is_finite() || length <= 0.0 {
            return self.at(from);
        }
        let silent = self.silences.iter().filter_map(|(a, b)| {
            let (a, b) = (a.max(from), b.min(to));
            (a < b).then(|| self.sum(a, b))
        });
        let silent: f64 = silent.flatten().sum();
        let mean = (self.sum(from, to)? - silent) / length;
        Some(mean.clamp(INTENSITIES.0, INTENSITIES.1))
    }

    /// The integral of the drawn curve.
    fn sum(&self, from: f64, to: f64) -> Option<f64> {
        let (first, last) = (self.knots.first()?, self.knots.last()?);
        let before = (to.min(first.x) - from).max(0.0) * first.y;
        let after = (to - from.max(last.x)).max(0.0) * last.y;
        let begun = self.pieces.partition_point(|p| p.to.x <= from);
        let inside = self.pieces[begun..].iter().take_while(|p| p.from.x < to);
        let inside: f64 = inside
            .map(|p| p.sum(from.max(p.from.x), to.min(p.to.x)))
            .sum();
        Some(before + inside + after)
    }
}

/// Silences in order, those that touch or overlap as one.
fn joined(silences: impl IntoIterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut all: Vec<(f64, f64)> = silences.into_iter().filter(|(a, b)| a < b).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut one: Vec<(f64, f64)> = Vec::with_capacity(all.len());
    for (from, to) in all {
        match one.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(to),
            _ => one.push((from, to)),
        }
    }
    one
}

fn pieces(knots: &[Knot]) -> Vec<Piece> {
    let plain = knots.windows(2).filter_map(|pair| {
        let [from, to] = pair else { return None };
        Some(Piece {
            from: *from,
            to: *to,
            slopes: (0.0, 0.0),
        })
    });
    let plain: Vec<Piece> = plain.collect();
    let with_slopes = plain.iter().enumerate().map(|(i, piece)| {
        let before = i.checked_sub(1).and_then(|b| plain.get(b));
        let after = plain.get(i + 1);
        Piece {
            slopes: (
                before.map_or(0.0, |b| slope(*piece, *b, b.length())),
                after.map_or(0.0, |a| slope(*piece, *a, a.length())),
            ),
            ..*piece
        }
    });
    with_slopes.collect()
}

/// The slope of a curved piece where a neighbour meets it.
fn slope(own: Piece, other: Piece, other_length: f64) -> f64 {
    let (own_chord, other_chord) = (own.chord(), other.chord());
    let turns = own_chord * other_chord <= 0.0;
    match other.from.way {
        _ if turns => 0.0,
        Way::Held => 0.0,
        Way::Straight => {
            let most = 3.0 * own_chord.abs();
            other_chord.clamp(-most, most)
        }
        Way::Curved => {
            // The shorter chord counts for more.
            let (w_own, w_other) = (
                2.0 * other_length + own.length(),
                other_length + 2.0 * own.length(),
            );
            (w_own + w_other) / (w_own / own_chord + w_other / other_chord)
        }
    }
}

impl Piece {
    fn length(self) -> f64 {
        self.to.x - self.from.x
    }

    fn chord(self) -> f64 {
        (self.to.y - self.from.y) / self.length()
    }

    fn at(self, x: f64) -> f64 {
        let t = ((x - self.from.x) / self.length()).clamp(0.0, 1.0);
        let (a, b) = (self.from.y, self.to.y);
        let found = match self.from.way {
            Way::Held => a,
            Way::Straight => a + (b - a) * t,
            Way::Curved => self.cubic(t),
        };
        // Rounding alone could lead beyond the points.
        found.clamp(a.min(b), a.max(b))
    }

    /// Hermite's cubic.
    fn cubic(self, t: f64) -> f64 {
        let (t2, t3) = (t * t, t * t * t);
        let (m, n) = (self.slopes.0 * self.length(), self.slopes.1 * self.length());
        let (a, b) = (self.from.y, self.to.y);
        a * (2.0 * t3 - 3.0 * t2 + 1.0)
            + m * (t3 - 2.0 * t2 + t)
            + b * (3.0 * t2 - 2.0 * t3)
            + n * (t3 - t2)
    }

    /// The integral over a stretch of it.
    fn sum(self, from: f64, to: f64) -> f64 {
        let length = self.length();
        let t = |x: f64| ((x - self.from.x) / length).clamp(0.0, 1.0);
        length * (self.sum_to(t(to)) - self.sum_to(t(from)))
    }

    /// The integral from its beginning to a share of it, its length taken as 1.
    fn sum_to(self, t: f64) -> f64 {
        let (a, b) = (self.from.y, self.to.y);
        let (t2, t3, t4) = (t * t, t * t * t, t * t * t * t);
        match self.from.way {
            Way::Held => a * t,
            Way::Straight => a * t + (b - a) * t2 / 2.0,
            Way::Curved => {
                let (m, n) = (self.slopes.0 * self.length(), self.slopes.1 * self.length());
                a * (t4 / 2.0 - t3 + t)
                    + m * (t4 / 4.0 - 2.0 * t3 / 3.0 + t2 / 2.0)
                    + b * (t3 - t4 / 2.0)
                    + n * (t4 / 4.0 - t3 / 3.0)
            }
        }
    }
}
