//! The hard limits, checked from the notes and the band alone.

use super::finding::{Finding, Severity};
use crate::band::{Band, Part};
use crate::music::MeterMap;
use crate::score::{DraftNote, PartLine};

/// Every place where a line is outside its part's hard limits: range, greatest leap, and, on a
/// wind instrument, one note at a time. In the order of parts and notes.
#[must_use]
pub fn check_limits(band: &Band, lines: &[PartLine], meters: &MeterMap) -> Vec<Finding> {
    let of_line = |line: &PartLine| {
        let part = band.part(line.part);
        let check = PartCheck { part, meters };
        let mut found: Vec<Finding> = line.notes.iter().filter_map(|n| check.range(n)).collect();
        found.extend(
            line.notes
                .windows(2)
                .filter_map(|w| check.leap(&w[0], &w[1])),
        );
        found.extend(check.overlaps(&line.notes));
        found.sort_by_key(|f| f.at);
        found
    };
    lines.iter().flat_map(of_line).collect()
}

struct PartCheck<'a> {
    part: &'a Part,
    meters: &'a MeterMap,
}

impl PartCheck<'_> {
    fn range(&self, note: &DraftNote) -> Option<Finding> {
        let range = self.part.limits.range;
        let written = |pitch| self.part.instrument.transposition.written(pitch);
        let (kind, side, limit) = if note.pitch > range.high {
            ("above_range", "above", range.high)
        } else if note.pitch < range.low {
            ("below_range", "below", range.low)
        } else {
            return None;
        };
        let message = format!(
            "Written {} is {side} {}, the limit of these players.",
            written(note.pitch),
            written(limit)
        );
        Some(self.finding(
            note,
            kind,
            message,
            "Move it by an octave, or give the passage to another part.",
        ))
    }

    fn leap(&self, before: &DraftNote, note: &DraftNote) -> Option<Finding> {
        let most = self.part.limits.max_leap?.size();
        let leap = before.pitch.distance(note.pitch);
        if u16::from(leap) <= most || before.onset == note.onset {
            return None;
        }
        let message =
            format!("A leap of {leap} semitones; the director asks for none over {most}.");
        Some(self.finding(
            note,
            "leap",
            message,
            "Take a nearer chord tone, or rest before it.",
        ))
    }

    fn overlaps(&self, notes: &[DraftNote]) -> Vec<Finding> {
        let mut found = Vec::new();
        let mut until = None;
        for note in notes {
            if until.is_some_and(|u| note.onset < u) && !self.part.instrument.chordal {
                let message = "Two notes at once; the part plays one at a time.".to_owned();
                found.push(self.finding(
                    note,
                    "two_notes",
                    message,
                    "Keep one, or give the other to another part.",
                ));
            }
            until = until.max(Some(note.end()));
        }
        found
    }

    fn finding(
        &self,
        note: &DraftNote,
        kind: &'static str,
        message: String,
        remedy: &str,
    ) -> Finding {
        let remedy = if note.locked {
            "It is locked and was kept as it is."
        } else {
            remedy
        };
        Finding {
            severity: Severity::OutOfLimit,
            kind,
            part: Some(self.part.name.clone()),
            at: note.onset,
            place: self.meters.place(note.onset),
            message,
            remedy: remedy.to_owned(),
        }
    }
}
