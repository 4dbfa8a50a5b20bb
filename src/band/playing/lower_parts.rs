//! How high the lower parts of a section go (`presets/playing/lower-parts.toml`).

use super::rows;
use crate::band::instrument::{Family, Instrument};
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::band::limits::BELOW_THE_BREAK;
use crate::music::{Interval, Written};
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/playing/lower-parts.toml");

/// How clarinets of a part go over the break.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum OverTheBreak {
    /// They stay below it.
    No,
    /// By step only.
    ByStep,
    /// As they like.
    Yes,
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    part: Vec<Row>,
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    rank: u8,
    woodwind: i16,
    brass: i16,
    below_the_break_to: Level,
    by_step_to: Option<Level>,
    #[serde(rename = "source")]
    _source: String,
}

/// The row of a part; parts lower than those of the table have its last row.
fn row(rank: u8) -> Option<&'static Row> {
    static READ: OnceLock<Result<Table, TableError>> = OnceLock::new();
    let table = rows::cached(&READ, || rows::read::<Table>("lower-parts.toml", TABLE)).ok()?;
    let at_most = table.part.iter().filter(|r| r.rank <= rank.max(1));
    at_most.max_by_key(|r| r.rank)
}

/// How clarinets of a level go over the break on the part of a rank, 1 for the first part.
#[must_use]
pub fn over_the_break(level: Level, rank: u8) -> OverTheBreak {
    match row(rank) {
        Some(row) if level <= row.below_the_break_to => OverTheBreak::No,
        Some(row) if row.by_step_to.is_some_and(|to| level <= to) => OverTheBreak::ByStep,
        _ => OverTheBreak::Yes,
    }
}

/// The highest note, as the player reads it, that is usual for a level on the part of a rank (1 for
/// the first part): the level's own comfortable top, less what lower parts stay under it, and for
/// clarinets not over the break where they are not to cross it. Never under the comfortable range.
///
/// It is no hard limit: it tells who would be at home on a part, and what is easy there.
///
/// ```
/// use bandwright::band::{Level, find_instrument, playing::ceiling};
/// let trumpet = find_instrument("trumpet").unwrap();
/// let top = |rank| ceiling(&trumpet, Level::Advanced, rank).to_string();
/// assert_eq!([top(1), top(2), top(3)], ["G5", "E5", "D5"]);
/// ```
#[must_use]
pub fn ceiling(instrument: &Instrument, level: Level, rank: u8) -> Written {
    let comfortable = instrument.range(level).comfortable;
    let drop = row(rank).map_or(0, |row| match instrument.family {
        Family::Woodwind => row.woodwind,
        Family::Brass => row.brass,
        Family::String | Family::Percussion | Family::Electronic => 0,
    });
    let mut top = comfortable.high.up(Interval(-drop));
    let clarinet = instrument.id.starts_with("clarinet");
    if clarinet && over_the_break(level, rank) == OverTheBreak::No {
        top = top.min(BELOW_THE_BREAK);
    }
    top.max(comfortable.low)
}
