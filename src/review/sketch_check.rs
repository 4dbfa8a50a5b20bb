//! A draft held against its sketch: tune and bass carried, no foreign tones.

use super::finding::{Finding, Severity};
use super::heard::Heard;
use super::tune_check::TuneSheet;
use crate::band::Band;
use crate::music::{MeterMap, Sounding, Tick};
use crate::score::{DraftNote, PartLine};
use crate::sketch::{Line, ReadNote};
use std::collections::BTreeSet;

/// What of the sketch is lost in a draft: notes of the tune and the bass that no part plays at
/// their time (in any octave), and notes of the draft foreign to what the sketch sounds. What is
/// listed as changed of the tune, and played so, is neither.
#[must_use]
pub fn check_against_sketch(
    band: &Band,
    lines: &[PartLine],
    sheet: &TuneSheet<'_>,
) -> Vec<Finding> {
    let (reading, meters) = (sheet.reading, sheet.meters);
    let mut found = not_carried(lines, sheet, Line::Melody);
    found.extend(not_carried(lines, sheet, Line::Bass));
    let heard = Heard::of(reading);
    for line in lines {
        let foreign = line
            .notes
            .iter()
            .filter(|n| !sheet.is_instead(line, n.onset, n.pitch))
            .filter_map(|n| heard.foreign(n).map(|at| (n, at)));
        let name = &band.part(line.part).name;
        found.extend(foreign.map(|(n, at)| foreign_finding(name, n, at, meters)));
    }
    found
}

fn not_carried(lines: &[PartLine], sheet: &TuneSheet<'_>, line: Line) -> Vec<Finding> {
    let (reading, meters) = (sheet.reading, sheet.meters);
    let played: BTreeSet<(Tick, u8)> = lines
        .iter()
        .flat_map(|l| &l.notes)
        .map(|n| (n.onset, n.pitch.class().number()))
        .collect();
    let changed = |n: &ReadNote| line == Line::Melody && sheet.is_changed(lines, n.onset, n.pitch);
    let lost =
        |n: &&ReadNote| !played.contains(&(n.onset, n.pitch.class().number())) && !changed(n);
    let (kind, what) = if line == Line::Melody {
        ("melody_lost", "tune")
    } else {
        ("bass_lost", "bass")
    };
    // Bass notes in octaves count as one.
    let mut onsets = BTreeSet::new();
    let notes = reading
        .line(line)
        .filter(lost)
        .filter(|n| onsets.insert((n.onset, n.pitch.class().number())));
    notes
        .map(|n| Finding {
            severity: Severity::Loss,
            kind,
            part: None,
            at: n.onset,
            place: meters.place(n.onset),
            message: format!("No part plays the {what}'s {}.", n.pitch),
            remedy: "Give it to a part that is free and can reach it.".to_owned(),
        })
        .collect()
}

fn foreign_finding(part: &str, note: &DraftNote, at: Tick, meters: &MeterMap) -> Finding {
    let name: Sounding = note.pitch;
    let remedy = if note.locked {
        "It is locked and was kept as it is."
    } else {
        "Take a tone of the sketch."
    };
    Finding {
        severity: Severity::Caution,
        kind: "foreign_tone",
        part: Some(part.to_owned()),
        at,
        place: meters.place(at),
        message: format!("{name} sounds where the sketch has none."),
        remedy: remedy.to_owned(),
    }
}
