//! The built-in table of instruments, compiled in from `presets/instruments.toml`.

use super::instrument::{Choir, Family, Instrument, LevelRange, WrittenRange};
use super::level::Level;
use super::nearest::nearest;
use super::playing::Playing;
use crate::music::{Transposition, Written};
use serde::Deserialize;
use std::sync::{Arc, OnceLock};
use thiserror::Error;

/// The table's text.
const TABLE: &str = include_str!("../../presets/instruments.toml");

/// What is wrong with a table of instruments.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("the table of instruments cannot be read: {0}")]
pub struct TableError(pub String);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    instrument: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    name: String,
    family: String,
    choir: String,
    key: String,
    transpose: i16,
    diatonic: i16,
    chromatic: i16,
    octave_change: i16,
    clef: String,
    gm_program: u8,
    musicxml_sound: String,
    professional: Professional,
    levels: Levels,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Professional {
    low: String,
    high: String,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Levels {
    first_year: LevelRow,
    second_year: LevelRow,
    intermediate: LevelRow,
    advanced: LevelRow,
    all_state: LevelRow,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LevelRow {
    comfortable: [String; 2],
    stretch: [String; 2],
    #[serde(rename = "basis")]
    _basis: String,
}

/// All instruments, in score order. The table is read once.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn instruments() -> Result<&'static [Arc<Instrument>], TableError> {
    static READ: OnceLock<Result<Vec<Arc<Instrument>>, TableError>> = OnceLock::new();
    match READ.get_or_init(|| read_instruments(TABLE)) {
        Ok(all) => Ok(all),
        Err(error) => Err(error.clone()),
    }
}

/// The instrument with an id; `None` if there is none.
#[must_use]
pub fn find_instrument(id: &str) -> Option<Arc<Instrument>> {
    let all = instruments().ok()?;
    all.iter().find(|i| i.id == id).cloned()
}

/// Names that bands use, with the instrument that most mean by them.
const USUAL: [(&str, &str); 12] = [
    ("clarinet", "clarinet_bb"),
    ("bass_clarinet", "clarinet_bass"),
    ("sax", "sax_alto"),
    ("alto_sax", "sax_alto"),
    ("tenor_sax", "sax_tenor"),
    ("baritone_sax", "sax_baritone"),
    ("bari_sax", "sax_baritone"),
    ("french_horn", "horn"),
    ("baritone", "baritone_bc"),
    ("marching_baritone", "marching_baritone_bc"),
    ("euphonium", "euphonium_bc"),
    ("bells", "glockenspiel"),
];

/// The known instrument id nearest to a word; `None` if none is like it.
#[must_use]
pub fn nearest_instrument(word: &str) -> Option<&'static str> {
    let all = instruments().ok()?;
    let word = word.trim().to_lowercase().replace([' ', '-'], "_");
    let usual = USUAL.iter().find(|(name, _)| *name == word);
    usual
        .map(|(_, id)| *id)
        .or_else(|| nearest(&word, all.iter().map(|i| i.id.as_str())))
}

/// Reads a table of instruments (columns: `presets/README.md`); the order of the table is the
/// score order.
///
/// # Errors
/// On text that is no such table, unreadable notes, ranges upside down or outside one another.
pub fn read_instruments(text: &str) -> Result<Vec<Arc<Instrument>>, TableError> {
    let table: Table = toml::from_str(text).map_err(|e| TableError(e.to_string()))?;
    let rows = table.instrument.into_iter().enumerate();
    rows.map(|(order, row)| instrument(order, row).map(Arc::new))
        .collect()
}

fn instrument(order: usize, row: Row) -> Result<Instrument, TableError> {
    let fail = |what: &str| TableError(format!("{}: {what}", row.id));
    if row.chromatic + 12 * row.octave_change != row.transpose {
        return Err(fail(
            "transpose is not chromatic plus twelve for each octave",
        ));
    }
    let diatonic_agrees = (12 * row.diatonic - 7 * row.chromatic).abs() <= 7;
    if !diatonic_agrees {
        return Err(fail("diatonic and chromatic do not go together"));
    }
    let family = family(&row.family).ok_or_else(|| fail("unknown family"))?;
    let choir = choir(&row.choir).ok_or_else(|| fail("unknown choir"))?;
    let professional = range(&row.id, &row.professional.low, &row.professional.high)?;
    let levels = levels(&row.id, &row.levels)?;
    for level in levels {
        if !inside(level.comfortable, level.stretch) || !inside(level.stretch, professional) {
            return Err(fail(
                "comfortable, stretch and professional must lie one in the other",
            ));
        }
    }
    Ok(Instrument {
        chordal: choir == Choir::Mallets && row.id != "timpani",
        wind: matches!(family, Family::Woodwind | Family::Brass),
        family,
        choir,
        transposition: Transposition::semitones(row.transpose),
        score_order: order,
        professional,
        levels,
        playing: Playing::of(&row.id)?,
        id: row.id,
        name: row.name,
        key: row.key,
        clef: row.clef,
        program: row.gm_program,
        sound_id: row.musicxml_sound,
    })
}

fn levels(id: &str, rows: &Levels) -> Result<[LevelRange; Level::ALL.len()], TableError> {
    let read = |row: &LevelRow| {
        Ok(LevelRange {
            comfortable: range(id, &row.comfortable[0], &row.comfortable[1])?,
            stretch: range(id, &row.stretch[0], &row.stretch[1])?,
        })
    };
    Ok([
        read(&rows.first_year)?,
        read(&rows.second_year)?,
        read(&rows.intermediate)?,
        read(&rows.advanced)?,
        read(&rows.all_state)?,
    ])
}

fn range(id: &str, low: &str, high: &str) -> Result<WrittenRange, TableError> {
    let note = |name: &str| -> Result<Written, TableError> {
        name.parse().map_err(|e| TableError(format!("{id}: {e}")))
    };
    let (low, high) = (note(low)?, note(high)?);
    if low > high {
        return Err(TableError(format!("{id}: {low} is above {high}")));
    }
    Ok(WrittenRange { low, high })
}

fn inside(inner: WrittenRange, outer: WrittenRange) -> bool {
    outer.low <= inner.low && inner.high <= outer.high
}

fn family(word: &str) -> Option<Family> {
    Some(match word {
        "woodwind" => Family::Woodwind,
        "brass" => Family::Brass,
        "string" => Family::String,
        "percussion" => Family::Percussion,
        "electronic" => Family::Electronic,
        _ => return None,
    })
}

fn choir(word: &str) -> Option<Choir> {
    Some(match word {
        "flutes" => Choir::Flutes,
        "clarinets" => Choir::Clarinets,
        "saxophones" => Choir::Saxophones,
        "low_reeds" => Choir::LowReeds,
        "trumpets" => Choir::Trumpets,
        "horns" => Choir::Horns,
        "trombones" => Choir::Trombones,
        "euphoniums" => Choir::Euphoniums,
        "basses" => Choir::Basses,
        "mallets" => Choir::Mallets,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_table_reads() {
        assert_eq!(read_instruments(TABLE).map(|all| all.len()), Ok(37));
    }
}
