//! Parts that have nothing to play.

use super::finding::{Finding, Severity};
use crate::band::Band;
use crate::music::{MeterMap, Tick};
use crate::score::PartLine;

/// One caution that names every part that rests from beginning to end; `None` if all play.
#[must_use]
pub fn silent_parts(band: &Band, lines: &[PartLine], meters: &MeterMap) -> Option<Finding> {
    let silent = lines.iter().filter(|line| line.notes.is_empty());
    let names: Vec<&str> = silent
        .map(|line| band.part(line.part).name.as_str())
        .collect();
    (!names.is_empty()).then(|| Finding {
        severity: Severity::Caution,
        kind: "silent_parts",
        part: None,
        at: Tick::ZERO,
        place: meters.place(Tick::ZERO),
        message: format!("Resting from beginning to end: {}.", names.join(", ")),
        remedy: "Write a passage for them yourself, or leave them out.".to_owned(),
    })
}
