//! Registers of the clarinets and what it costs to go over the break
//! (`presets/playing/clarinet-break.toml`).

use super::by_level::ByLevel;
use super::rows;
use crate::band::instruments::TableError;
use crate::music::Written;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/clarinet-break.toml");

/// A register of the clarinets.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Register {
    /// Its name.
    pub name: String,
    /// Lowest note.
    pub low: Written,
    /// Highest note.
    pub high: Written,
    /// How it sounds and plays.
    pub character: String,
}

/// Going from one stretch of notes to another, in either direction.
#[derive(Clone, PartialEq, Debug)]
pub struct Crossing {
    /// The lower notes.
    pub lower: (Written, Written),
    /// The upper notes.
    pub upper: (Written, Written),
    /// What makes it hard.
    pub kind: String,
    /// 0 nothing, 1 mild, 2 hard, 3 to be avoided, for each level.
    pub cost: ByLevel<u8>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    register: Vec<RegisterRow>,
    crossing: Vec<CrossingRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RegisterRow {
    name: String,
    low: String,
    high: String,
    character: String,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CrossingRow {
    lower: [String; 2],
    upper: [String; 2],
    kind: String,
    cost: ByLevel<u8>,
    #[serde(rename = "source")]
    _source: String,
}

type Both = (Vec<Register>, Vec<Crossing>);

fn tables() -> Result<&'static Both, TableError> {
    static READ: OnceLock<Result<Both, TableError>> = OnceLock::new();
    rows::cached(&READ, || {
        let table: Table = rows::read("clarinet-break.toml", TABLE)?;
        let registers: Result<_, _> = table.register.into_iter().map(register).collect();
        let crossings: Result<_, _> = table.crossing.into_iter().map(one_crossing).collect();
        Ok((registers?, crossings?))
    })
}

fn register(row: RegisterRow) -> Result<Register, TableError> {
    let (low, high) = rows::span("clarinet-break.toml", &[row.low, row.high])?;
    Ok(Register {
        name: row.name,
        low,
        high,
        character: row.character,
    })
}

fn one_crossing(row: CrossingRow) -> Result<Crossing, TableError> {
    Ok(Crossing {
        lower: rows::span("clarinet-break.toml", &row.lower)?,
        upper: rows::span("clarinet-break.toml", &row.upper)?,
        kind: row.kind,
        cost: row.cost,
    })
}

/// The registers of the clarinets, lowest first.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn registers() -> Result<&'static [Register], TableError> {
    Ok(&tables()?.0)
}

/// All crossings that the table knows.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn crossings() -> Result<&'static [Crossing], TableError> {
    Ok(&tables()?.1)
}

/// The dearest crossing that two notes that follow one another make; `None` for an easy move.
#[must_use]
pub fn crossing(from: Written, to: Written) -> Option<&'static Crossing> {
    let (low, high) = (from.min(to), from.max(to));
    let holds = |(a, b): (Written, Written), note| a <= note && note <= b;
    let all = crossings().ok()?.iter();
    all.filter(|c| holds(c.lower, low) && holds(c.upper, high))
        .max_by_key(|c| c.cost.0)
}
