//! Fingerings of the double horn (`presets/playing/horn.toml`).

use super::intonation::{ValveLengths, Valves, partial_cents};
use super::rows;
use super::valves::valves;
use crate::band::instruments::TableError;
use crate::music::Written;
use serde::Deserialize;
use std::sync::OnceLock;

const NAME: &str = "horn.toml";
const TABLE: &str = include_str!("../../../presets/playing/horn.toml");

/// The two instruments in one.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum HornSide {
    /// The long side, in F.
    F,
    /// The short side, in B flat, with the thumb valve down.
    BFlat,
}

/// How a note is played on a double horn.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct HornFingering {
    /// The note as the player reads it.
    pub written: Written,
    /// The usual side.
    pub side: HornSide,
    /// The usual valves.
    pub valves: Valves,
    /// The partial it is, of that side.
    pub partial: u8,
    /// The fewest semitones of valve on the F side, where the note is there.
    pub f_side: Option<Valves>,
    /// The fewest semitones of valve on the B flat side, where the note is there.
    pub b_flat_side: Option<Valves>,
}

impl HornFingering {
    /// Cents that the note is sharp (negative: flat), each side's valves cut for that side, before
    /// lip and hand mend it.
    #[must_use]
    pub fn cents(&self, lengths: ValveLengths) -> f64 {
        partial_cents(self.partial) + lengths.cents(self.valves)
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    fingering: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    written: String,
    side: String,
    fingering: String,
    partial: u8,
    f_side: String,
    bb_side: String,
    #[serde(rename = "source")]
    _source: String,
}

/// The fingering of each note, lowest first.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn horn_fingerings() -> Result<&'static [HornFingering], TableError> {
    static READ: OnceLock<Result<Vec<HornFingering>, TableError>> = OnceLock::new();
    let all = rows::cached(&READ, || {
        let table: Table = rows::read(NAME, TABLE)?;
        table.fingering.iter().map(fingering).collect()
    })?;
    Ok(all)
}

fn fingering(row: &Row) -> Result<HornFingering, TableError> {
    let (side, usual) = on_a_side(&row.fingering)?;
    let word = match side {
        HornSide::F => "F",
        HornSide::BFlat => "Bb",
    };
    if row.side != word {
        return Err(TableError(format!("{NAME}: {}: two sides", row.written)));
    }
    Ok(HornFingering {
        written: rows::note(NAME, &row.written)?,
        side,
        valves: usual,
        partial: row.partial,
        f_side: if_there(&row.f_side)?,
        b_flat_side: if_there(&row.bb_side)?,
    })
}

/// A `T` (thumb) before the valves means the B flat side.
fn on_a_side(word: &str) -> Result<(HornSide, Valves), TableError> {
    Ok(match word.strip_prefix('T') {
        Some(pressed) => (HornSide::BFlat, valves(NAME, pressed)?),
        None => (HornSide::F, valves(NAME, word)?),
    })
}

fn if_there(word: &str) -> Result<Option<Valves>, TableError> {
    match word {
        "-" => Ok(None),
        word => on_a_side(word).map(|(_, v)| Some(v)),
    }
}

/// How a note is usually played; `None` outside the table.
pub(super) fn horn_fingering(written: Written) -> Option<&'static HornFingering> {
    let all = horn_fingerings().ok()?;
    all.iter().find(|f| f.written == written)
}
