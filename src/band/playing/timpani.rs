//! The drums of a set of timpani (`presets/playing/timpani.toml`).

use super::rows;
use crate::band::instruments::TableError;
use crate::music::Written;
use serde::Deserialize;
use std::sync::OnceLock;

const NAME: &str = "timpani.toml";
const TABLE: &str = include_str!("../../../presets/playing/timpani.toml");

/// One kettledrum.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Drum {
    /// Its size across, in inches.
    pub inches: u8,
    /// Its lowest good note.
    pub low: Written,
    /// Its highest good note.
    pub high: Written,
    /// The smallest usual set that it is in.
    pub from_set_of: u8,
}

impl Drum {
    /// Whether it can be tuned to a note.
    #[must_use]
    pub fn reaches(&self, note: Written) -> bool {
        self.low <= note && note <= self.high
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    drum: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    inches: u8,
    from_set_of: u8,
    low: String,
    high: String,
    #[serde(rename = "source")]
    _source: String,
}

/// All drums, largest and lowest first; each next one lies higher at both ends.
///
/// # Errors
/// If the built-in table were unreadable or out of order (a test shows that it is not).
pub fn drums() -> Result<&'static [Drum], TableError> {
    static READ: OnceLock<Result<Vec<Drum>, TableError>> = OnceLock::new();
    let all = rows::cached(&READ, || {
        let table: Table = rows::read(NAME, TABLE)?;
        let drums: Result<Vec<Drum>, _> = table.drum.into_iter().map(drum).collect();
        let drums = drums?;
        let rising = |a: &Drum, b: &Drum| a.low < b.low && a.high < b.high;
        match drums.is_sorted_by(rising) {
            true => Ok(drums),
            false => Err(TableError(format!("{NAME}: the drums must go upwards"))),
        }
    })?;
    Ok(all)
}

fn drum(row: Row) -> Result<Drum, TableError> {
    let (low, high) = rows::span(NAME, &[row.low, row.high])?;
    Ok(Drum {
        inches: row.inches,
        low,
        high,
        from_set_of: row.from_set_of,
    })
}

/// The usual set of so many drums (2 to 5), lowest first; fewer where there are no more.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn set_of(count: u8) -> Result<Vec<Drum>, TableError> {
    let all = drums()?.iter().copied();
    Ok(all.filter(|d| d.from_set_of <= count).collect())
}

/// Which drum of a set is tuned to which of some notes, so that all of them are there at once without
/// tuning anew; `None` if they cannot be. The set is as [`drums`] orders it; notes that come twice
/// count once. The drums that are left over are free.
///
/// ```
/// use bandwright::band::playing::{set_of, tuning};
/// let set = set_of(4).unwrap();
/// let notes = ["F2", "Bb2", "C3", "F3"].map(|n| n.parse().unwrap());
/// let tuned = tuning(&set, &notes).unwrap();
/// assert_eq!(tuned.map(|(drum, _)| drum.inches).collect::<Vec<_>>(), [32, 29, 26, 23]);
/// ```
#[must_use]
pub fn tuning<'a>(
    set: &'a [Drum],
    notes: &[Written],
) -> Option<impl Iterator<Item = (&'a Drum, Written)> + use<'a>> {
    let mut notes = notes.to_vec();
    notes.sort_unstable();
    notes.dedup();
    // Each drum lies higher than the one before at both ends, so that of two drums the lower one
    // may always take the lower note; the first that reaches is then never a worse choice.
    let mut drums = set.iter();
    let pairs = notes.into_iter().map(|note| {
        let drum = drums.find(|d| d.reaches(note))?;
        Some((drum, note))
    });
    let pairs: Option<Vec<_>> = pairs.collect();
    Some(pairs?.into_iter())
}
