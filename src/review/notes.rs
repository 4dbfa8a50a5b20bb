//! Notes to the arranger on remarks that closed music to a part, or that others have to judge.

use super::finding::{Finding, Severity};
use super::key_check::{hard_keys, key_in_words};
use super::limits_check::Sheet;
use crate::band::{Part, shared_players};
use crate::music::{BarNumber, KeySignature, MeterMap, Tick};
use crate::score::{DraftNote, PartLine};

/// Cautions that follow from remarks: who rests because of a key, braces and injuries, which the
/// director and medical advice decide on, and players of two instruments. In the order of the parts,
/// those of two parts last.
#[must_use]
pub fn check_notes(sheet: &Sheet<'_>) -> Vec<Finding> {
    let notes = sheet.lines.iter().flat_map(|l| &l.notes);
    let end = notes.map(DraftNote::end).max().unwrap_or(Tick::ZERO);
    let of_line =
        |line: &PartLine| {
            let part = sheet.band.part(line.part);
            let mut found: Vec<Finding> = easy(part, sheet.meters).into_iter().collect();
            let hard = hard_keys(part, sheet.keys).into_iter();
            let rests = hard.filter(|(from, until, _)| {
                let inside = |n: &&DraftNote| n.onset < *until && n.end() > *from;
                *from < end && !line.notes.iter().any(|n| inside(&n))
            });
            found.extend(rests.map(|(from, until, key)| {
                key_rest(part, sheet.meters, (from, until.min(end)), key)
            }));
            found
        };
    let mut found: Vec<Finding> = sheet.lines.iter().flat_map(of_line).collect();
    for (main, second) in shared_players(sheet.band) {
        let (part, other) = (sheet.band.part(second), sheet.band.part(main));
        let at = Tick::ZERO;
        found.push(Finding {
            severity: Severity::Caution,
            kind: "same_players",
            part: Some(part.name.clone()),
            at,
            place: sheet.meters.place(at),
            message: format!(
                "Its players also play {0}: one of the two rests.",
                other.name
            ),
            remedy: "Write a passage yourself for the one that matters more.".to_owned(),
        });
    }
    found
}

/// The caution that goes with braces and injuries.
fn easy(part: &Part, meters: &MeterMap) -> Option<Finding> {
    let why = part.remarks.go_easy?;
    let at = Tick::ZERO;
    Some(Finding {
        severity: Severity::Caution,
        kind: "go_easy",
        part: Some(part.name.clone()),
        at,
        place: meters.place(at),
        message: why.caution().to_owned(),
        remedy: "Narrow the limits further with `highest`, `lowest`, `no_faster_than` and \
                 `rests_every` as they decide."
            .to_owned(),
    })
}

fn key_rest(
    part: &Part,
    meters: &MeterMap,
    (from, until): (Tick, Tick),
    key: KeySignature,
) -> Finding {
    let last = meters.bar(Tick(until.0.saturating_sub(1)));
    let bars = |first: BarNumber| format!("bars {first}-{last}");
    Finding {
        severity: Severity::Caution,
        kind: "key_rest",
        part: Some(part.name.clone()),
        at: from,
        place: meters.place(from),
        message: format!(
            "Rests in {}, written in {}: more than {} sharps or flats.",
            bars(meters.bar(from)),
            key_in_words(key),
            part.limits.max_accidentals.unwrap_or(0)
        ),
        remedy: "`bandwright keys` may find a better key.".to_owned(),
    }
}
