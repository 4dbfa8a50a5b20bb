//! Courses of one band's drafts, kept by part.

use super::lips::{LineLips, loads, of_line};
use super::measure::Measure;
use super::sounds::{BarSound, LineSound, bars};
use super::{Before, Course, CourseOf};
use crate::band::load::Conditions;
use crate::band::loudness::{Decibels, full_level, intensity_of_level};
use crate::band::{Band, Part};
use crate::music::{TempoMap, Tick};
use crate::review::by_line::ByLine;

/// What a line's share of the course follows from besides its notes: who plays, bars, tempos, conditions, what was
/// played before.
type From = (Vec<Part>, Vec<Tick>, TempoMap, Conditions, Option<Before>);

/// A line's share of the course.
#[derive(Clone, PartialEq, Debug)]
struct Share {
    sound: LineSound,
    lips: LineLips,
}

/// Courses with all that was worked out kept: after an edit only the parts whose notes changed are looked into again.
/// What it says is always what [`Course::of`] says.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct CourseBook {
    lines: ByLine<From, Share>,
    /// How loud everybody is in full, and who that is.
    full: Option<(Vec<Part>, Decibels)>,
}

impl CourseBook {
    /// The course of a draft.
    #[must_use]
    pub fn course(&mut self, what: &CourseOf<'_>) -> Course {
        let starts = what.starts();
        let full = self.full(what.band);
        let from = (
            what.band.parts.clone(),
            starts.clone(),
            what.tempo.clone(),
            what.conditions,
            what.before.cloned(),
        );
        let found = self
            .lines
            .of_all(from, what.band, &what.draft.lines, |line| {
                let part = what.band.part(line.part);
                Share {
                    sound: LineSound::of(part, &line.notes, &starts),
                    lips: of_line(what, part, line, &starts),
                }
            });
        let (sounds, lips): (Vec<_>, Vec<_>) = found.map(|(_, s)| (&s.sound, &s.lips)).unzip();
        let winds = what.band.parts.iter().filter(|p| p.instrument.wind);
        let winds: f64 = winds.map(|p| f64::from(p.players.count())).sum();
        let ticks = starts.windows(2).map(|bar| match bar {
            [from, to] => to.since(*from).0.max(1) as f64,
            _ => 1.0,
        });
        let values: Vec<[Option<f64>; 4]> = bars(starts.len().saturating_sub(1), &sounds)
            .iter()
            .zip(ticks)
            .map(|(bar, ticks)| values(bar, bar.energy / ticks, full, winds))
            .collect();
        Course {
            wanted: what.wanted(&starts),
            reached: values.iter().map(combined).collect(),
            measures: [0, 1, 2, 3].map(|i| values.iter().map(|v| v[i]).collect()),
            load: loads(&lips),
            starts,
        }
    }

    fn full(&mut self, band: &Band) -> Decibels {
        match &self.full {
            Some((parts, full)) if *parts == band.parts => *full,
            _ => {
                let full = full_level(band);
                self.full = Some((band.parts.clone(), full));
                full
            }
        }
    }
}

/// Loudness, density, register and brightness of a bar, in this order.
fn values(bar: &BarSound, power: f64, full: Decibels, winds: f64) -> [Option<f64>; 4] {
    let sounds = power > 0.0 && full.power() > 0.0;
    let loud = || intensity_of_level(full, Decibels::of_power(power));
    let mean = |sum: f64| sounds.then(|| sum / bar.energy);
    [
        sounds.then(loud),
        (winds > 0.0 && bar.players > 0.0).then(|| bar.players / winds),
        mean(bar.place),
        mean(bar.centroid),
    ]
}

/// The reached intensity: the mean by the weights of the measures. A bar in which nothing is heard reaches 0.
fn combined(values: &[Option<f64>; 4]) -> f64 {
    if values[0].is_none() {
        return 0.0;
    }
    let (mut sum, mut weights) = (0.0, 0.0);
    for (measure, value) in Measure::ALL.into_iter().zip(values) {
        if let Some(value) = value {
            sum += measure.weight() * measure.intensity(*value);
            weights += measure.weight();
        }
    }
    if weights > 0.0 { sum / weights } else { 0.0 }
}
