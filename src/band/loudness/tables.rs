//! Reading `presets/playing/loudness.toml`.

use crate::band::instruments::TableError;
use crate::band::playing::ByLevel;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/loudness.toml");

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Table {
    instrument: Vec<InstrumentRow>,
    register: Vec<Register>,
    pub soft_floor: SoftFloor,
    pub skill: Skill,
    pub bell: Bells,
    spectrum: Vec<Spectrum>,
    target: Vec<TargetRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct InstrumentRow {
    id: String,
    pub pp: f64,
    pub ff: f64,
    register: String,
    pub bell: Bell,
    spectrum: String,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Bell {
    Forward,
    Up,
    Back,
    AllRound,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Register {
    name: String,
    pub adds: [f64; 5],
    pub no_soft_bottom: bool,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SoftFloor {
    pub over: f64,
    pub under: f64,
    pub bottom: f64,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Skill {
    pub share: ByLevel<f64>,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Bells {
    pub forward: f64,
    pub up: f64,
    pub back: f64,
    pub all_round: f64,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Spectrum {
    name: String,
    /// At p and at ff.
    pub ratio: [f64; 2],
    pub even: f64,
    #[serde(rename = "source")]
    _source: String,
}

/// Where a line lies among the rest.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Situation {
    /// On top, in a rhythm and a family of its own.
    OnTop,
    /// On top of chords of its own family, or in their rhythm.
    SameFamily,
    /// Inside the texture.
    Inside,
    /// In the tenor or bass, under other parts.
    Low,
    /// A counterline against the tune.
    Counterline,
    /// The bass against all else.
    Bass,
}

impl Situation {
    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::OnTop => "on_top",
            Self::SameFamily => "same_family",
            Self::Inside => "inside",
            Self::Low => "low",
            Self::Counterline => "counterline",
            Self::Bass => "bass",
        }
    }
}

/// How far a line should stand above the rest, in dB (ours, no source: no published figures for bands
/// were found).
#[derive(Clone, Copy, PartialEq, Debug, Deserialize)]
pub struct Target {
    /// Under this it is covered.
    pub least: f64,
    /// From this on it stands out well.
    pub good: f64,
}

#[derive(Deserialize)]
struct TargetRow {
    situation: Situation,
    #[serde(flatten)]
    target: Target,
    #[serde(rename = "source")]
    _source: String,
}

/// What the table says of an instrument.
pub(super) struct Row {
    pub instrument: &'static InstrumentRow,
    pub register: &'static Register,
    pub spectrum: &'static Spectrum,
}

/// The table, read once.
pub(super) fn table() -> Result<&'static Table, TableError> {
    static READ: OnceLock<Result<Table, TableError>> = OnceLock::new();
    let read = READ.get_or_init(|| {
        toml::from_str(TABLE).map_err(|e| TableError(format!("loudness.toml: {e}")))
    });
    read.as_ref().map_err(Clone::clone)
}

/// The row of an instrument; `None` for what is left out of balance.
pub(super) fn row(id: &str) -> Result<Option<Row>, TableError> {
    let table = table()?;
    let Some(instrument) = table.instrument.iter().find(|r| r.id == id) else {
        return Ok(None);
    };
    let lacks = || TableError(format!("loudness.toml: `{id}` names what is not there"));
    let register = table
        .register
        .iter()
        .find(|r| r.name == instrument.register);
    let spectrum = table
        .spectrum
        .iter()
        .find(|s| s.name == instrument.spectrum);
    Ok(Some(Row {
        instrument,
        register: register.ok_or_else(lacks)?,
        spectrum: spectrum.ok_or_else(lacks)?,
    }))
}

/// How far a line should stand out where it lies so.
///
/// # Errors
/// If the built-in table were unreadable or lacked the situation (a test shows that it does not).
pub fn target(situation: Situation) -> Result<Target, TableError> {
    let row = table()?.target.iter().find(|t| t.situation == situation);
    row.map(|t| t.target)
        .ok_or_else(|| TableError(format!("loudness.toml: no `{}`", situation.word())))
}
