//! How long a breath lasts (`presets/playing/breath.toml`).

use super::by_level::ByLevel;
use super::rows::{self, For};
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::music::Dynamic;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/breath.toml");

/// How the band plays.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Posture {
    /// Seated, or standing still.
    Seated,
    /// Marching while playing.
    #[default]
    Marching,
}

/// How long the players of an instrument can hold one steady note, mezzo forte, seated.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Breath {
    /// Seconds.
    pub seconds: ByLevel<f64>,
    /// What of it is left in the low third of the range.
    pub low_third: f64,
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    breath: Vec<For<Row>>,
    loudness: Loudness,
    low_third: For<LowThird>,
    plan: Plan,
}

#[derive(Clone, Deserialize)]
struct Row {
    seconds: ByLevel<f64>,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Loudness {
    p: f64,
    mf: f64,
    f: f64,
    ff: f64,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Clone, Deserialize)]
struct LowThird {
    factor: f64,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Plan {
    seated: f64,
    marching: f64,
    #[serde(rename = "source")]
    _source: String,
}

fn table() -> Result<&'static Table, TableError> {
    static READ: OnceLock<Result<Table, TableError>> = OnceLock::new();
    rows::cached(&READ, || rows::read("breath.toml", TABLE))
}

pub(super) fn of(id: &str) -> Result<Option<Breath>, TableError> {
    let table = table()?;
    let low = rows::row_of(std::slice::from_ref(&table.low_third), id);
    Ok(rows::row_of(&table.breath, id).map(|row| Breath {
        seconds: row.seconds,
        low_third: low.map_or(1.0, |l| l.factor),
    }))
}

impl Breath {
    /// The longest steady note in seconds at a dynamic, seated.
    #[must_use]
    pub fn longest(&self, level: Level, dynamic: Dynamic, in_low_third: bool) -> f64 {
        let low = if in_low_third { self.low_third } else { 1.0 };
        self.seconds.at(level) * low * loudness_factor(dynamic)
    }

    /// What may be planned without a breath, in seconds: a share of the longest note.
    #[must_use]
    pub fn planned(
        &self,
        level: Level,
        dynamic: Dynamic,
        in_low_third: bool,
        posture: Posture,
    ) -> f64 {
        let share = table().map_or(1.0, |t| match posture {
            Posture::Seated => t.plan.seated,
            Posture::Marching => t.plan.marching,
        });
        share * self.longest(level, dynamic, in_low_third)
    }
}

/// The steps that the table leaves out lie half way between their neighbours (ours).
fn loudness_factor(dynamic: Dynamic) -> f64 {
    let Ok(Table { loudness: l, .. }) = table() else {
        return 1.0;
    };
    match dynamic {
        Dynamic::Pp | Dynamic::P => l.p,
        Dynamic::Mp => f64::midpoint(l.p, l.mf),
        Dynamic::Mf => l.mf,
        Dynamic::F => l.f,
        Dynamic::Ff | Dynamic::Fff => l.ff,
    }
}
