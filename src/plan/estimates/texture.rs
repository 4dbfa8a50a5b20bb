//! How loud and how full a passage is wanted, from its intensity (`presets/wanted-texture.toml`).

use super::powers::Powers;
use super::sums::loudness;
use crate::band::TableError;
use crate::band::loudness::Decibels;
use crate::plan::solve::PartRole;
use crate::score::Role;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/wanted-texture.toml");

/// How loud and how full.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Texture {
    /// How far under the whole band, dB: a difference of loudness that comes of who plays. How loud they
    /// play is the sketch's.
    pub below_tutti: Decibels,
    /// What share of the wind players plays, 0 to 1.
    pub players: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    step: Vec<Step>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Step {
    intensity: f64,
    below_tutti: f64,
    players: f64,
    #[serde(rename = "source")]
    _source: String,
}

fn steps() -> Result<&'static [Step], TableError> {
    static READ: OnceLock<Result<Vec<Step>, TableError>> = OnceLock::new();
    let read = READ.get_or_init(|| {
        let table: Table =
            toml::from_str(TABLE).map_err(|e| TableError(format!("wanted-texture.toml: {e}")))?;
        let rising = |a: &Step, b: &Step| a.intensity < b.intensity;
        match table.step.is_sorted_by(rising) && !table.step.is_empty() {
            true => Ok(table.step),
            false => Err(TableError(
                "wanted-texture.toml: the steps must go upwards".to_owned(),
            )),
        }
    });
    read.as_ref().map(Vec::as_slice).map_err(Clone::clone)
}

/// How loud and how full a passage of an intensity (0 to 10) is wanted: straight lines between the
/// steps of the table, level beyond its ends.
///
/// ```
/// use bandwright::plan::estimates::wanted_texture;
/// let (hush, peak) = (wanted_texture(1.0).unwrap(), wanted_texture(10.0).unwrap());
/// assert!(hush.below_tutti > peak.below_tutti && hush.players < peak.players);
/// ```
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn wanted_texture(intensity: f64) -> Result<Texture, TableError> {
    let steps = steps()?;
    let after = steps.partition_point(|s| s.intensity <= intensity);
    let last = steps.len().saturating_sub(1);
    let (from, to) = (after.saturating_sub(1).min(last), after.min(last));
    let (from, to) = (&steps[from], &steps[to]);
    let span = to.intensity - from.intensity;
    let part = if span > 0.0 {
        ((intensity - from.intensity) / span).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let between = |a: f64, b: f64| a + (b - a) * part;
    Ok(Texture {
        below_tutti: Decibels(between(from.below_tutti, to.below_tutti)),
        players: between(from.players, to.players),
    })
}

impl Powers {
    /// How loud the passage would be if every part filled the chord at its middle: what the loudness
    /// of a way of scoring is held against.
    #[must_use]
    pub fn tutti(&self) -> Decibels {
        let all = PartRole {
            role: Role::Harmony,
            octave: 0,
        };
        loudness(self, &vec![all; self.len()])
    }

    /// How far some roles lie under the whole band, dB: infinite where nobody is heard, 0 where the
    /// whole band would not be.
    #[must_use]
    pub fn below_tutti(&self, roles: &[PartRole]) -> Decibels {
        self.tutti().above(loudness(self, roles))
    }
}
