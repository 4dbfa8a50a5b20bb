//! Beat times made smooth: the times that fit the notes as written, with a speed that changes
//! slowly (Whittaker 1923; Eilers, A Perfect Smoother, 2003).

use super::beats::Beats;

/// How much the length of a beat usually changes to the next, as a share of it. Chosen by trial.
const CHANGE: f64 = 0.02;

/// A note for the smoother.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sight {
    /// Where it is written, in beats.
    pub(super) beat: f64,
    /// When it was played, in seconds.
    pub(super) at: f64,
}

/// The beats moved so that notes fit where they are written. Sights are in order of their beats.
pub(super) fn smoothed(beats: &Beats, sights: &[Sight], noise: f64) -> Beats {
    let all = beats.all();
    let count = all.len();
    let mut system = Banded::new(count);
    let mut at = 0;
    for sight in sights {
        while at + 2 < count && all[at + 1].number as f64 <= sight.beat {
            at += 1;
        }
        let span = (all[at + 1].number - all[at].number) as f64;
        let share = (sight.beat - all[at].number as f64) / span;
        if span < 1.5 && (-1.0..=2.0).contains(&share) {
            system.add(
                &[(at, 1.0 - share), (at + 1, share)],
                sight.at,
                1.0 / (noise * noise),
            );
        }
    }
    let change = (CHANGE * beats.period()).max(1e-4);
    for i in 1..count.saturating_sub(1) {
        let (a, b) = (
            all[i].number - all[i - 1].number,
            all[i + 1].number - all[i].number,
        );
        let weight = if a == 1 && b == 1 {
            1.0 / (change * change)
        } else {
            1e-3 / (change * change)
        };
        let (a, b) = (1.0 / a as f64, 1.0 / b as f64);
        system.add(&[(i - 1, a), (i, -a - b), (i + 1, b)], 0.0, weight);
    }
    // Holds a beat that nothing else holds where it is.
    for (i, beat) in all.iter().enumerate() {
        system.add(&[(i, 1.0)], beat.at, 1e-2);
    }
    beats.moved(&system.solve())
}

/// A least-squares system whose rows touch three neighbours at most.
struct Banded {
    /// Diagonal and two bands above it.
    rows: Vec<[f64; 3]>,
    right: Vec<f64>,
}

impl Banded {
    fn new(count: usize) -> Self {
        Self {
            rows: vec![[0.0; 3]; count],
            right: vec![0.0; count],
        }
    }

    /// Adds the wish that a sum of unknowns is a value.
    fn add(&mut self, terms: &[(usize, f64)], value: f64, weight: f64) {
        for (i, a) in terms {
            self.right[*i] += weight * a * value;
            for (j, b) in terms.iter().filter(|(j, _)| j >= i) {
                self.rows[*i][j - i] += weight * a * b;
            }
        }
    }

    /// The unknowns, by an LDL factorisation.
    fn solve(mut self) -> Vec<f64> {
        let count = self.rows.len();
        for i in 0..count {
            let row = self.rows[i];
            let pivot = row[0].max(1e-12);
            for (step, above) in [(1, row[1]), (2, row[2])] {
                if i + step >= count {
                    continue;
                }
                let factor = above / pivot;
                self.rows[i + step][0] -= factor * above;
                if step == 1 {
                    self.rows[i + 1][1] -= factor * row[2];
                }
                self.right[i + step] -= factor * self.right[i];
            }
        }
        for i in (0..count).rev() {
            let mut value = self.right[i];
            for step in 1..=2 {
                if i + step < count {
                    value -= self.rows[i][step] * self.right[i + step];
                }
            }
            self.right[i] = value / self.rows[i][0].max(1e-12);
        }
        self.right
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_even_pulse_is_found_again() {
        let beats = Beats::joined(&[vec![0.0, 0.53, 0.96, 1.52, 2.0]]).unwrap();
        let sights: Vec<Sight> = (0..5)
            .map(|b| Sight {
                beat: f64::from(b),
                at: 0.5 * f64::from(b),
            })
            .collect();
        let smooth = smoothed(&beats, &sights, 0.01);
        for beat in smooth.all() {
            assert!(
                (beat.at - 0.5 * beat.number as f64).abs() < 0.002,
                "{beat:?}"
            );
        }
    }
}
