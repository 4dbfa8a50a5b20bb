//! Presence and load as JSON.

use super::rounded::{hundredths, thousandths};
use crate::band::Band;
use crate::band::load::{Exceeded, Held, PlayerLoad, Start};
use crate::band::loudness::Decibels;
use crate::band::playing::Posture;
use crate::project::weighed::Weighed;
use crate::review::{LinePresence, PartStrain, StretchPresence};
use serde::Serialize;

/// Presence and load of a draft.
#[derive(Serialize, Debug)]
pub struct WeighedJson {
    conditions: ConditionsJson,
    presence: Vec<StretchJson>,
    load: Vec<PartLoadJson>,
    cautions: Vec<&'static str>,
}

#[derive(Serialize, Debug)]
struct ConditionsJson {
    posture: &'static str,
    start: &'static str,
}

#[derive(Serialize, Debug)]
struct StretchJson {
    first_bar: u32,
    last_bar: u32,
    tune: Option<LineJson>,
    counterline: Option<LineJson>,
    bass: Option<LineJson>,
}

#[derive(Serialize, Debug)]
struct LineJson {
    plain_db: Option<f64>,
    heard: f64,
    best_band_db: f64,
    situation: &'static str,
    least_db: f64,
    good_db: f64,
    covered: bool,
}

#[derive(Serialize, Debug)]
struct PartLoadJson {
    part: String,
    levels: Vec<LevelLoadJson>,
    working: Option<WorkingJson>,
}

#[derive(Serialize, Debug)]
struct LevelLoadJson {
    level: &'static str,
    least_reserve: Option<f64>,
    least_at: Option<usize>,
    low_seconds: f64,
    lack: f64,
    tired: Vec<f64>,
}

#[derive(Serialize, Debug)]
struct WorkingJson {
    playing_seconds: f64,
    rest_share: Option<f64>,
    high_seconds: f64,
    high_share: f64,
    above_seconds: f64,
    loud_high_share: f64,
    exceeded: Vec<&'static str>,
}

impl WeighedJson {
    /// The twin of what was weighed.
    #[must_use]
    pub fn of(band: &Band, weighed: &Weighed) -> Self {
        let conditions = ConditionsJson {
            posture: match weighed.conditions.posture {
                Posture::Seated => "seated",
                Posture::Marching => "marching",
            },
            start: match weighed.conditions.start {
                Start::Fresh => "fresh",
                Start::MidProgramme => "mid_programme",
            },
        };
        Self {
            conditions,
            presence: weighed.presence.iter().map(stretch).collect(),
            load: weighed.strains.iter().map(|s| part(band, s)).collect(),
            cautions: weighed.cautions(),
        }
    }
}

fn stretch(p: &StretchPresence) -> StretchJson {
    StretchJson {
        first_bar: p.stretch.first_bar.0,
        last_bar: p.stretch.last_bar.0,
        tune: p.tune.as_ref().map(line),
        counterline: p.counterline.as_ref().map(line),
        bass: p.bass.as_ref().map(line),
    }
}

fn line(p: &LinePresence) -> LineJson {
    let finite = |d: Decibels| d.0.is_finite().then(|| hundredths(d.0));
    LineJson {
        plain_db: finite(p.plain_db),
        heard: thousandths(p.heard),
        best_band_db: hundredths(p.best_band_db.0),
        situation: p.situation.word(),
        least_db: p.target.least,
        good_db: p.target.good,
        covered: p.covered(),
    }
}

fn part(band: &Band, strain: &PartStrain) -> PartLoadJson {
    let seconds = |held: Held| hundredths(held.seconds);
    let working = strain.work.as_ref().map(|(work, _)| WorkingJson {
        playing_seconds: seconds(work.playing),
        rest_share: work.rest.map(|(share, _)| thousandths(share)),
        high_seconds: seconds(work.high),
        high_share: thousandths(work.high_share),
        above_seconds: seconds(work.above),
        loud_high_share: thousandths(work.loud_high_share),
        exceeded: strain.exceeded().iter().map(exceeded).collect(),
    });
    PartLoadJson {
        part: band.part(strain.part).name.clone(),
        levels: strain.load.levels.iter().map(level).collect(),
        working,
    }
}

fn level(load: &PlayerLoad) -> LevelLoadJson {
    let least = load.least.and_then(|at| load.reserve.get(at));
    LevelLoadJson {
        level: load.level.word(),
        least_reserve: least.map(|r| thousandths(*r)),
        least_at: load.least,
        low_seconds: hundredths(load.low_seconds),
        lack: thousandths(load.lack),
        tired: load.tired.iter().map(|t| thousandths(*t)).collect(),
    }
}

fn exceeded(what: &Exceeded) -> &'static str {
    match what {
        Exceeded::Playing(_) => "playing_seconds",
        Exceeded::Rest(..) => "rest_share",
        Exceeded::High(_) => "high_seconds",
        Exceeded::HighShare(_) => "high_share",
        Exceeded::Above(_) => "above_seconds",
        Exceeded::LoudHighShare(_) => "loud_high_share",
    }
}
