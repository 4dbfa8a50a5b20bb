//! What the arranger rules of the tune, held against a draft: from the sketch, the rules and the notes
//! alone.

use super::finding::{Finding, Severity};
use crate::band::{Band, Part};
use crate::music::{MeterMap, Sounding, Tick};
use crate::score::{MelodyChange, PartLine, Role, TuneRules};
use crate::sketch::{Line, ReadNote, Reading};

/// The tune of a sketch, with the rules for it and what a draft says it changed.
#[derive(Clone, Copy, Debug)]
pub struct TuneSheet<'a> {
    /// What was read.
    pub reading: &'a Reading,
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// The rules.
    pub rules: &'a TuneRules,
    /// The changes that the draft lists.
    pub changes: &'a [MelodyChange],
}

/// So many parts are named as nearest to what stays as written.
const NEAREST: usize = 3;

/// Where a draft breaks the rules of the tune, what of it that stays as written nobody plays, and
/// which notes were changed. In that order, each by time.
#[must_use]
pub fn check_tune(band: &Band, lines: &[PartLine], sheet: &TuneSheet<'_>) -> Vec<Finding> {
    let mut found = sheet.moved(band, lines);
    found.extend(sheet.not_as_written(band, lines));
    found.extend(sheet.changed(band, lines));
    found
}

impl TuneSheet<'_> {
    /// Whether a draft lists a note as changed, and so plays it.
    pub(super) fn is_changed(&self, lines: &[PartLine], onset: Tick, sketch: Sounding) -> bool {
        let mut of_note = self
            .changes
            .iter()
            .filter(|c| c.onset == onset && c.sketch == sketch);
        of_note.any(|c| is_played(lines, c))
    }

    /// Whether a note of a draft stands where a change is listed.
    pub(super) fn is_instead(&self, line: &PartLine, onset: Tick, pitch: Sounding) -> bool {
        let here = self.changes.iter().filter(|c| c.onset == onset);
        here.flat_map(|c| &c.parts)
            .any(|p| *p == (line.part, pitch))
    }

    /// Notes of the tune where it stays as written that are in another octave.
    fn moved(&self, band: &Band, lines: &[PartLine]) -> Vec<Finding> {
        let mut found = Vec::new();
        for line in lines {
            for note in line
                .notes
                .iter()
                .filter(|n| n.role == Role::Melody && !n.locked)
            {
                let stays = self.rules.is_as_written(note.onset, self.meters);
                let mut tune = self.tune().filter(|t| t.onset == note.onset);
                if !stays || tune.any(|t| t.pitch == note.pitch) {
                    continue;
                }
                found.push(Finding {
                    severity: Severity::OutOfLimit,
                    kind: "tune_moved",
                    part: Some(band.part(line.part).name.clone()),
                    at: note.onset,
                    place: self.meters.place(note.onset),
                    message: format!("{} is not as the tune is written here.", note.pitch),
                    remedy: "Play it as the sketch has it, or give it to another part.".to_owned(),
                });
            }
        }
        found
    }

    fn tune(&self) -> impl Iterator<Item = &ReadNote> {
        self.reading.line(Line::Melody)
    }

    /// Stretches of bars in which notes that stay as written are played by nobody so.
    fn not_as_written(&self, band: &Band, lines: &[PartLine]) -> Vec<Finding> {
        let played = |n: &ReadNote| {
            let mut all = lines.iter().flat_map(|l| &l.notes);
            all.any(|own| own.onset == n.onset && own.pitch == n.pitch)
        };
        let lost: Vec<&ReadNote> = self
            .tune()
            .filter(|n| self.rules.is_as_written(n.onset, self.meters))
            .filter(|n| !played(n))
            .collect();
        let bar = |n: &ReadNote| self.meters.bar(n.onset).0;
        lost.chunk_by(|a, b| bar(a) + 1 >= bar(b))
            .filter_map(|notes| self.lost(band, notes))
            .collect()
    }

    fn lost(&self, band: &Band, notes: &[&ReadNote]) -> Option<Finding> {
        let (first, last) = (notes.first()?, notes.last()?);
        let (from, to) = (self.meters.bar(first.onset), self.meters.bar(last.onset));
        let bars = if from == to {
            format!("Bar {from}")
        } else {
            format!("Bars {from}-{to}")
        };
        let mut names: Vec<String> = Vec::new();
        for note in notes {
            let name = note.pitch.to_string();
            if !names.contains(&name) {
                names.push(name);
            }
        }
        Some(Finding {
            severity: Severity::Loss,
            kind: "tune_not_as_written",
            part: None,
            at: first.onset,
            place: self.meters.place(first.onset),
            message: format!(
                "{bars}: the tune stays as written, but nobody can play {} so.",
                names.join(", ")
            ),
            remedy: format!("Nearest: {}.", nearest(band, notes)),
        })
    }

    /// What was changed, and what was changed that must not be.
    fn changed(&self, band: &Band, lines: &[PartLine]) -> Vec<Finding> {
        let told = |c: &MelodyChange| {
            let new = c.new?;
            let names: Vec<&str> = c
                .parts
                .iter()
                .map(|p| band.part(p.0).name.as_str())
                .collect();
            let place = self.meters.place(c.onset);
            let allowed = self.rules.may_change(c.onset, self.meters) && is_played(lines, c);
            let (severity, remedy) = if allowed {
                let beat = (place.beat * 1000.0).round() / 1000.0;
                let word = format!("To have it back: --restore {}:{beat}.", place.bar);
                (Severity::Caution, word)
            } else {
                let word = "The tune may not be changed here; play it as the sketch has it.";
                (Severity::OutOfLimit, word.to_owned())
            };
            Some(Finding {
                severity,
                kind: "melody_changed",
                part: names.first().map(|n| (*n).to_owned()),
                at: c.onset,
                place,
                message: format!(
                    "The tune's {} is changed to {new} ({}): {}.",
                    c.sketch,
                    names.join(", "),
                    c.reason
                ),
                remedy,
            })
        };
        self.changes.iter().filter_map(told).collect()
    }
}

/// Whether all who are listed with a change play it.
fn is_played(lines: &[PartLine], change: &MelodyChange) -> bool {
    let plays = |(part, pitch): &(crate::band::PartId, Sounding)| {
        let mut own = lines
            .iter()
            .filter(|l| l.part == *part)
            .flat_map(|l| &l.notes);
        own.any(|n| n.onset == change.onset && n.pitch == *pitch)
    };
    change.new.is_some() && !change.parts.is_empty() && change.parts.iter().all(plays)
}

/// The parts that miss some notes by the fewest semitones.
fn nearest(band: &Band, notes: &[&ReadNote]) -> String {
    let mut all: Vec<(u8, &Part)> = band.parts.iter().map(|p| (short(p, notes), p)).collect();
    all.sort_by_key(|(short, _)| *short);
    let told = all.iter().take(NEAREST).map(|(short, part)| match short {
        0 => format!("{} (reaches them, but is not free)", part.name),
        1 => format!("{} (1 semitone short)", part.name),
        _ => format!("{} ({short} semitones short)", part.name),
    });
    told.collect::<Vec<_>>().join(", ")
}

/// By how many semitones a part misses the farthest of some notes.
fn short(part: &Part, notes: &[&ReadNote]) -> u8 {
    let (low, high) = (part.limits.range.low.midi(), part.limits.range.high.midi());
    let by = |n: &&ReadNote| {
        let pitch = n.pitch.midi();
        low.saturating_sub(pitch).max(pitch.saturating_sub(high))
    };
    notes.iter().map(by).max().unwrap_or(0)
}
