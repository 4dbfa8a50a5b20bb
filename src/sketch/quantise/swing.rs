//! Swing: pairs of eighths played long and short, written even.

use super::divisions::DIVISIONS;
use super::fit::{Fitted, Place, Spot};
use crate::music::Tick;

/// A stretch that was played with swing.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Swing {
    /// Where it begins on the written grid.
    pub start: Tick,
    /// Where it ends.
    pub end: Tick,
    /// How much longer the first of a pair is than the second; about 2 (Friberg and Sundström
    /// 2002 measured 1.1 to 3.5 by tempo; from memory).
    pub ratio: f64,
}

/// Divided beats that are looked at together.
const WINDOW: usize = 8;
/// How many of them must be pairs.
const PAIRS: usize = 6;
/// Where the second of a pair is in swing, as a share of the beat.
const SECOND: (f64, f64) = (0.57, 0.72);
/// The usual way off of the second, in beats.
const SPREAD: f64 = 0.055;

/// A beat that is divided.
struct Divided {
    /// Indices of its strikes.
    from: usize,
    to: usize,
    /// Where the second of a pair was played, if it is a pair.
    second: Option<f64>,
    start: u64,
    end: u64,
}

/// Finds stretches of swing and writes their pairs even.
pub(super) fn straighten(fitted: &mut Fitted, places: &[Place]) -> Vec<Swing> {
    let beats = divided(&fitted.spots, places);
    let mut swung = vec![false; beats.len()];
    for (i, window) in beats.windows(WINDOW).enumerate() {
        if is_swing(window) {
            swung[i..i + WINDOW].fill(true);
        }
    }
    let mut stretches: Vec<Swing> = Vec::new();
    let mut i = 0;
    while i < beats.len() {
        let count = swung[i..].iter().take_while(|s| **s).count();
        if count == 0 {
            i += 1;
            continue;
        }
        let stretch = &beats[i..i + count];
        let middle = middle(stretch).unwrap_or(2.0 / 3.0);
        stretches.push(Swing {
            start: Tick(stretch[0].start),
            end: Tick(stretch[count - 1].end),
            ratio: middle / (1.0 - middle),
        });
        for beat in stretch.iter().filter(|b| b.second.is_some()) {
            fitted.spots[beat.from..beat.to]
                .iter_mut()
                .flatten()
                .for_each(even);
        }
        i += count;
    }
    stretches
}

/// Index of the division into halves.
const HALVES: u8 = 2;

fn even(spot: &mut Spot) {
    debug_assert!(DIVISIONS[usize::from(HALVES)].parts == 2);
    spot.point = u8::from(spot.point > 0);
    spot.division = HALVES;
    spot.tick = spot.cell.tick(u64::from(spot.point), 2);
}

fn divided(spots: &[Option<Spot>], places: &[Place]) -> Vec<Divided> {
    let mut found = Vec::new();
    let mut from = 0;
    while from < spots.len() {
        let Some(first) = spots[from] else {
            from += 1;
            continue;
        };
        let same = |s: &Option<Spot>| s.is_none_or(|s| s.cell.start == first.cell.start);
        let to = from + spots[from..].iter().take_while(|s| same(s)).count();
        let inside: Vec<(&Spot, &Place)> = spots[from..to]
            .iter()
            .zip(&places[from..to])
            .filter_map(|(s, p)| s.as_ref().filter(|s| s.point > 0).map(|s| (s, p)))
            .collect();
        if !inside.is_empty() && !first.cell.compound {
            found.push(Divided {
                from,
                to,
                second: second(&inside),
                start: first.cell.start,
                end: first.cell.end,
            });
        }
        from = to;
    }
    found
}

/// Where the only division was played, if there is only one and it is past the middle.
fn second(inside: &[(&Spot, &Place)]) -> Option<f64> {
    let (first, _) = inside.first()?;
    let (part, parts) = first.fraction();
    let share = part as f64 / parts as f64;
    let alone = inside.iter().all(|(s, _)| s.tick == first.tick);
    let mean = inside
        .iter()
        .map(|(s, p)| s.cell.fraction(p.at))
        .sum::<f64>()
        / inside.len() as f64;
    (alone && (0.49..0.76).contains(&share)).then_some(mean)
}

fn middle(beats: &[Divided]) -> Option<f64> {
    let mut seconds: Vec<f64> = beats.iter().filter_map(|b| b.second).collect();
    seconds.sort_by(f64::total_cmp);
    seconds.get(seconds.len() / 2).copied()
}

fn is_swing(window: &[Divided]) -> bool {
    let Some(middle) = middle(window) else {
        return false;
    };
    let pairs: Vec<f64> = window.iter().filter_map(|b| b.second).collect();
    let off = pairs.iter().map(|s| (s - middle).abs()).sum::<f64>() / pairs.len().max(1) as f64;
    pairs.len() >= PAIRS && (SECOND.0..=SECOND.1).contains(&middle) && off <= SPREAD
}
