//! Lines and curves that no sign of the font draws, in stave spaces: for every place where symbols are drawn.

use super::symbol::Spot;

/// Thickness of stave lines, in stave spaces (common practice, no source: about a tenth). Ledger lines are
/// [`LEDGER`] times as thick.
pub const LINE: f32 = 0.11;
/// How many times as thick as a stave line a ledger line is (ours).
pub const LEDGER: f32 = 1.3;
/// Thickness of a tie in its middle, in stave spaces (ours).
const TIE: f32 = 0.24;
/// From one flag to the next along the stem, in stave spaces (ours).
const FLAG_STEP: f32 = 0.8;
/// How thick a flag is at its stem, in stave spaces (ours).
const FLAG: f32 = 0.62;
/// How far the ends of a tuplet's bracket reach towards the notes, in stave spaces (ours).
const BRACKET_END: f32 = 0.7;
/// Half the gap of a tuplet's bracket, in which its number stands, in stave spaces (ours).
const BRACKET_GAP: f32 = 0.8;

/// A cubic Bézier curve by its four points.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Bezier(pub [Spot; 4]);

impl Bezier {
    /// The place on it at a share of the way, 0 to 1.
    ///
    /// ```
    /// use bandwright::notation::{Bezier, Spot};
    /// let spot = |x, y| Spot { x, y };
    /// let line = Bezier([spot(0.0, 0.0), spot(1.0, 1.0), spot(2.0, 2.0), spot(3.0, 3.0)]);
    /// assert_eq!(line.at(0.5), spot(1.5, 1.5));
    /// ```
    #[must_use]
    pub fn at(&self, share: f32) -> Spot {
        let (a, b) = (1.0 - share, share);
        let weights = [a * a * a, 3.0 * a * a * b, 3.0 * a * b * b, b * b * b];
        let sum = |of: fn(&Spot) -> f32| {
            let terms = self.0.iter().zip(weights);
            terms.map(|(spot, weight)| of(spot) * weight).sum()
        };
        Spot {
            x: sum(|s| s.x),
            y: sum(|s| s.y),
        }
    }
}

/// The inner and the outer edge of a tie, both from left to right. It is thick in its middle.
#[must_use]
pub fn tie_edges(from: Spot, to: Spot, above: bool) -> [Bezier; 2] {
    let high = (0.35 + 0.06 * (to.x - from.x)).min(1.1) * if above { 1.0 } else { -1.0 };
    let half = TIE / 2.0 * high.signum();
    // A parabola of a height as a cubic: its two inner points stand at four thirds of the height.
    let bow = |height: f32| {
        let on = |share: f32| Spot {
            x: from.x + share * (to.x - from.x),
            y: from.y + share * (to.y - from.y) + 4.0 / 3.0 * height,
        };
        Bezier([from, on(1.0 / 3.0), on(2.0 / 3.0), to])
    };
    [bow(high - half), bow(high + half)]
}

/// The upper and the lower edge of one flag of a note, both from the stem outwards (of stems down: turned about). Its
/// number counts from 0, at the end of the stem.
#[must_use]
pub fn flag_edges(at: Spot, up: bool, number: u8) -> [Bezier; 2] {
    let turn = if up { -1.0 } else { 1.0 };
    let y = at.y + turn * FLAG_STEP * f32::from(number);
    // From the stem outwards, then back towards it: a cubic with its bulge at two thirds.
    let edge = |lower: f32| {
        let points = [(0.0, 0.0), (0.25, 0.9), (1.35, 1.3), (0.85, 2.7)];
        let thick = [1.0, 2.0 / 3.0, 1.0 / 3.0, 0.0];
        let mut spots = [at; 4];
        for (spot, ((right, down), thick)) in spots.iter_mut().zip(points.into_iter().zip(thick)) {
            *spot = Spot {
                x: at.x + right,
                y: y + turn * (down + lower * thick),
            };
        }
        Bezier(spots)
    };
    [edge(0.0), edge(FLAG)]
}

/// The strokes of a tuplet's bracket, and where the middle of its number stands.
#[must_use]
pub fn tuplet_bracket(from: Spot, to: Spot, above: bool) -> ([(Spot, Spot); 4], Spot) {
    let middle = Spot {
        x: (from.x + to.x) / 2.0,
        y: (from.y + to.y) / 2.0,
    };
    let down = if above { -BRACKET_END } else { BRACKET_END };
    let slope = (to.y - from.y) / (to.x - from.x).max(0.1);
    let on = |x: f32| Spot {
        x,
        y: from.y + slope * (x - from.x),
    };
    let lower = |spot: Spot| Spot {
        y: spot.y + down,
        ..spot
    };
    let strokes = [
        (lower(from), from),
        (from, on(middle.x - BRACKET_GAP)),
        (on(middle.x + BRACKET_GAP), to),
        (to, lower(to)),
    ];
    (strokes, middle)
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn spot(x: f32, y: f32) -> Spot {
        Spot { x, y }
    }

    #[test]
    fn ties_begin_and_end_at_their_notes_and_bow_away_from_them() {
        for (above, side) in [(true, 1.0), (false, -1.0)] {
            let [inner, outer] = tie_edges(spot(1.0, 2.0), spot(5.0, 2.0), above);
            for edge in [inner, outer] {
                assert_eq!(edge.at(0.0), spot(1.0, 2.0));
                assert!((edge.at(1.0).x - 5.0).abs() < 1e-5 && (edge.at(1.0).y - 2.0).abs() < 1e-5);
            }
            let high = |edge: Bezier| (edge.at(0.5).y - 2.0) * side;
            // Four spaces wide: 0.35 + 4 x 0.06 = 0.59 high, half a thickness of 0.24 to each side.
            assert!((high(inner) - 0.47).abs() < 1e-5 && (high(outer) - 0.71).abs() < 1e-5);
        }
    }

    #[test]
    fn flags_hang_from_the_end_of_the_stem() {
        let [upper, lower] = flag_edges(spot(3.0, 6.0), true, 1);
        assert!((upper.at(0.0).y - 5.2).abs() < 1e-5);
        assert!((lower.at(0.0).y - 4.58).abs() < 1e-5);
        assert_eq!(upper.at(1.0), lower.at(1.0));
        let [turned, _] = flag_edges(spot(3.0, -2.0), false, 0);
        assert!(turned.at(1.0).y > -2.0);
    }
}
