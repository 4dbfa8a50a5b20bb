//! The tempo plan, and the clock that it makes: beats to seconds and back.

/// Beats a minute where a tempo plan says nothing (SMF 1.0 has the same for files).
pub const USUAL_TEMPO: f64 = 120.0;
/// The slowest and the fastest tempo of a plan, felt beats a minute (ours).
pub const TEMPOS: (f64, f64) = (20.0, 320.0);

/// A tempo from a place on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct TempoPoint<P> {
    /// Where.
    pub at: P,
    /// Felt beats a minute (dotted quarters in 6/8).
    pub beats_per_minute: f64,
    /// Whether it changes evenly, beat by beat, to the next tempo; else it stays until there.
    pub ramp: bool,
}

#[derive(Clone, Copy, PartialEq, Debug)]
struct Stretch {
    /// Where it begins, in beats and seconds from the beginning.
    beat: f64,
    seconds: f64,
    tempo: f64,
    /// Change of tempo a beat.
    change: f64,
}

/// Beats against seconds.
///
/// ```
/// use bandwright::plan::timeline::BeatClock;
/// let clock = BeatClock::new([(0.0, 60.0, false), (8.0, 120.0, false)]);
/// assert_eq!(clock.seconds(12.0), 10.0);
/// assert_eq!(clock.beat(10.0), 12.0);
/// ```
#[derive(Clone, PartialEq, Debug)]
pub struct BeatClock {
    stretches: Vec<Stretch>,
}

impl BeatClock {
    /// A clock from tempos: beat from the beginning, beats a minute, whether it leads evenly to the next. What is
    /// no usable number is passed over, a tempo is kept within [`TEMPOS`]; before the first one its tempo holds.
    #[must_use]
    pub fn new(tempos: impl IntoIterator<Item = (f64, f64, bool)>) -> Self {
        let usable = tempos
            .into_iter()
            .filter(|(beat, tempo, _)| *beat >= 0.0 && beat.is_finite() && tempo.is_finite());
        let mut all: Vec<(f64, f64, bool)> = usable
            .map(|(beat, tempo, ramp)| (beat, tempo.clamp(TEMPOS.0, TEMPOS.1), ramp))
            .collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        all.dedup_by(|later, earlier| {
            let same = later.0 <= earlier.0;
            if same {
                *earlier = *later;
            }
            same
        });
        let first = all.first().map_or(USUAL_TEMPO, |f| f.1);
        if all.first().is_none_or(|f| f.0 > 0.0) {
            all.insert(0, (0.0, first, false));
        }
        let mut stretches: Vec<Stretch> = Vec::with_capacity(all.len());
        for (i, (beat, tempo, ramp)) in all.iter().enumerate() {
            let next = all.get(i + 1).filter(|_| *ramp);
            let seconds = stretches.last().map_or(0.0, |s| s.seconds_at(*beat));
            stretches.push(Stretch {
                beat: *beat,
                seconds,
                tempo: *tempo,
                change: next.map_or(0.0, |n| (n.1 - tempo) / (n.0 - beat)),
            });
        }
        Self { stretches }
    }

    /// Seconds from the beginning.
    #[must_use]
    pub fn seconds(&self, beat: f64) -> f64 {
        let at = self.stretches.partition_point(|s| s.beat <= beat);
        let stretch = self.stretches.get(at.saturating_sub(1));
        stretch.map_or(0.0, |s| s.seconds_at(beat.max(0.0)))
    }

    /// Beats from the beginning.
    #[must_use]
    pub fn beat(&self, seconds: f64) -> f64 {
        let at = self.stretches.partition_point(|s| s.seconds <= seconds);
        let stretch = self.stretches.get(at.saturating_sub(1));
        stretch.map_or(0.0, |s| s.beat_at(seconds.max(0.0)))
    }

    /// Beats a minute at a beat.
    #[must_use]
    pub fn tempo(&self, beat: f64) -> f64 {
        let at = self.stretches.partition_point(|s| s.beat <= beat);
        let stretch = self.stretches.get(at.saturating_sub(1));
        stretch.map_or(USUAL_TEMPO, |s| s.tempo_at(beat))
    }
}

impl Stretch {
    fn tempo_at(self, beat: f64) -> f64 {
        (self.tempo + self.change * (beat - self.beat)).clamp(TEMPOS.0, TEMPOS.1)
    }

    fn seconds_at(self, beat: f64) -> f64 {
        let beats = beat - self.beat;
        let share = self.change * beats / self.tempo;
        if share.abs() < 1e-9 {
            return self.seconds + 60.0 * beats / self.tempo;
        }
        // A tempo that changes evenly by the beat: the integral of 1 over it is a logarithm.
        self.seconds + 60.0 * share.ln_1p() / self.change
    }

    fn beat_at(self, seconds: f64) -> f64 {
        let minutes = (seconds - self.seconds) / 60.0;
        let grows = self.change * minutes;
        if grows.abs() < 1e-9 {
            return self.beat + minutes * self.tempo;
        }
        self.beat + self.tempo * grows.exp_m1() / self.change
    }
}
