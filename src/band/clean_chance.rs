//! The chance that a note comes out clean, from where it lies in its players' ranges.

use super::instrument::LevelRange;
use super::roster::Part;
use crate::music::{Sounding, Written};

/// Log-odds of 0.95: the chance at the comfortable edge.
const AT_COMFORTABLE: f64 = 2.944_438_979_166_440_3;
/// Log-odds of 0.60: the chance at the stretch edge.
const AT_STRETCH: f64 = 0.405_465_108_108_164_4;
/// Semitones between the edges where the table has them on one note (our assumption).
const COINCIDING: f64 = 2.0;

/// The chance, 0 to 1, that a player of a part plays a note clean: the mean over its players of
/// a two-parameter logistic (Birnbaum 1968) in the pitch, 0.95 at the comfortable edge and 0.60
/// at the stretch edge, for the upper and the lower edge, multiplied. Remarks do not enter.
/// 0 for a part without players.
#[must_use]
pub fn clean_chance(part: &Part, pitch: Sounding) -> f64 {
    let written = part.instrument.transposition.written(pitch);
    let sum: f64 = part
        .players
        .levels()
        .map(|(level, n)| f64::from(n) * player_chance(part.instrument.range(level), written))
        .sum();
    sum / f64::from(part.players.count().max(1))
}

fn player_chance(range: LevelRange, pitch: Written) -> f64 {
    let number = |w: Written| f64::from(w.0);
    let (easy, hard, pitch) = (range.comfortable, range.stretch, number(pitch));
    edge_chance(number(easy.high), number(hard.high), pitch)
        * edge_chance(-number(easy.low), -number(hard.low), -pitch)
}

/// The logistic for one edge on an axis of growing difficulty.
fn edge_chance(comfortable: f64, stretch: f64, at: f64) -> f64 {
    let width = if stretch > comfortable {
        stretch - comfortable
    } else {
        COINCIDING
    };
    let slope = (AT_COMFORTABLE - AT_STRETCH) / width;
    let middle = comfortable + AT_COMFORTABLE / slope;
    1.0 / (1.0 + (slope * (at - middle)).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn worked_values() {
        let values = [
            (65.0, 0.9813),
            (67.0, 0.95),
            (69.0, 0.8731),
            (70.0, 0.8055),
            (72.0, 0.6),
            (73.0, 0.4744),
            (75.0, 0.2464),
        ];
        for (at, chance) in values {
            assert!((edge_chance(67.0, 72.0, at) - chance).abs() < 6e-5, "{at}");
        }
        assert!((edge_chance(12.0, 16.0, 18.0) - 0.2965).abs() < 6e-5);
    }

    #[test]
    fn edges_on_one_note_lie_two_semitones_apart() {
        assert!((edge_chance(60.0, 60.0, 60.0) - 0.95).abs() < 1e-9);
        assert!((edge_chance(60.0, 60.0, 62.0) - 0.60).abs() < 1e-9);
    }
}
