//! Why a note was taken for melody and a chord for what it is (`read --why`), for people and as
//! JSON.

use super::rounded::hundredths;
use crate::music::{BarNumber, KeySignature, Tick};
use crate::sketch::{ChordSpan, Evidence, Line, ReadNote, Reading, Song, chord_label, file_onset};
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

/// What spoke for a chord, and what else was near.
#[derive(Serialize, Debug)]
pub struct ChordWhyJson {
    score: Vec<EvidenceJson>,
    total: f64,
    rivals: Vec<RivalJson>,
}

#[derive(Serialize, Debug)]
struct RivalJson {
    label: String,
    root: u8,
    quality: &'static str,
    bass: u8,
    score: f64,
}

fn weighed(reading: &Reading) -> impl Iterator<Item = (&ReadNote, &Vec<Evidence>)> {
    let all = reading.notes.iter().zip(&reading.melody_evidence);
    all.filter(|(_, evidence)| !evidence.is_empty())
}

/// The evidence of all notes that were thought of.
#[must_use]
pub fn melody_evidence(song: &Song, reading: &Reading) -> Vec<WhyJson> {
    let one = |(note, evidence): (&ReadNote, &Vec<Evidence>)| WhyJson {
        onset: file_onset(song, note).0,
        pitch: note.pitch.midi(),
        track: note.track,
        melody: note.line == Line::Melody,
        evidence: evidence.iter().map(evidence_json).collect(),
    };
    weighed(reading).map(one).collect()
}

fn evidence_json(evidence: &Evidence) -> EvidenceJson {
    EvidenceJson {
        feature: evidence.feature,
        points: hundredths(f64::from(evidence.points)),
    }
}

/// The parts of a chord's score that are not zero.
fn parts(span: &ChordSpan) -> Vec<EvidenceJson> {
    let score = &span.score;
    let all = [
        ("explained", score.explained),
        ("foreign", score.foreign),
        ("missing", score.missing),
        ("rarity", score.rarity),
        ("bass", score.bass),
        ("key", score.key),
    ];
    let told = all
        .into_iter()
        .filter(|(_, points)| hundredths(f64::from(*points)) != 0.0);
    told.map(|(feature, points)| EvidenceJson {
        feature,
        points: hundredths(f64::from(points)),
    })
    .collect()
}

/// The score of a chord of the reading and its rivals.
#[must_use]
pub fn chord_why(reading: &Reading, span: &ChordSpan) -> ChordWhyJson {
    let key = reading.key(span.start);
    let key = key.map_or(KeySignature::C_MAJOR, |k| k.signature);
    let rivals = span.rivals.iter().flatten().map(|rival| RivalJson {
        label: rival.chord.label(key),
        root: rival.chord.root.number(),
        quality: rival.chord.quality.word(),
        bass: rival.chord.bass.number(),
        score: hundredths(f64::from(rival.score)),
    });
    ChordWhyJson {
        score: parts(span),
        total: hundredths(f64::from(span.score.total())),
        rivals: rivals.collect(),
    }
}

/// For each melody note a line with what spoke most for it and against it, and for each chord one
/// with its score and what was near; all bars where `bars` is empty.
#[must_use]
pub fn why_report(song: &Song, reading: &Reading, bars: &[(BarNumber, BarNumber)]) -> String {
    let wanted = |at: Tick| {
        let bar = song.meters.bar(at);
        bars.is_empty() || bars.iter().any(|(a, b)| (*a..=*b).contains(&bar))
    };
    let melody = weighed(reading).filter(|(note, _)| note.line == Line::Melody);
    let melody = melody.filter(|(note, _)| wanted(note.onset));
    let chords = reading.chords.iter().filter(|c| wanted(c.start));
    let mut rows = vec![
        String::new(),
        "melody, how sure, and what spoke most for each note and against it".to_owned(),
    ];
    rows.extend(melody.map(|(note, evidence)| note_row(song, note, evidence)));
    rows.push(String::new());
    rows.push("chords, the parts of their scores, and what else was near".to_owned());
    rows.extend(chords.map(|span| chord_row(song, reading, span)));
    rows.join("\n")
}

fn note_row(song: &Song, note: &ReadNote, evidence: &[Evidence]) -> String {
    let named = |sign: f32| {
        let of_sign = evidence.iter().filter(|e| e.points * sign > 0.0);
        let words = of_sign.take(REASONS).map(|e| {
            let word = e.feature.replace('_', " ");
            format!("{word} {:+.1}", e.points)
        });
        let words: Vec<String> = words.collect();
        if words.is_empty() {
            "nothing".to_owned()
        } else {
            words.join(", ")
        }
    };
    format!(
        "{:<16} {:<4} {:.2}  for: {}; against: {}",
        song.meters.place(note.onset).to_string(),
        note.pitch.to_string(),
        note.confidence,
        named(1.0),
        named(-1.0)
    )
}

fn chord_row(song: &Song, reading: &Reading, span: &ChordSpan) -> String {
    let why = chord_why(reading, span);
    let parts = why
        .score
        .iter()
        .map(|p| format!("{} {:+.1}", p.feature, p.points));
    let near = why
        .rivals
        .iter()
        .map(|r| format!("{} {:.1}", r.label, r.score));
    let near: Vec<String> = near.collect();
    let near = if near.is_empty() {
        "nothing".to_owned()
    } else {
        near.join(", ")
    };
    format!(
        "{:<16} {:<8} {:<6} {:.1} ({}); near: {near}",
        song.meters.place(span.start).to_string(),
        chord_label(reading, span),
        span.numeral.to_string(),
        why.total,
        parts.collect::<Vec<_>>().join(", ")
    )
}
