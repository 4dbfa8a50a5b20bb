//! Parts heard alone that the director never wants heard alone.

use super::finding::{Finding, Severity};
use super::limits_check::PartCheck;
use crate::band::{Band, Exposure, PartId, is_weak_alone};
use crate::music::{MeterMap, PitchClass, Tick};
use crate::score::{DraftNote, PartLine, Role};
use crate::sketch::{Line, Reading};
use std::collections::{BTreeMap, BTreeSet};

const REMEDY: &str = "Let another part play with it, or rest.";

/// Every note during which, somewhere, nothing else of the band sounds.
pub(super) fn alone_in_sound(
    check: &PartCheck<'_>,
    line: &PartLine,
    lines: &[PartLine],
) -> Vec<Finding> {
    if check.part.remarks.exposure != Exposure::Never {
        return Vec::new();
    }
    let others = lines.iter().filter(|l| l.part != line.part);
    let mut times: Vec<(Tick, Tick)> = others
        .flat_map(|l| &l.notes)
        .map(|n| (n.onset, n.end()))
        .collect();
    times.sort_unstable();
    let mut sounding: Vec<(Tick, Tick)> = Vec::new();
    for time in times {
        match sounding.last_mut().filter(|last| time.0 <= last.1) {
            Some(last) => last.1 = last.1.max(time.1),
            None => sounding.push(time),
        }
    }
    let alone = |note: &&DraftNote| {
        let next = sounding.partition_point(|s| s.0 <= note.onset);
        let here = next.checked_sub(1).and_then(|i| sounding.get(i));
        here.is_none_or(|s| s.1 < note.end())
    };
    let found = line.notes.iter().filter(alone);
    found
        .map(|n| {
            let message = "Nothing else sounds; the director never wants this part alone.";
            check.finding(n, "heard_alone", message.to_owned(), REMEDY)
        })
        .collect()
}

/// Every note of a second tune or a figure that no other part strikes with it, where the draft tells
/// what its notes are for.
pub(super) fn alone_on_lines(
    check: &PartCheck<'_>,
    line: &PartLine,
    lines: &[PartLine],
) -> Vec<Finding> {
    if check.part.remarks.exposure != Exposure::Never {
        return Vec::new();
    }
    let own = line.notes.iter();
    let own: Vec<&DraftNote> = own
        .filter(|n| matches!(n.role, Role::Counterline | Role::Figure))
        .collect();
    if own.is_empty() {
        return Vec::new();
    }
    let others = lines.iter().filter(|l| l.part != line.part);
    let struck: BTreeSet<(Tick, PitchClass)> = others
        .flat_map(|l| &l.notes)
        .map(|n| (n.onset, n.pitch.class()))
        .collect();
    own.into_iter()
        .filter(|n| !struck.contains(&(n.onset, n.pitch.class())))
        .map(|n| {
            let message = format!(
                "Carries the {} alone; the director never wants this part alone.",
                n.role
            );
            check.finding(n, "heard_alone", message, REMEDY)
        })
        .collect()
}

/// Notes of the sketch's tune and bass that only one part strikes (in any octave) which is never to
/// be heard alone, and stretches of the tune that one weak player has alone.
#[must_use]
pub fn check_carried_alone(
    band: &Band,
    lines: &[PartLine],
    reading: &Reading,
    meters: &MeterMap,
) -> Vec<Finding> {
    let exposed = |p: &crate::band::Part| p.remarks.exposure == Exposure::Never;
    if !band.parts.iter().any(|p| exposed(p) || is_weak_alone(p)) {
        return Vec::new();
    }
    let mut strikers: BTreeMap<(Tick, PitchClass), Vec<(PartId, DraftNote)>> = BTreeMap::new();
    for line in lines {
        for note in &line.notes {
            let here = strikers
                .entry((note.onset, note.pitch.class()))
                .or_default();
            if here.last().is_none_or(|(part, _)| *part != line.part) {
                here.push((line.part, *note));
            }
        }
    }
    let mut found = Vec::new();
    let mut weak: Vec<Option<(PartId, Tick)>> = Vec::new();
    for (line, what) in [(Line::Melody, "tune"), (Line::Bass, "bass")] {
        let mut told = BTreeSet::new();
        for note in reading.line(line) {
            let place = (note.onset, note.pitch.class());
            let only = match strikers.get(&place).map(Vec::as_slice) {
                Some([only]) if told.insert(place) => Some(only),
                _ => None,
            };
            let weakling = only.filter(|(part, _)| is_weak_alone(band.part(*part)));
            if line == Line::Melody {
                weak.push(weakling.map(|(part, own)| (*part, own.onset)));
            }
            if let Some((part, own)) = only.filter(|(part, _)| exposed(band.part(*part))) {
                let part = band.part(*part);
                let message =
                    format!("Carries the {what} alone; the director never wants this part alone.");
                let check = PartCheck { part, meters };
                found.push(check.finding(own, "heard_alone", message, REMEDY));
            }
        }
    }
    found.extend(weak_stretches(band, &weak, meters));
    found
}

/// A caution for every stretch of two notes of the tune and more that a weak player has alone.
fn weak_stretches(
    band: &Band,
    notes: &[Option<(PartId, Tick)>],
    meters: &MeterMap,
) -> Vec<Finding> {
    let part = |n: &Option<(PartId, Tick)>| n.map(|n| n.0);
    let stretches = notes.chunk_by(|a, b| part(a) == part(b));
    let long = stretches.filter(|s| s.len() >= 2);
    long.filter_map(|s| s.first().copied().flatten())
        .map(|(part, at)| Finding {
            severity: Severity::Caution,
            kind: "weak_alone",
            part: Some(band.part(part).name.clone()),
            at,
            place: meters.place(at),
            message: "One weak player has the tune alone.".to_owned(),
            remedy: "Let another part double it, or mark the part `exposed = \"may\"`.".to_owned(),
        })
        .collect()
}
