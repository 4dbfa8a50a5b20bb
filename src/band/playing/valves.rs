//! Fingerings of valved brass instruments (`presets/playing/valves.toml`).

use super::intonation::{ValveLengths, Valves, partial_cents};
use super::rows;
use crate::band::instruments::TableError;
use crate::music::{Interval, Written};
use serde::Deserialize;
use std::sync::OnceLock;

const NAME: &str = "valves.toml";
const TABLE: &str = include_str!("../../../presets/playing/valves.toml");

/// How what a player reads finds its row in the table of fingerings.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct ValveReading {
    /// Semitones from what the player reads up to the table's treble-clef note: 0 for treble clef,
    /// 14 for bass-clef baritones and euphoniums, 26 for tubas in B flat.
    pub up: Interval,
    /// Whether professional instruments have a fourth valve. It is used only below the reach of three,
    /// since many school instruments have none.
    pub fourth: bool,
}

/// How a note is fingered, as a treble-clef player reads it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fingering {
    /// The note.
    pub written: Written,
    /// The partial it is.
    pub partial: u8,
    /// The valves.
    pub valves: Valves,
    /// Other ways to play it: partial and valves.
    pub alternates: Vec<(u8, Valves)>,
    /// Whether it needs a fourth valve.
    pub fourth: bool,
}

impl Fingering {
    /// Cents that the note is sharp (negative: flat) before the player mends it.
    #[must_use]
    pub fn cents(&self, lengths: ValveLengths) -> f64 {
        partial_cents(self.partial) + lengths.cents(self.valves)
    }
}

/// A combination of three valves.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Combination {
    /// The valves.
    pub valves: Valves,
    /// How its pitch is said to be, in the trade's words.
    pub trade: String,
    /// What the player does about it.
    pub help: String,
}

/// A partial of an open instrument.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Partial {
    /// Its number.
    pub number: u8,
    /// The note as a treble-clef player reads it.
    pub open: Written,
    /// How its pitch is said to be, in the trade's words.
    pub trade: String,
}

/// All that the table says.
#[derive(Clone, PartialEq, Debug)]
pub struct ValveTable {
    /// Combinations of three valves, by semitones.
    pub combinations: Vec<Combination>,
    /// Partials of the open tube.
    pub partials: Vec<Partial>,
    /// The fingering of each note.
    pub fingerings: Vec<Fingering>,
    /// Tube lengths as another usual compromise has them.
    pub compromise: ValveLengths,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    valves: Vec<CombinationRow>,
    partial: Vec<PartialRow>,
    fingering: Vec<FingeringRow>,
    fourth: Vec<FourthRow>,
    compromise: Compromise,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CombinationRow {
    pressed: String,
    semitones: i16,
    trade: String,
    slide_help: String,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PartialRow {
    number: u8,
    open_written: String,
    trade: String,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FingeringRow {
    written: String,
    partial: u8,
    valves: String,
    alternates: Vec<String>,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FourthRow {
    written: String,
    partial: u8,
    valves: String,
    #[serde(rename = "source")]
    _source: String,
}

/// Shares of the open tube, as numerator and denominator.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Compromise {
    first: [f64; 2],
    second: [f64; 2],
    third: [f64; 2],
    #[serde(rename = "source")]
    _source: String,
}

/// The table.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn valve_table() -> Result<&'static ValveTable, TableError> {
    static READ: OnceLock<Result<ValveTable, TableError>> = OnceLock::new();
    rows::cached(&READ, || {
        let table: Table = rows::read(NAME, TABLE)?;
        let three = table.fingering.iter().map(fingering);
        let four = table.fourth.iter().map(fourth);
        let of = |share: [f64; 2]| share[0] / share[1];
        let c = table.compromise;
        Ok(ValveTable {
            combinations: table
                .valves
                .into_iter()
                .map(combination)
                .collect::<Result<_, _>>()?,
            partials: table
                .partial
                .into_iter()
                .map(partial)
                .collect::<Result<_, _>>()?,
            fingerings: three.chain(four).collect::<Result<_, _>>()?,
            compromise: ValveLengths([of(c.first), of(c.second), of(c.third), 0.0]),
        })
    })
}

/// Valves of a word.
pub(super) fn valves(table: &str, word: &str) -> Result<Valves, TableError> {
    Valves::of_word(word).ok_or_else(|| TableError(format!("{table}: no valves: `{word}`")))
}

fn combination(row: CombinationRow) -> Result<Combination, TableError> {
    let valves = valves(NAME, &row.pressed)?;
    if valves.semitones() != row.semitones {
        let wrong = format!(
            "{NAME}: `{}` is not {} semitones",
            row.pressed, row.semitones
        );
        return Err(TableError(wrong));
    }
    Ok(Combination {
        valves,
        trade: row.trade,
        help: row.slide_help,
    })
}

fn partial(row: PartialRow) -> Result<Partial, TableError> {
    Ok(Partial {
        number: row.number,
        open: rows::note(NAME, &row.open_written)?,
        trade: row.trade,
    })
}

fn fingering(row: &FingeringRow) -> Result<Fingering, TableError> {
    let alternates = row.alternates.iter().map(|word| alternate(word));
    Ok(Fingering {
        written: rows::note(NAME, &row.written)?,
        partial: row.partial,
        valves: valves(NAME, &row.valves)?,
        alternates: alternates.collect::<Result<_, _>>()?,
        fourth: false,
    })
}

/// `6:12` is partial 6 with valves 1 and 2; an `x7` behind it marks the flat seventh partial.
fn alternate(word: &str) -> Result<(u8, Valves), TableError> {
    let wrong = || TableError(format!("{NAME}: no partial and valves: `{word}`"));
    let (partial, pressed) = word.split_once(':').ok_or_else(wrong)?;
    let partial: u8 = partial.parse().map_err(|_| wrong())?;
    let pressed = match partial {
        7 => pressed.strip_suffix("x7").ok_or_else(wrong)?,
        _ => pressed,
    };
    Ok((partial, valves(NAME, pressed)?))
}

fn fourth(row: &FourthRow) -> Result<Fingering, TableError> {
    Ok(Fingering {
        written: rows::note(NAME, &row.written)?,
        partial: row.partial,
        valves: valves(NAME, &row.valves)?,
        alternates: Vec::new(),
        fourth: true,
    })
}

impl ValveReading {
    /// The usual fingering of what the player reads; `None` out of reach of the instrument's valves.
    #[must_use]
    pub fn fingering(self, written: Written) -> Option<&'static Fingering> {
        let row = written.up(self.up);
        let all = valve_table().ok()?.fingerings.iter();
        all.filter(|f| self.fourth || !f.fourth)
            .find(|f| f.written == row)
    }
}
