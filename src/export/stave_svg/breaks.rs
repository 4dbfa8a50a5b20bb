//! Which bars stand on which system: so that all systems are filled about alike.

use super::cell::Cell;
use std::ops::Range;

/// What a system costs that is wider than the page, besides how much wider (ours: more than any other).
const TOO_WIDE: f32 = 1e4;
/// What a system costs by itself, so that a few full ones are better than many loose ones (ours).
const EACH: f32 = 0.02;

/// So far a system may be squeezed, as a share (ours: the gaps between notes bear it).
const SQUEEZED: f32 = 0.06;
/// How many times as much squeezing costs as stretching (ours).
const SQUEEZE: f32 = 6.0;
/// What a last system that is not full costs, of what another one would (ours: half a system is well, one bar is not).
const LAST: f32 = 0.04;

/// The cells of each system: a least-cost path over the places where a system may end. What is squeezed or stretched
/// costs by the square of the share; the last system may be short.
pub(super) fn lines(cells: &[Cell], width: f32) -> Vec<Range<usize>> {
    // The least cost up to a cell, and where the last system before it begins.
    let mut best: Vec<(f32, usize)> = vec![(0.0, 0)];
    for end in 1..=cells.len() {
        let mut found = (f32::INFINITY, end - 1);
        for start in (0..end).rev() {
            let natural = natural_width(cells, start..end);
            let before = best.get(start).map_or(0.0, |b| b.0);
            let cost = before + cost(natural, width, end == cells.len());
            if cost < found.0 {
                found = (cost, start);
            }
            if natural > width * (1.0 + SQUEEZED) {
                break;
            }
        }
        best.push(found);
    }
    let mut lines = Vec::new();
    let mut end = cells.len();
    while end > 0 {
        let start = best.get(end).map_or(0, |b| b.1.min(end - 1));
        lines.push(start..end);
        end = start;
    }
    lines.reverse();
    lines
}

/// How wide some cells are as a system, nothing stretched.
pub(super) fn natural_width(cells: &[Cell], range: Range<usize>) -> f32 {
    let after = cells.get(range.end).map_or(0.0, |c| c.courtesy.width);
    let own = cells.get(range).unwrap_or_default();
    let opening = own.first().map_or(0.0, |c| c.opening.width);
    let widths = own.iter().enumerate();
    let bars: f32 = widths.map(|(i, c)| c.placed(i == 0).1.width).sum();
    opening + bars + after
}

fn cost(natural: f32, width: f32, last: bool) -> f32 {
    let share = width / natural.max(1.0) - 1.0;
    match share {
        s if s < -SQUEEZED => TOO_WIDE * (1.0 - s),
        s if s < 0.0 => EACH + SQUEEZE * s * s,
        s if last => EACH + LAST * s.min(4.0) * s.min(4.0),
        s => EACH + s * s,
    }
}
