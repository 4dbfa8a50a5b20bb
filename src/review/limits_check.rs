//! The hard limits, checked from the notes and the band alone.

use super::alone_check::{alone_in_sound, alone_on_lines};
use super::doubles_check::check_doubles;
use super::finding::{Finding, Severity};
use super::key_check::too_many_accidentals;
use super::rest_check::too_long_on_end;
use crate::band::{Band, Part};
use crate::music::{KeySignature, MeterMap, TempoMap, Tick};
use crate::score::{DraftNote, PartLine};

/// So much sooner than the greatest speed allows a note may come, in seconds, for ticks and tempos
/// are rounded (ours).
const TOO_SOON: f64 = 0.001;

/// What is checked: the lines of a band, and the time and keys that they stand in.
#[derive(Clone, Copy, Debug)]
pub struct Sheet<'a> {
    /// The band.
    pub band: &'a Band,
    /// A line for every part.
    pub lines: &'a [PartLine],
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// Tempos.
    pub tempo: &'a TempoMap,
    /// Lists of concert keys in order, each lasting until the next of its list: those that a file
    /// writes, those that were found. A part is held to all of them.
    pub keys: &'a [&'a [(Tick, KeySignature)]],
}

/// Every place where a line is outside its part's hard limits: range, greatest leap and speed, on a
/// wind instrument one note at a time, rests, keys, never alone, and players who cannot play two
/// instruments at once. In the order of parts and notes; what is between two parts comes last.
#[must_use]
pub fn check_limits(sheet: &Sheet<'_>) -> Vec<Finding> {
    let of_line = |line: &PartLine| {
        let part = sheet.band.part(line.part);
        let meters = sheet.meters;
        let check = PartCheck { part, meters };
        let mut found: Vec<Finding> = line.notes.iter().filter_map(|n| check.range(n)).collect();
        found.extend(
            line.notes
                .windows(2)
                .filter_map(|w| check.leap(&w[0], &w[1])),
        );
        found.extend(check.overlaps(&line.notes));
        found.extend(check.speed(&line.notes, sheet.tempo));
        found.extend(too_long_on_end(&check, &line.notes));
        found.extend(too_many_accidentals(&check, &line.notes, sheet.keys));
        found.extend(alone_in_sound(&check, line, sheet.lines));
        found.extend(alone_on_lines(&check, line, sheet.lines));
        found.sort_by_key(|f| f.at);
        found
    };
    let mut found: Vec<Finding> = sheet.lines.iter().flat_map(of_line).collect();
    found.extend(check_doubles(sheet));
    found
}

/// A part that is checked.
pub(super) struct PartCheck<'a> {
    pub part: &'a Part,
    pub meters: &'a MeterMap,
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

    /// Notes that follow another too soon; of notes struck together the first counts.
    fn speed(&self, notes: &[DraftNote], tempo: &TempoMap) -> Vec<Finding> {
        let Some(most) = self.part.limits.max_speed else {
            return Vec::new();
        };
        let strikes: Vec<&[DraftNote]> = notes.chunk_by(|a, b| a.onset == b.onset).collect();
        let firsts = strikes.iter().filter_map(|s| s.first());
        let pairs = firsts.clone().zip(firsts.skip(1));
        let seconds = |n: &DraftNote| tempo.seconds(n.onset);
        pairs
            .filter(|(a, b)| seconds(b) - seconds(a) < 1.0 / most.0 - TOO_SOON)
            .map(|(a, b)| {
                let rate = 1.0 / (seconds(b) - seconds(a)).max(1e-9);
                let message = format!(
                    "{rate:.1} notes a second; the director asks for no more than {}.",
                    most.0
                );
                let both = DraftNote {
                    locked: a.locked && b.locked,
                    ..*b
                };
                let remedy = "Hold over, leave it out, or give the run to another part.";
                self.finding(&both, "too_fast", message, remedy)
            })
            .collect()
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

    pub(super) fn finding(
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
