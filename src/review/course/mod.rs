//! The course of the show, bar by bar: wanted intensity, what of it is reached and by what, and how tired lips are.

mod book;
mod lips;
pub mod measure;
pub mod miss;
mod sounds;

pub use book::CourseBook;
pub use measure::Measure;
pub use miss::{Miss, misses};

use crate::band::load::{Conditions, TimedNote};
use crate::band::{Band, PartId};
use crate::music::{BarNumber, MeterMap, TempoMap, Tick};
use crate::score::{Draft, Passage};
use std::collections::BTreeMap;

/// The course of a show, by bar from the first.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Course {
    /// Where each bar begins; one more at the end.
    pub starts: Vec<Tick>,
    /// Wanted intensity, 0 to 10.
    pub wanted: Vec<f64>,
    /// Reached intensity, 0 to 10: the mean of what the measures speak for, by their weights.
    pub reached: Vec<f64>,
    /// What each measure comes to, in the order of [`Measure::ALL`]; see [`Self::measure`].
    pub measures: [Vec<Option<f64>>; 4],
    /// How tired the most tired lips of a group are, 0 to 1 (MF of the load model); 0 where they rest.
    pub load: Vec<(&'static str, Vec<f64>)>,
}

/// What was played before a movement.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Before {
    /// Seconds from the start of the show to the start of the movement.
    pub seconds: f64,
    /// Notes by part, at their time in the show.
    pub notes: BTreeMap<PartId, Vec<TimedNote>>,
}

/// What a course follows from.
#[derive(Clone, Copy, Debug)]
pub struct CourseOf<'a> {
    /// Who plays.
    pub band: &'a Band,
    /// The notes.
    pub draft: &'a Draft,
    /// Passages with what is wanted in them.
    pub passages: &'a [Passage],
    /// Wanted intensity by bar, where a timeline says more than the passages.
    pub wanted: Option<&'a [f64]>,
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// Tempos.
    pub tempo: &'a TempoMap,
    /// Under what conditions the show is played.
    pub conditions: Conditions,
    /// What was played before, where this is a later movement of a show.
    pub before: Option<&'a Before>,
    /// Where the music ends.
    pub end: Tick,
}

impl CourseOf<'_> {
    /// Where each bar begins, and one end more; empty without music.
    #[must_use]
    pub fn starts(&self) -> Vec<Tick> {
        if self.end == Tick::ZERO {
            return Vec::new();
        }
        let last = self.meters.bar(Tick(self.end.0.saturating_sub(1)));
        let bars = 1..=last.0.saturating_add(1);
        bars.map(|b| self.meters.bar_start(BarNumber(b))).collect()
    }

    fn wanted(&self, starts: &[Tick]) -> Vec<f64> {
        let bars = starts.len().saturating_sub(1);
        let by_passage = |at: &Tick| {
            let here = self.passages.iter().find(|p| p.contains(*at));
            here.map_or(0.0, |p| p.intensity)
        };
        let passages = starts.iter().take(bars).map(by_passage);
        match self.wanted {
            Some(wanted) => {
                let wanted = wanted.iter().copied().map(Some);
                let wanted = wanted.chain(std::iter::repeat(None));
                passages.zip(wanted).map(|(p, w)| w.unwrap_or(p)).collect()
            }
            None => passages.collect(),
        }
    }
}

impl Course {
    /// The course of a draft.
    #[must_use]
    pub fn of(what: &CourseOf<'_>) -> Self {
        CourseBook::default().course(what)
    }

    /// How many bars there are.
    #[must_use]
    pub fn bars(&self) -> usize {
        self.starts.len().saturating_sub(1)
    }

    /// What a measure comes to in every bar, in its own unit; `None` where nothing sounds that it could measure.
    #[must_use]
    pub fn measure(&self, measure: Measure) -> &[Option<f64>] {
        let [loudness, density, register, brightness] = &self.measures;
        match measure {
            Measure::Loudness => loudness,
            Measure::Density => density,
            Measure::Register => register,
            Measure::Brightness => brightness,
        }
    }

    /// The intensity, 0 to 10, that a measure alone speaks for in every bar; 0 where nothing sounds.
    #[must_use]
    pub fn alone(&self, measure: Measure) -> Vec<f64> {
        let all = self.measure(measure).iter();
        all.map(|v| v.map_or(0.0, |v| measure.intensity(v)))
            .collect()
    }

    /// How wanted and reached go together over its bars (Pearson's correlation, -1 to 1); `None` where either does
    /// not move.
    #[must_use]
    pub fn together(&self) -> Option<f64> {
        let count = self.bars() as f64;
        let mean = |all: &[f64]| all.iter().sum::<f64>() / count.max(1.0);
        let (w, r) = (mean(&self.wanted), mean(&self.reached));
        let pairs = || self.wanted.iter().zip(&self.reached);
        let both: f64 = pairs().map(|(a, b)| (a - w) * (b - r)).sum();
        let one: f64 = pairs().map(|(a, _)| (a - w).powi(2)).sum();
        let other: f64 = pairs().map(|(_, b)| (b - r).powi(2)).sum();
        let whole = (one * other).sqrt();
        (whole > 1e-9).then(|| both / whole)
    }
}
