//! What spoke for and against a note being melody (`read --why`), for people and as JSON.

use crate::sketch::{Evidence, Line, ReadNote, Reading, Song};
use serde::Serialize;

/// How many reasons a line for people names on each side.
const REASONS: usize = 4;

/// What spoke for and against one note.
#[derive(Serialize, Debug)]
pub struct WhyJson {
    onset: u64,
    pitch: u8,
    track: usize,
    melody: bool,
    evidence: Vec<EvidenceJson>,
}

#[derive(Serialize, Debug)]
struct EvidenceJson {
    feature: &'static str,
    points: f64,
}

fn weighed(reading: &Reading) -> impl Iterator<Item = (&ReadNote, &Vec<Evidence>)> {
    let all = reading.notes.iter().zip(&reading.melody_evidence);
    all.filter(|(_, evidence)| !evidence.is_empty())
}

/// The evidence of all notes that were thought of; `None` if none was kept.
#[must_use]
pub fn melody_evidence(reading: &Reading) -> Option<Vec<WhyJson>> {
    let one = |(note, evidence): (&ReadNote, &Vec<Evidence>)| WhyJson {
        onset: note.onset.0,
        pitch: note.pitch.midi(),
        track: note.track,
        melody: note.line == Line::Melody,
        evidence: evidence.iter().map(evidence_json).collect(),
    };
    let kept = !reading.melody_evidence.is_empty();
    kept.then(|| weighed(reading).map(one).collect())
}

fn evidence_json(evidence: &Evidence) -> EvidenceJson {
    EvidenceJson {
        feature: evidence.feature,
        points: (f64::from(evidence.points) * 100.0).round() / 100.0,
    }
}

/// For each melody note a line with what spoke most for it and against it.
#[must_use]
pub fn why_report(song: &Song, reading: &Reading) -> String {
    let melody = weighed(reading).filter(|(note, _)| note.line == Line::Melody);
    let rows = melody.map(|(note, evidence)| {
        let named = |sign: f32| {
            let of_sign = evidence.iter().filter(|e| e.points * sign > 0.0);
            let words = of_sign.take(REASONS);
            let words = words.map(|e| format!("{} {:+.1}", e.feature, e.points));
            words.collect::<Vec<_>>().join(", ")
        };
        format!(
            "{:<14} {:<4} {:.2}  for: {}; against: {}",
            song.meters.place(note.onset).to_string(),
            note.pitch.to_string(),
            note.confidence,
            named(1.0),
            named(-1.0)
        )
    });
    let head = "melody, how sure, and what spoke most for each note and against it:".to_owned();
    std::iter::once(head)
        .chain(rows)
        .collect::<Vec<_>>()
        .join("\n")
}
