//! The shape of a show as JSON (schema: `assets/schema/shape.schema.json`).

use super::json_timeline::TimelineJson;
use super::rounded::thousandths;
use crate::band::Band;
use crate::project::shape::Shaped;
use crate::review::{Measure, Miss};
use serde::Serialize;

/// The shape of a show.
#[derive(Serialize, Debug)]
pub struct ShapeAnswer<'a> {
    band: &'a str,
    movements: Vec<MovementJson<'a>>,
}

#[derive(Serialize, Debug)]
struct MovementJson<'a> {
    name: &'a str,
    begins_seconds: f64,
    seconds: f64,
    pause_after: f64,
    timeline: Option<TimelineJson>,
    /// Wanted and reached intensity of every bar, 0 to 10.
    wanted: Vec<f64>,
    reached: Vec<f64>,
    correlation: Option<f64>,
    measures: Vec<MeasureJson>,
    load: Vec<LoadJson>,
    misses: Vec<MissJson>,
    warnings: Vec<String>,
}

#[derive(Serialize, Debug)]
struct MeasureJson {
    measure: &'static str,
    weight: f64,
    /// In its own unit; null where nothing sounds.
    values: Vec<Option<f64>>,
    intensity: Vec<f64>,
}

#[derive(Serialize, Debug)]
struct LoadJson {
    choir: &'static str,
    tired: Vec<f64>,
}

#[derive(Serialize, Debug)]
struct MissJson {
    first_bar: u32,
    last_bar: u32,
    wanted: f64,
    reached: f64,
    furthest: &'static str,
    has: f64,
    asks: f64,
    mend: String,
}

fn rounded(all: &[f64]) -> Vec<f64> {
    all.iter().copied().map(thousandths).collect()
}

impl<'a> ShapeAnswer<'a> {
    /// That of some movements.
    #[must_use]
    pub fn of(band: &'a Band, shaped: &'a [Shaped<'_>]) -> Self {
        Self {
            band: &band.name,
            movements: shaped.iter().map(movement).collect(),
        }
    }
}

fn movement<'a>(one: &'a Shaped<'_>) -> MovementJson<'a> {
    let course = &one.course;
    let measure = |measure: Measure| MeasureJson {
        measure: measure.word(),
        weight: measure.weight(),
        values: course
            .measure(measure)
            .iter()
            .map(|v| v.map(thousandths))
            .collect(),
        intensity: rounded(&course.alone(measure)),
    };
    let load = course.load.iter().map(|(choir, tired)| LoadJson {
        choir,
        tired: rounded(tired),
    });
    MovementJson {
        name: &one.name,
        begins_seconds: thousandths(one.begins.seconds.unwrap_or_default()),
        seconds: thousandths(one.seconds()),
        pause_after: thousandths(one.pause_after),
        timeline: one.laid().map(|l| TimelineJson::of(l, one.song)),
        wanted: rounded(&course.wanted),
        reached: rounded(&course.reached),
        correlation: course.together().map(thousandths),
        measures: Measure::ALL.into_iter().map(measure).collect(),
        load: load.collect(),
        misses: one.misses.iter().map(miss).collect(),
        warnings: one.warnings.iter().map(ToString::to_string).collect(),
    }
}

fn miss(miss: &Miss) -> MissJson {
    MissJson {
        first_bar: miss.first.0,
        last_bar: miss.last.0,
        wanted: thousandths(miss.wanted),
        reached: thousandths(miss.reached),
        furthest: miss.furthest.word(),
        has: thousandths(miss.has),
        asks: thousandths(miss.asks),
        mend: miss.mend(),
    }
}
