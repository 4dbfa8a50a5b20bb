//! Players of two instruments: never both at once, and time to change between them.

use super::finding::Finding;
use super::limits_check::{PartCheck, Sheet};
use crate::band::{PartId, shared_players};
use crate::music::{BarNumber, MeterMap, Tick};
use crate::score::DraftNote;

/// Seconds to change instruments (ours; common practice, no source),
const SECONDS: f64 = 8.0;
/// and bars: whichever is longer.
const BARS: f64 = 2.0;
/// Rounding, in seconds and in bars.
const ROUNDING: f64 = 0.001;

/// Every note of a part that comes while its players sound their other instrument, or too soon
/// after it.
pub(super) fn check_doubles(sheet: &Sheet<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for (main, second) in shared_players(sheet.band) {
        let of = |part: PartId| {
            let line = sheet.lines.iter().find(|l| l.part == part);
            line.map_or(&[][..], |l| &l.notes)
        };
        let mut all: Vec<(PartId, &DraftNote)> = of(main).iter().map(|n| (main, n)).collect();
        all.extend(of(second).iter().map(|n| (second, n)));
        all.sort_by_key(|(part, n)| (n.onset, n.end(), *part));
        // For each of the two the note that ends last so far.
        let mut last: [Option<&DraftNote>; 2] = [None, None];
        for (part, note) in all {
            let own = usize::from(part == second);
            let other = [second, main][own];
            if let Some(before) = last[1 - own].filter(|b| !is_time(sheet, b.end(), note.onset)) {
                found.push(finding(sheet, part, other, before, note));
            }
            if last[own].is_none_or(|l| l.end() < note.end()) {
                last[own] = Some(note);
            }
        }
    }
    found
}

fn is_time(sheet: &Sheet<'_>, end: Tick, onset: Tick) -> bool {
    let seconds = sheet.tempo.seconds(onset) - sheet.tempo.seconds(end);
    let bars = bars(sheet.meters, onset) - bars(sheet.meters, end);
    onset >= end && seconds >= SECONDS - ROUNDING && bars >= BARS - ROUNDING
}

/// A place in bars, with the share of its bar that has passed.
fn bars(meters: &MeterMap, at: Tick) -> f64 {
    let bar = meters.bar(at);
    let start = meters.bar_start(bar);
    let length = meters.bar_start(BarNumber(bar.0.saturating_add(1)));
    let share = at.since(start).0 as f64 / (length.since(start).0 as f64).max(1.0);
    f64::from(bar.0) + share
}

fn finding(
    sheet: &Sheet<'_>,
    part: PartId,
    other: PartId,
    before: &DraftNote,
    note: &DraftNote,
) -> Finding {
    let name = &sheet.band.part(other).name;
    let message = if before.end() > note.onset {
        format!("Its players sound {name} at the same time.")
    } else {
        format!("Its players come from {name} with less than two bars or eight seconds to change.")
    };
    let both = DraftNote {
        locked: note.locked && before.locked,
        ..*note
    };
    let check = PartCheck {
        part: sheet.band.part(part),
        meters: sheet.meters,
    };
    let remedy = "Let one of the two rest for longer.";
    check.finding(&both, "two_instruments", message, remedy)
}
