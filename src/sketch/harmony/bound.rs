//! The most that any chord could make of a stretch, so that hopeless stretches are left out.

use super::labels::Label;
use super::segment::BassRow;

/// Chords have at most so many tones.
const MOST_TONES: usize = 6;

/// What the cheapest labels of each number of tones cost, and the most that bass, key and a way
/// into a chord can add.
pub(super) struct Bound {
    /// By the number of tones less one: entry and rarity; `None` where there is no such kind.
    cheapest: [Option<(f64, f64)>; MOST_TONES],
    pub(super) bass: f64,
    key: f64,
    /// The highest entry cost of all.
    pub(super) entry: f64,
}

impl Bound {
    pub(super) fn of(labels: &[Label], bass: &[BassRow], keys: &[Vec<f64>]) -> Self {
        let mut cheapest: [Option<(f64, f64)>; MOST_TONES] = [None; MOST_TONES];
        for label in labels {
            let tones = label.mask.count_ones() as usize;
            if let Some(cost) = cheapest.get_mut(tones - 1) {
                let old = cost.unwrap_or((f64::MAX, f64::MAX));
                *cost = Some((old.0.min(label.entry), old.1.min(label.rarity)));
            }
        }
        let most = |values: &mut dyn Iterator<Item = f64>| values.fold(f64::NEG_INFINITY, f64::max);
        Self {
            cheapest,
            bass: most(&mut bass.iter().flatten().copied()),
            key: most(&mut keys.iter().flatten().copied()),
            entry: most(&mut labels.iter().map(|l| l.entry)),
        }
    }

    /// The most that a label can score where the classes gain so much inside a chord, foreign
    /// classes cost so much in all, and rarity and entry weigh so much.
    pub(super) fn most(&self, mut gains: [f64; 12], outside: f64, rarity: f64, entry: f64) -> f64 {
        gains.sort_unstable_by(|a, b| b.total_cmp(a));
        let mut sum = 0.0;
        let mut most = f64::NEG_INFINITY;
        for (gain, cheapest) in gains.iter().zip(self.cheapest) {
            sum += gain;
            if let Some((first, share)) = cheapest {
                most = most.max(sum - first * entry - share * rarity);
            }
        }
        most - outside + self.bass + self.key
    }
}
