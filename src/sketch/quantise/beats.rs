//! Beats in time: when each beat was played, and where a moment lies among them.

/// A beat that was played.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Beat {
    /// Its number on the written grid, from 0.
    pub(super) number: u64,
    /// When it was, in seconds.
    pub(super) at: f64,
}

/// Beats in order, at least two; numbers and times rise. Long silences have no beats inside.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Beats(Vec<Beat>);

/// Shortest that a beat may be, in seconds.
const SHORTEST: f64 = 0.05;
/// Most beats of a silence.
const LONGEST_SILENCE: f64 = 1024.0;

impl Beats {
    /// Beats from stretches of beat times; between stretches lie as many beats as fit. `None` if
    /// there are fewer than two beats.
    pub(super) fn joined(stretches: &[Vec<f64>]) -> Option<Self> {
        let mut beats: Vec<Beat> = Vec::new();
        let mut period = 0.5;
        for stretch in stretches {
            for (i, at) in stretch.iter().enumerate() {
                let Some(last) = beats.last().copied() else {
                    beats.push(Beat { number: 0, at: *at });
                    continue;
                };
                if *at < last.at + SHORTEST {
                    continue;
                }
                let passed = if i == 0 {
                    ((at - last.at) / period)
                        .round()
                        .clamp(1.0, LONGEST_SILENCE)
                } else {
                    period = at - last.at;
                    1.0
                };
                beats.push(Beat {
                    number: last.number + passed as u64,
                    at: *at,
                });
            }
        }
        (beats.len() >= 2).then_some(Self(beats))
    }

    /// All beats.
    pub(super) fn all(&self) -> &[Beat] {
        &self.0
    }

    /// Where a moment lies: beat number with fraction, and seconds a beat there. Before the first
    /// and after the last beat the time goes on as there.
    pub(super) fn place(&self, seconds: f64) -> (f64, f64) {
        let next = self
            .0
            .partition_point(|b| b.at <= seconds)
            .clamp(1, self.0.len() - 1);
        let (from, to) = (self.0[next - 1], self.0[next]);
        let period = (to.at - from.at) / (to.number - from.number) as f64;
        (from.number as f64 + (seconds - from.at) / period, period)
    }

    /// When a beat was, in seconds; numbers with fractions between beats.
    pub(super) fn seconds(&self, number: f64) -> f64 {
        let next = self
            .0
            .partition_point(|b| b.number as f64 <= number)
            .clamp(1, self.0.len() - 1);
        let (from, to) = (self.0[next - 1], self.0[next]);
        let period = (to.at - from.at) / (to.number - from.number) as f64;
        from.at + (number - from.number as f64) * period
    }

    /// The usual length of a beat, in seconds.
    pub(super) fn period(&self) -> f64 {
        let mut lengths: Vec<f64> = self
            .0
            .windows(2)
            .filter(|p| p[1].number == p[0].number + 1)
            .map(|p| p[1].at - p[0].at)
            .collect();
        lengths.sort_by(f64::total_cmp);
        lengths.get(lengths.len() / 2).copied().unwrap_or(0.5)
    }

    /// The same beats counted so many later.
    pub(super) fn later(&self, by: u64) -> Self {
        Self(
            self.0
                .iter()
                .map(|b| Beat {
                    number: b.number.saturating_add(by),
                    ..*b
                })
                .collect(),
        )
    }

    /// As many beats in front as reach back to a moment, and as many behind as reach on to
    /// another, at the speed of the outermost beats (at most 8 each way).
    pub(super) fn reaching(&self, from: f64, to: f64) -> Self {
        let mut beats = self.0.clone();
        let (first, second) = (beats[0], beats[1]);
        let period = (second.at - first.at) / (second.number - first.number) as f64;
        let front = ((first.at - from - 0.2 * period) / period)
            .ceil()
            .clamp(0.0, 8.0) as u64;
        for beat in &mut beats {
            beat.number = beat.number.saturating_add(front);
        }
        let added = (0..front).map(|n| Beat {
            number: n,
            at: first.at - (front - n) as f64 * period,
        });
        let mut all: Vec<Beat> = added.chain(beats).collect();
        let (last, before) = (all[all.len() - 1], all[all.len() - 2]);
        let period = (last.at - before.at) / (last.number - before.number) as f64;
        let behind = ((to - last.at) / period).ceil().clamp(0.0, 8.0) as u64;
        all.extend((1..=behind).map(|n| Beat {
            number: last.number.saturating_add(n),
            at: last.at + n as f64 * period,
        }));
        Self(all)
    }

    /// Every beat cut into so many.
    pub(super) fn divided(&self, by: u64) -> Self {
        let mut beats = Vec::with_capacity(self.0.len() * by as usize);
        for pair in self.0.windows(2) {
            let single = pair[1].number == pair[0].number + 1;
            for part in 0..if single { by } else { 1 } {
                let share = part as f64 / by as f64;
                beats.push(Beat {
                    number: pair[0].number * by + part,
                    at: pair[0].at + share * (pair[1].at - pair[0].at),
                });
            }
        }
        beats.extend(self.0.last().map(|b| Beat {
            number: b.number * by,
            at: b.at,
        }));
        Self(beats)
    }

    /// Every so-many-th beat, beginning with one of the first; `None` if fewer than two are left.
    pub(super) fn thinned(&self, by: u64, first: u64) -> Option<Self> {
        let kept = self.0.iter().filter(|b| b.number % by == first % by);
        let beats: Vec<Beat> = kept
            .map(|b| Beat {
                number: b.number / by,
                at: b.at,
            })
            .collect();
        (beats.len() >= 2).then_some(Self(beats))
    }

    /// The moments a share of the way from each beat to the next, as beats; `None` if fewer than
    /// two are left.
    pub(super) fn shifted(&self, share: f64) -> Option<Self> {
        let single = |p: &&[Beat]| p[1].number == p[0].number + 1;
        let beats: Vec<Beat> = self
            .0
            .windows(2)
            .filter(single)
            .map(|p| Beat {
                number: p[0].number,
                at: p[0].at + share * (p[1].at - p[0].at),
            })
            .collect();
        (beats.len() >= 2).then_some(Self(beats))
    }

    /// The beats with other times, where they still rise.
    pub(super) fn moved(&self, times: &[f64]) -> Self {
        let mut beats: Vec<Beat> = Vec::with_capacity(self.0.len());
        for (beat, at) in self.0.iter().zip(times) {
            if beats.last().is_none_or(|l| *at >= l.at + SHORTEST) {
                beats.push(Beat {
                    number: beat.number,
                    at: *at,
                });
            }
        }
        if beats.len() < 2 {
            self.clone()
        } else {
            Self(beats)
        }
    }
}
