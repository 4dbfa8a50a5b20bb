//! The bands that come with the program, compiled in from `presets/bands`.

use super::nearest::suggestion;
use super::roster::Band;
use super::roster_file::{RosterError, read_band};
use thiserror::Error;

/// Names and rosters, smallest band first.
const PRESETS: [(&str, &str); 6] = [
    ("demo", include_str!("../../presets/bands/demo.toml")),
    ("thin", include_str!("../../presets/bands/thin.toml")),
    (
        "small-marching",
        include_str!("../../presets/bands/small-marching.toml"),
    ),
    (
        "medium-marching",
        include_str!("../../presets/bands/medium-marching.toml"),
    ),
    (
        "large-marching",
        include_str!("../../presets/bands/large-marching.toml"),
    ),
    ("concert", include_str!("../../presets/bands/concert.toml")),
];

/// Why a preset cannot be had.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum PresetError {
    /// There is none of this name.
    #[error("no preset band is named `{name}`{near}")]
    Unknown {
        /// The name asked for.
        name: String,
        /// `; did you mean …?`, or nothing.
        near: String,
    },
    /// Its roster is faulty (tests show that none is).
    #[error("preset `{name}`: {error}")]
    Faulty {
        /// The preset.
        name: String,
        /// What is wrong.
        error: RosterError,
    },
}

/// The names of all presets.
pub fn preset_names() -> impl Iterator<Item = &'static str> {
    PRESETS.iter().map(|(name, _)| *name)
}

/// The roster of a preset as text, to start one's own from.
///
/// # Errors
/// If there is none of this name; the nearest is suggested.
pub fn preset_source(name: &str) -> Result<&'static str, PresetError> {
    let found = PRESETS.iter().find(|(known, _)| *known == name);
    found
        .map(|(_, text)| *text)
        .ok_or_else(|| PresetError::Unknown {
            name: name.to_owned(),
            near: suggestion(name, preset_names()),
        })
}

/// A preset band.
///
/// # Errors
/// If there is none of this name; the nearest is suggested.
///
/// ```
/// use bandwright::band::preset;
/// let error = preset("smal-marching").unwrap_err().to_string();
/// assert!(error.ends_with("did you mean `small-marching`?"));
/// assert_eq!(preset("thin").unwrap().name, "Dry Creek School Band");
/// ```
pub fn preset(name: &str) -> Result<Band, PresetError> {
    read_band(preset_source(name)?).map_err(|error| PresetError::Faulty {
        name: name.to_owned(),
        error,
    })
}
