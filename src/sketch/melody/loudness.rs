//! How loud the music is around each attack, to tell what stands out there.

use super::attacks::Attacks;

/// How many quarters around an attack count, on either side.
const AROUND: f64 = 8.0;

/// What is usual near an attack.
#[derive(Clone, Copy, Debug)]
pub(super) struct Loudness {
    /// The velocity that 70 % of the notes near it do not exceed: a soft opening is not held
    /// against a loud ending.
    pub(super) mark: f64,
    /// Mean velocity.
    pub(super) mean: f64,
    /// How far velocities lie from the mean (standard deviation).
    pub(super) spread: f64,
}

/// For each attack what is usual around it.
pub(super) fn loudness(attacks: &Attacks) -> Vec<Loudness> {
    let struck = &attacks.struck;
    let mut window = Window::default();
    let (mut lo, mut hi) = (0, 0);
    let mut found = Vec::with_capacity(attacks.list.len());
    for attack in &attacks.list {
        while let Some(n) = struck.get(hi).filter(|n| n.at <= attack.at + AROUND) {
            window.add(n.velocity, 1);
            hi += 1;
        }
        while let Some(n) = struck.get(lo).filter(|n| n.at + AROUND < attack.at) {
            window.add(n.velocity, -1);
            lo += 1;
        }
        found.push(window.usual());
    }
    found
}

/// Counts of velocities; whole numbers, so that adding and taking away leave no trace.
struct Window {
    counts: [i64; 128],
}

impl Default for Window {
    fn default() -> Self {
        Self { counts: [0; 128] }
    }
}

impl Window {
    fn add(&mut self, velocity: f64, count: i64) {
        self.counts[(velocity as usize).min(127)] += count;
    }

    fn usual(&self) -> Loudness {
        let sums = self
            .counts
            .iter()
            .zip(0_i64..)
            .fold((0, 0, 0), |sum, (c, v)| {
                (sum.0 + c, sum.1 + c * v, sum.2 + c * v * v)
            });
        let total = sums.0.max(1) as f64;
        let mean = sums.1 as f64 / total;
        let mut sum = 0;
        let mark = self.counts.iter().position(|c| {
            sum += c;
            10 * sum > 7 * sums.0
        });
        Loudness {
            mark: mark.map_or(mean, |m| m as f64),
            mean,
            spread: (sums.2 as f64 / total - mean * mean).max(0.0).sqrt(),
        }
    }
}
