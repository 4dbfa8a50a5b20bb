//! Parts that have nothing to play.

use super::finding::{Finding, Severity};
use crate::band::{Band, Exposure, Part};
use crate::music::{MeterMap, Tick};
use crate::score::PartLine;

/// One caution that names every part that rests from beginning to end, and says of which of them the
/// remarks may be the cause; `None` if all play.
#[must_use]
pub fn silent_parts(band: &Band, lines: &[PartLine], meters: &MeterMap) -> Option<Finding> {
    let silent = lines.iter().filter(|line| line.notes.is_empty());
    let silent: Vec<&Part> = silent.map(|line| band.part(line.part)).collect();
    let names: Vec<&str> = silent.iter().map(|p| p.name.as_str()).collect();
    let told = silent.iter().filter(|p| is_held_back(p));
    let told: Vec<&str> = told.map(|p| p.name.as_str()).collect();
    let remedy = if told.is_empty() {
        "Write a passage for them yourself, or leave them out.".to_owned()
    } else {
        format!(
            "Write a passage for them yourself, or ask the director about the remarks of {}, which \
             may leave nothing to play.",
            told.join(", ")
        )
    };
    (!names.is_empty()).then(|| Finding {
        severity: Severity::Caution,
        kind: "silent_parts",
        part: None,
        at: Tick::ZERO,
        place: meters.place(Tick::ZERO),
        message: format!("Resting from beginning to end: {}.", names.join(", ")),
        remedy,
    })
}

/// Whether a part has a remark that can leave it nothing to play.
fn is_held_back(part: &Part) -> bool {
    let limits = part.limits;
    let remarks = &part.remarks;
    limits.max_speed.is_some()
        || limits.rests_every == Some(0)
        || limits.max_accidentals.is_some()
        || remarks.exposure == Exposure::Never
        || remarks.doubles.is_some()
}
