//! What `read` found as JSON (schema: `assets/schema/read.schema.json`).

use super::why::{WhyJson, melody_evidence};
use crate::music::meter::MeterChange;
use crate::music::tempo::TempoChange;
use crate::music::{KeySignature, Mode, Tick};
use crate::sketch::{ChordSpan, KeySpan, Line, ReadNote, Reading, Song};
use serde::Serialize;

/// What `read` found. Times in the file's ticks, pitch as MIDI number.
#[derive(Serialize, Debug)]
pub struct ReadAnswer {
    ticks_per_quarter: u16,
    tempo: Vec<TempoJson>,
    meters: Vec<MeterJson>,
    keys: Vec<KeyJson>,
    lines: LinesJson,
    chords: Vec<ChordJson>,
    phrases: Vec<u64>,
    markers: Vec<MarkerJson>,
    warnings: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    melody_evidence: Option<Vec<WhyJson>>,
}

#[derive(Serialize, Debug)]
struct TempoJson {
    tick: u64,
    micros_per_quarter: u32,
    quarters_per_minute: f64,
}

#[derive(Serialize, Debug)]
struct MeterJson {
    tick: u64,
    bar: u32,
    numerator: u8,
    denominator: u16,
}

#[derive(Serialize, Debug)]
struct KeyJson {
    tick: u64,
    fifths: i8,
    mode: &'static str,
    name: String,
    given: bool,
}

#[derive(Serialize, Debug)]
struct LinesJson {
    melody: Vec<LineNoteJson>,
    bass: Vec<LineNoteJson>,
    harmony: Vec<LineNoteJson>,
    counterline: Vec<LineNoteJson>,
    figure: Vec<LineNoteJson>,
}

#[derive(Serialize, Debug)]
struct LineNoteJson {
    onset: u64,
    duration: u64,
    pitch: u8,
    confidence: f64,
}

#[derive(Serialize, Debug)]
struct ChordJson {
    onset: u64,
    duration: u64,
    root: u8,
    quality: &'static str,
    bass: u8,
    label: String,
}

#[derive(Serialize, Debug)]
struct MarkerJson {
    tick: u64,
    text: String,
}

impl ReadAnswer {
    /// The answer for a song and its reading.
    #[must_use]
    pub fn of(song: &Song, reading: &Reading, warnings: &[String]) -> Self {
        let line = |line| reading.line(line).map(line_note).collect();
        Self {
            ticks_per_quarter: song.quarter.get(),
            tempo: tempo(song),
            meters: meters(song),
            keys: keys(reading),
            lines: LinesJson {
                melody: line(Line::Melody),
                bass: line(Line::Bass),
                harmony: line(Line::Harmony),
                counterline: line(Line::Counterline),
                figure: line(Line::Figure),
            },
            chords: chords(reading),
            phrases: reading.phrases.iter().map(|p| p.start.0).collect(),
            markers: song
                .markers
                .iter()
                .map(|m| MarkerJson {
                    tick: m.at.0,
                    text: m.text.clone(),
                })
                .collect(),
            warnings: warnings.to_vec(),
            melody_evidence: melody_evidence(reading),
        }
    }
}

fn line_note(note: &ReadNote) -> LineNoteJson {
    let confidence = (f64::from(note.confidence) * 1000.0).round() / 1000.0;
    LineNoteJson {
        onset: note.onset.0,
        duration: note.duration.0,
        pitch: note.pitch.midi(),
        confidence,
    }
}

fn tempo(song: &Song) -> Vec<TempoJson> {
    let one = |c: &TempoChange| TempoJson {
        tick: c.at.0,
        micros_per_quarter: c.micros_per_quarter,
        quarters_per_minute: (song.tempo.quarters_per_minute(c.at) * 1000.0).round() / 1000.0,
    };
    song.tempo.changes().iter().map(one).collect()
}

fn meters(song: &Song) -> Vec<MeterJson> {
    let one = |c: &MeterChange| MeterJson {
        tick: c.at.0,
        bar: song.meters.bar(c.at).0,
        numerator: c.meter.numerator(),
        denominator: c.meter.denominator(),
    };
    song.meters.changes().iter().map(one).collect()
}

fn keys(reading: &Reading) -> Vec<KeyJson> {
    let one = |k: &KeySpan| KeyJson {
        tick: k.start.0,
        fifths: k.signature.fifths(),
        mode: if k.key.mode == Mode::Major {
            "major"
        } else {
            "minor"
        },
        name: k.signature.to_string(),
        given: k.given,
    };
    reading.keys.iter().map(one).collect()
}

/// The signature that spells at a tick.
#[must_use]
pub fn signature(reading: &Reading, at: Tick) -> KeySignature {
    reading
        .key(at)
        .map_or(KeySignature::C_MAJOR, |k| k.signature)
}

fn chords(reading: &Reading) -> Vec<ChordJson> {
    let one = |c: &ChordSpan| ChordJson {
        onset: c.start.0,
        duration: c.end.since(c.start).0,
        root: c.chord.root.number(),
        quality: c.chord.quality.word(),
        bass: c.chord.bass.number(),
        label: c.chord.label(signature(reading, c.start)),
    };
    reading.chords.iter().map(one).collect()
}
