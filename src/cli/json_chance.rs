//! Clean chances as JSON (schemas: `assets/schema/chance.schema.json`, `review.schema.json`).

use super::rounded::{hundredths, thousandths};
use crate::band::chance::{Cause, Chance};
use crate::band::{Band, Part};
use crate::music::{Sounding, Written};
use crate::review::{CleanLine, HardSpot};
use serde::Serialize;

/// What `chance` found.
#[derive(Serialize, Debug)]
pub struct ChanceAnswer<'a> {
    part: &'a str,
    instrument: &'a str,
    written: String,
    pitch: u8,
    chance: f64,
    levels: Vec<LevelJson<'a>>,
}

#[derive(Serialize, Debug)]
struct LevelJson<'a> {
    level: &'static str,
    players: u16,
    chance: f64,
    causes: Vec<CauseJson<'a>>,
}

#[derive(Serialize, Debug)]
struct CauseJson<'a> {
    kind: &'static str,
    points: f64,
    alone: f64,
    text: &'a str,
}

impl<'a> ChanceAnswer<'a> {
    /// The answer for a note of a part.
    #[must_use]
    pub fn of(part: &'a Part, written: Written, pitch: Sounding, found: &'a Chance) -> Self {
        let levels = found.levels.iter().map(|l| LevelJson {
            level: l.level.word(),
            players: l.players,
            chance: thousandths(l.value),
            causes: causes(&l.causes),
        });
        Self {
            part: &part.name,
            instrument: &part.instrument.id,
            written: written.to_string(),
            pitch: pitch.midi(),
            chance: thousandths(found.value),
            levels: levels.collect(),
        }
    }
}

fn causes(causes: &[Cause]) -> Vec<CauseJson<'_>> {
    let json = |c: &'_ Cause| (c.kind.word(), thousandths(c.points), thousandths(c.alone()));
    causes
        .iter()
        .map(|c| {
            let (kind, points, alone) = json(c);
            CauseJson {
                kind,
                points,
                alone,
                text: &c.text,
            }
        })
        .collect()
}

/// How clean a part of a draft is.
#[derive(Serialize, Debug)]
pub struct CleanJson<'a> {
    part: &'a str,
    notes: usize,
    mean: f64,
    missed: f64,
    hardest: Vec<HardSpotJson<'a>>,
}

#[derive(Serialize, Debug)]
struct HardSpotJson<'a> {
    tick: u64,
    bar: u32,
    beat: f64,
    written: String,
    pitch: u8,
    chance: f64,
    causes: Vec<CauseJson<'a>>,
}

impl<'a> CleanJson<'a> {
    /// The twin of a part's line.
    #[must_use]
    pub fn of(band: &'a Band, line: &'a CleanLine) -> Self {
        let part = band.part(line.part);
        Self {
            part: &part.name,
            notes: line.notes.len(),
            mean: thousandths(line.mean),
            missed: hundredths(line.missed),
            hardest: line.hardest.iter().map(|s| spot(part, s)).collect(),
        }
    }
}

fn spot<'a>(part: &Part, spot: &'a HardSpot) -> HardSpotJson<'a> {
    HardSpotJson {
        tick: spot.at.0,
        bar: spot.place.bar.0,
        beat: thousandths(spot.place.beat),
        written: part
            .instrument
            .transposition
            .written(spot.pitch)
            .to_string(),
        pitch: spot.pitch.midi(),
        chance: thousandths(spot.chance.value),
        causes: causes(&spot.chance.causes),
    }
}
