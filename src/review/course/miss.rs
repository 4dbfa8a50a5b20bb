//! Where a draft misses the shape that is wanted, by how much, and what would mend it.

use super::Course;
use super::measure::Measure;
use crate::music::BarNumber;

/// So far off, in tenths of the scale of intensity, is a miss (ours).
pub const OFF: f64 = 1.5;
/// For so many bars on end at least (ours: a bar alone may be an accent).
pub const BARS: usize = 2;

/// Wanted intensities under this are a silence (ours).
const NOTHING: f64 = 0.05;

/// What can be changed for a miss; brightness follows from who plays and how loud.
const CHANGES: [Measure; 3] = [Measure::Loudness, Measure::Density, Measure::Register];

/// Some bars in which the reached intensity is off the wanted one.
#[derive(Clone, PartialEq, Debug)]
pub struct Miss {
    /// Its first bar.
    pub first: BarNumber,
    /// Its last bar.
    pub last: BarNumber,
    /// What is wanted, the mean over its bars.
    pub wanted: f64,
    /// What is reached, the mean over its bars.
    pub reached: f64,
    /// What is furthest from what the wanted intensity asks for, each counted by its weight.
    pub furthest: Measure,
    /// Its value now, the mean over the bars in which anybody sounds.
    pub has: f64,
    /// Its value that the wanted intensity asks for.
    pub asks: f64,
}

impl Miss {
    /// How far off: over 0 where more is wanted than is reached.
    #[must_use]
    pub fn by(&self) -> f64 {
        self.wanted - self.reached
    }

    /// In words: `bars 17-24: 2.3 under what is wanted (8.0)`.
    #[must_use]
    pub fn what(&self) -> String {
        let bars = if self.first == self.last {
            format!("bar {}", self.first)
        } else {
            format!("bars {}-{}", self.first, self.last)
        };
        let way = if self.by() > 0.0 { "under" } else { "over" };
        let off = self.by().abs();
        format!("{bars}: {off:.1} {way} what is wanted ({:.1})", self.wanted)
    }

    /// What would mend it, in words.
    #[must_use]
    pub fn mend(&self) -> String {
        if self.wanted < NOTHING {
            return "a silence is wanted here: let everybody rest".to_owned();
        }
        let more = self.by() > 0.0;
        let percent = |share: f64| (100.0 * share).round();
        match self.furthest {
            Measure::Loudness => {
                // A step of dynamic is about as much as a tenth of the scale: 3 dB.
                let steps = (self.asks - self.has).abs().round().clamp(1.0, 6.0);
                let (s, way) = (
                    if steps == 1.0 { "" } else { "s" },
                    if more { "louder" } else { "softer" },
                );
                format!("loudness is furthest off: about {steps} dynamic step{s} {way} would do")
            }
            Measure::Density => {
                let way = if more { "more" } else { "fewer" };
                format!(
                    "density is furthest off: {way} players ({:.0}% of the wind players sound; about {:.0}% would fit)",
                    percent(self.has),
                    percent(self.asks)
                )
            }
            Measure::Register | Measure::Brightness => {
                let way = if more { "higher" } else { "lower" };
                format!(
                    "register is furthest off: lay the parts {way} (at {:.0}% of their comfortable ranges on the whole; about {:.0}% would fit)",
                    percent(self.has),
                    percent(self.asks)
                )
            }
        }
    }
}

/// All misses of a course, in order.
#[must_use]
pub fn misses(course: &Course) -> Vec<Miss> {
    let off: Vec<f64> = course
        .wanted
        .iter()
        .zip(&course.reached)
        .map(|(w, r)| w - r)
        .collect();
    let side = |off: f64| i8::from(off > OFF) - i8::from(off < -OFF);
    let mut at = 0;
    let mut found = Vec::new();
    for run in off.chunk_by(|a, b| side(*a) == side(*b)) {
        let missed = run.first().is_some_and(|o| side(*o) != 0) && run.len() >= BARS;
        if missed {
            found.extend(miss(course, at, at + run.len()));
        }
        at += run.len();
    }
    found
}

/// The miss in some bars, from 0, the last left out.
fn miss(course: &Course, from: usize, to: usize) -> Option<Miss> {
    let mean = |all: &[f64]| {
        let some = all.get(from..to)?;
        Some(some.iter().sum::<f64>() / some.len().max(1) as f64)
    };
    let (wanted, reached) = (mean(&course.wanted)?, mean(&course.reached)?);
    let more = wanted > reached;
    let value = |measure: Measure| {
        let some = course.measure(measure).get(from..to)?;
        let some: Vec<f64> = some.iter().flatten().copied().collect();
        (!some.is_empty()).then(|| some.iter().sum::<f64>() / some.len() as f64)
    };
    let far = |measure: Measure| {
        // Nothing sounds: nothing is there of it.
        let has = value(measure).unwrap_or_else(|| measure.value(0.0));
        let off = wanted - measure.intensity(has);
        let off = measure.weight() * off;
        (measure, has, if more { off } else { -off })
    };
    let all = CHANGES.map(far);
    let (furthest, has, _) = all
        .into_iter()
        .reduce(|a, b| if b.2 > a.2 { b } else { a })?;
    let number = |bar: usize| BarNumber(u32::try_from(bar).unwrap_or(u32::MAX));
    Some(Miss {
        first: number(from + 1),
        last: number(to),
        wanted,
        reached,
        furthest,
        has,
        asks: furthest.value(wanted),
    })
}
