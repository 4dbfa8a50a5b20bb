//! Reading `presets/playing/load.toml`.

use super::conditions::Start;
use super::muscle::Muscle;
use super::working::WorkingLimits;
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::band::playing::ByLevel;
use crate::music::Dynamic;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/load.toml");

/// What stands in for the words of the table where it cannot be read.
const DEFER: &str = "The director, local rules and medical advice decide.";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Table {
    muscle: MuscleRow,
    start: StartRow,
    pub rest: RestRow,
    pub effort: EffortRow,
    level: LevelRow,
    marching: MarchingRow,
    reserve: ReserveRow,
    stated: StatedRow,
    weight: Vec<WeightRow>,
    working: Vec<WorkingRow>,
    caution: Vec<CautionRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MuscleRow {
    fatigue: f64,
    recovery: f64,
    rest_multiplier: f64,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StartRow {
    fresh: f64,
    mid_programme: f64,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RestRow {
    /// Shorter gaps between notes count as load, seconds.
    pub shortest: f64,
    /// From this on a rest ends a stretch of continuous playing, seconds.
    pub recovering: f64,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct EffortRow {
    pub least: f64,
    pub most: f64,
    pub base: f64,
    pub height: f64,
    pub power: f64,
    pub dynamic: f64,
    pub steps: Steps,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Steps {
    pp: f64,
    p: f64,
    mp: f64,
    mf: f64,
    f: f64,
    ff: f64,
    fff: f64,
}

impl Steps {
    pub(super) fn of(&self, dynamic: Dynamic) -> f64 {
        match dynamic {
            Dynamic::Pp => self.pp,
            Dynamic::P => self.p,
            Dynamic::Mp => self.mp,
            Dynamic::Mf => self.mf,
            Dynamic::F => self.f,
            Dynamic::Ff => self.ff,
            Dynamic::Fff => self.fff,
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LevelRow {
    fatigue: ByLevel<f64>,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MarchingRow {
    effort: f64,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ReserveRow {
    low: f64,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StatedRow {
    section: f64,
    before_peak: f64,
    #[serde(rename = "source")]
    _source: String,
}

/// Loads (MF, 0 to 1) above which a reviewer marks something.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct StatedLoad {
    /// Of a section, the mean of its players.
    pub section: f64,
    /// Of a part that is about to carry the tune of a peak.
    pub before_peak: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WeightRow {
    instruments: Vec<String>,
    family: f64,
    instrument: f64,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
struct WorkingRow {
    level: Level,
    #[serde(flatten)]
    limits: WorkingLimits,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CautionRow {
    about: String,
    text: String,
    #[serde(rename = "source")]
    _source: String,
}

/// The table, read once.
pub(super) fn table() -> Result<&'static Table, TableError> {
    static READ: OnceLock<Result<Table, TableError>> = OnceLock::new();
    let read = READ.get_or_init(|| {
        let table: Table =
            toml::from_str(TABLE).map_err(|e| TableError(format!("load.toml: {e}")))?;
        let m = &table.muscle;
        if [m.fatigue, m.recovery, m.rest_multiplier]
            .iter()
            .any(|v| *v <= 0.0)
        {
            return Err(TableError(
                "load.toml: a muscle's values are above zero".to_owned(),
            ));
        }
        Ok(table)
    });
    read.as_ref().map_err(Clone::clone)
}

/// The lips of a player of a level: tiring faster the less they are trained.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn muscle_of(level: Level) -> Result<Muscle, TableError> {
    let table = table()?;
    let muscle = Muscle {
        fatigue: table.muscle.fatigue,
        recovery: table.muscle.recovery,
        rest_multiplier: table.muscle.rest_multiplier,
    };
    Ok(muscle.tiring(table.level.fatigue.at(level)))
}

/// The reserve from which on, downwards, a part counts as near its limit.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn low_reserve() -> Result<f64, TableError> {
    Ok(table()?.reserve.low)
}

/// The loads above which a reviewer marks something.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn stated_load() -> Result<StatedLoad, TableError> {
    let row = &table()?.stated;
    Ok(StatedLoad {
        section: row.section,
        before_peak: row.before_peak,
    })
}

/// What share of the model's effort the lips on an instrument bear; `None` without lips at work.
pub(super) fn weight(id: &str) -> Result<Option<f64>, TableError> {
    let mut rows = table()?.weight.iter();
    let row = rows.find(|w| w.instruments.iter().any(|i| i == id));
    Ok(row.map(|w| w.family * w.instrument))
}

/// Gaps between notes that are shorter count as load, seconds.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn shortest_rest() -> Result<f64, TableError> {
    Ok(table()?.rest.shortest)
}

/// By how much marching raises an effort.
pub(super) fn marching() -> Result<f64, TableError> {
    Ok(table()?.marching.effort)
}

/// Tired at the first note, 0 to 1.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn start(start: Start) -> Result<f64, TableError> {
    let row = &table()?.start;
    Ok(match start {
        Start::Fresh => row.fresh,
        Start::MidProgramme => row.mid_programme,
    })
}

/// The working limits of a level, standing still.
pub(super) fn working(level: Level) -> Result<WorkingLimits, TableError> {
    let row = table()?.working.iter().find(|w| w.level == level);
    row.map(|w| w.limits)
        .ok_or_else(|| TableError(format!("load.toml: nothing of `{}`", level.word())))
}

/// What a caution is about.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Caution {
    /// The reserve runs out, or there are too few rests.
    Reserve,
    /// Long or loud playing high on brass.
    High,
    /// Marching while playing.
    Marching,
}

/// The words of a caution, one or a few sentences.
#[must_use]
pub fn caution(about: Caution) -> &'static str {
    let word = match about {
        Caution::Reserve => "reserve",
        Caution::High => "high",
        Caution::Marching => "marching",
    };
    let rows = table().map(|t| t.caution.as_slice()).unwrap_or_default();
    let row = rows.iter().find(|c| c.about == word);
    row.map_or(DEFER, |c| c.text.as_str())
}
