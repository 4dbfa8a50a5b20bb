//! Whether a song stands on a plain grid already, as step-entered and engraved music does.

use crate::sketch::song::Song;
use std::collections::BTreeSet;

/// Divisions of a quarter note that people enter, the plainest first.
const DIVISIONS: [u64; 13] = [4, 3, 6, 8, 12, 16, 24, 5, 10, 7, 9, 32, 48];
/// Finer divisions are left out when the grid would cover more than this share of all ticks:
/// then any time at all would be on it.
const MOST_COVERED: f64 = 0.6;
/// How much of what chance leaves must be on the grid.
const ON_GRID: f64 = 0.8;

/// Whether nearly all onsets are on a plain grid: exactly, or off by less than the tick that
/// rounding takes where a division does not divide the ticks of a quarter.
///
/// Only onsets are asked: programs write staccato and legato lengths of any kind.
pub(super) fn is_on_plain_grid(song: &Song) -> bool {
    let quarter = u64::from(song.quarter.get());
    let (grid, covered) = grid(quarter);
    let onsets: BTreeSet<u64> = song
        .tracks
        .iter()
        .flat_map(|t| &t.notes)
        .map(|n| n.onset.0)
        .collect();
    let on = onsets
        .iter()
        .filter(|o| grid.contains(&(*o % quarter)))
        .count();
    on as f64 >= (1.0 - (1.0 - ON_GRID) * (1.0 - covered)) * onsets.len() as f64
}

/// The ticks inside a quarter note that are on the grid, and the share of all ticks they are.
fn grid(quarter: u64) -> (BTreeSet<u64>, f64) {
    let mut grid = BTreeSet::from([0]);
    for division in DIVISIONS {
        let mut finer = grid.clone();
        for step in 0..division {
            let exact = step * quarter;
            finer.insert(exact / division);
            finer.insert(exact.div_ceil(division) % quarter);
        }
        if finer.len() as f64 > MOST_COVERED * quarter as f64 && division > 4 {
            continue;
        }
        grid = finer;
    }
    let covered = grid.len() as f64 / quarter as f64;
    (grid, covered.min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_grid_leaves_room_for_chance() {
        for quarter in [24, 96, 97, 120, 220, 480, 960] {
            let (grid, covered) = grid(quarter);
            assert!(covered <= MOST_COVERED, "{quarter}: {covered}");
            for part in [2, 3, 4] {
                assert!(grid.contains(&(quarter / part)), "{quarter} / {part}");
            }
        }
    }
}
