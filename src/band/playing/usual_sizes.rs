//! How many players bands usually have (`presets/playing/usual-sizes.toml`).

use super::rows::{self, For};
use crate::band::instruments::TableError;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/usual-sizes.toml");

/// How large a marching band is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum BandSize {
    /// About 25 to 40 winds.
    Small,
    /// About 41 to 80.
    Medium,
    /// More.
    Large,
}

/// How many players of a kind of instruments bands usually have, fewest and most.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
pub struct UsualSize {
    /// Small bands.
    pub small: [u16; 2],
    /// Medium bands.
    pub medium: [u16; 2],
    /// Large bands.
    pub large: [u16; 2],
    /// Bands of 32, 64 and 120 winds, worked out.
    pub examples: [u16; 3],
    /// Bands of 75 to 400 as published.
    pub published: Option<[u16; 2]>,
}

impl UsualSize {
    /// Fewest and most players in bands of a size.
    #[must_use]
    pub const fn of(&self, size: BandSize) -> [u16; 2] {
        match size {
            BandSize::Small => self.small,
            BandSize::Medium => self.medium,
            BandSize::Large => self.large,
        }
    }
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    players: Vec<For<Row>>,
    winds: Winds,
}

#[derive(Clone, Deserialize)]
struct Row {
    #[serde(flatten)]
    sizes: UsualSize,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Winds {
    medium: u32,
    large: u32,
    #[serde(rename = "source")]
    _source: String,
}

fn table() -> Result<&'static Table, TableError> {
    static READ: OnceLock<Result<Table, TableError>> = OnceLock::new();
    rows::cached(&READ, || rows::read("usual-sizes.toml", TABLE))
}

/// How large a band with so many wind players counts.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn band_size(winds: u32) -> Result<BandSize, TableError> {
    let from = &table()?.winds;
    Ok(match winds {
        n if n >= from.large => BandSize::Large,
        n if n >= from.medium => BandSize::Medium,
        _ => BandSize::Small,
    })
}

/// Kinds of instruments and how many players they usually have.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn usual_sizes()
-> Result<impl Iterator<Item = (&'static [String], &'static UsualSize)>, TableError> {
    let rows = table()?.players.iter();
    Ok(rows.map(|r| (r.instruments.as_slice(), &r.row.sizes)))
}
