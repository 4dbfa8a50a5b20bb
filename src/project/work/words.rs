//! Bars, parts and numbers of notes as sentences name them.

use crate::band::{Band, PartId};
use crate::music::BarNumber;

/// So many parts are named one by one; more are counted.
const NAMED: usize = 3;

/// Bars in words: `bar 12`, `bars 5-8`.
///
/// ```
/// use bandwright::music::BarNumber;
/// use bandwright::project::work::bars_in_words;
/// assert_eq!(bars_in_words((BarNumber(5), BarNumber(8))), "bars 5-8");
/// assert_eq!(bars_in_words((BarNumber(5), BarNumber(5))), "bar 5");
/// ```
#[must_use]
pub fn bars_in_words((first, last): (BarNumber, BarNumber)) -> String {
    if first == last {
        format!("bar {first}")
    } else {
        format!("bars {first}-{last}")
    }
}

/// Parts in words: up to three by their names, more by their number.
#[must_use]
pub fn parts_in_words(band: &Band, parts: &[PartId]) -> String {
    let names: Vec<&str> = parts
        .iter()
        .filter_map(|p| band.parts.get(p.0))
        .map(|p| p.name.as_str())
        .collect();
    match names.split_last() {
        Some((only, [])) => (*only).to_owned(),
        _ if names.len() == band.parts.len() => "all parts".to_owned(),
        Some((last, others)) if names.len() <= NAMED => {
            format!("{} and {last}", others.join(", "))
        }
        _ => format!("{} parts", names.len()),
    }
}

/// A number of notes: `a note`, `14 notes`.
pub(super) fn notes_in_words(count: usize) -> String {
    match count {
        1 => "a note".to_owned(),
        n => format!("{n} notes"),
    }
}

/// Whole octaves in words: `an octave higher`, `2 octaves lower`; `None` for none.
pub(super) fn octaves_in_words(octaves: i16) -> Option<String> {
    let side = if octaves > 0 { "higher" } else { "lower" };
    match octaves.unsigned_abs() {
        0 => None,
        1 => Some(format!("an octave {side}")),
        n => Some(format!("{n} octaves {side}")),
    }
}
