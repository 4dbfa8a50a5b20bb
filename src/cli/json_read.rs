//! What `read` found as JSON (schema: `assets/schema/read.schema.json`).

use super::json_figures::{FigureJson, figures};
use super::json_form::FormJson;
use super::json_harmony::{self, InChordJson};
use super::json_timing::TimingJson;
use super::rounded::thousandths;
use super::why::{ChordWhyJson, WhyJson, chord_why, melody_evidence};
use crate::music::meter::MeterChange;
use crate::music::tempo::TempoChange;
use crate::music::{Mode, Quality};
use crate::sketch::{ChordSpan, KeySpan, Line, Quantised, Reading, Song, Taken, chord_label};
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
    timing: TimingJson,
    form: FormJson,
    figures: Vec<FigureJson>,
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
    #[serde(skip_serializing_if = "Option::is_none")]
    written_tick: Option<u64>,
}

#[derive(Serialize, Debug)]
struct KeyJson {
    tick: u64,
    fifths: i8,
    mode: &'static str,
    name: String,
    given: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    written_tick: Option<u64>,
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
    name: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    written_onset: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    written_duration: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    grace: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rolled: Option<bool>,
    #[serde(flatten)]
    in_chord: InChordJson,
}

#[derive(Serialize, Debug)]
struct ChordJson {
    onset: u64,
    duration: u64,
    root: u8,
    quality: &'static str,
    bass: u8,
    label: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    written_onset: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    written_duration: Option<u64>,
    numeral: String,
    function: &'static str,
    missing: Vec<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    implied: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    why: Option<ChordWhyJson>,
}

#[derive(Serialize, Debug)]
struct MarkerJson {
    tick: u64,
    text: String,
}

impl ReadAnswer {
    /// The answer for a song as it came, what quantising made of it, and the reading of that.
    #[must_use]
    pub fn of(file: &Song, quantised: &Quantised, reading: &Reading, warnings: &[String]) -> Self {
        let line = |line| line_notes(quantised, reading, line);
        let markers = file.markers.iter().map(|m| MarkerJson {
            tick: m.at.0,
            text: m.text.clone(),
        });
        Self {
            ticks_per_quarter: file.quarter.get(),
            tempo: tempo(file),
            meters: meters(quantised),
            keys: keys(quantised, reading),
            lines: LinesJson {
                melody: line(Line::Melody),
                bass: line(Line::Bass),
                harmony: line(Line::Harmony),
                counterline: line(Line::Counterline),
                figure: line(Line::Figure),
            },
            chords: chords(quantised, reading),
            phrases: reading
                .phrases
                .iter()
                .map(|p| quantised.file_tick(p.start).0)
                .collect(),
            markers: markers.collect(),
            warnings: warnings.to_vec(),
            timing: TimingJson::of(quantised, reading),
            form: FormJson::of(quantised, reading),
            figures: figures(quantised, reading),
            melody_evidence: None,
        }
    }
}

impl ReadAnswer {
    /// The answer with what spoke for each melody note and each chord, and what was near.
    #[must_use]
    pub fn with_why(mut self, quantised: &Quantised, reading: &Reading) -> Self {
        self.melody_evidence = Some(melody_evidence(&quantised.song, reading));
        for (chord, span) in self.chords.iter_mut().zip(&reading.chords) {
            chord.why = Some(chord_why(reading, span));
        }
        self
    }
}

fn line_notes(quantised: &Quantised, reading: &Reading, line: Line) -> Vec<LineNoteJson> {
    (0..reading.notes.len())
        .filter(|i| reading.notes[*i].line == line)
        .map(|i| line_note(quantised, reading, i))
        .collect()
}

/// A written time, where there are such.
fn written(quantised: &Quantised, at: u64) -> Option<u64> {
    (quantised.taken == Taken::Quantised).then_some(at)
}

fn line_note(quantised: &Quantised, reading: &Reading, index: usize) -> LineNoteJson {
    let note = &reading.notes[index];
    let name = reading.names.get(index);
    let confidence = thousandths(f64::from(note.confidence));
    let played = quantised.song.played(note.track, note.index);
    let (onset, duration) = played.map_or((note.onset, note.duration), |p| (p.onset, p.duration));
    LineNoteJson {
        onset: onset.0,
        duration: duration.0,
        pitch: note.pitch.midi(),
        confidence,
        name: name.map_or_else(|| note.pitch.to_string(), |n| n.with_octave(note.pitch)),
        written_onset: written(quantised, note.onset.0),
        written_duration: written(quantised, note.duration.0),
        grace: note.grace.then_some(true),
        rolled: note.rolled.then_some(true),
        in_chord: reading
            .in_chord
            .get(index)
            .map(InChordJson::of)
            .unwrap_or_default(),
    }
}

fn tempo(song: &Song) -> Vec<TempoJson> {
    let one = |c: &TempoChange| TempoJson {
        tick: c.at.0,
        micros_per_quarter: c.micros_per_quarter,
        quarters_per_minute: thousandths(song.tempo.quarters_per_minute(c.at)),
    };
    song.tempo.changes().iter().map(one).collect()
}

fn meters(quantised: &Quantised) -> Vec<MeterJson> {
    let song = &quantised.song;
    let one = |c: &MeterChange| MeterJson {
        tick: quantised.file_mark(c.at).0,
        bar: song.meters.bar(c.at).0,
        numerator: c.meter.numerator(),
        denominator: c.meter.denominator(),
        written_tick: written(quantised, c.at.0),
    };
    song.meters.changes().iter().map(one).collect()
}

fn keys(quantised: &Quantised, reading: &Reading) -> Vec<KeyJson> {
    let one = |k: &KeySpan| KeyJson {
        tick: quantised.file_mark(k.start).0,
        fifths: k.signature.fifths(),
        mode: if k.key.mode == Mode::Major {
            "major"
        } else {
            "minor"
        },
        name: k.signature.to_string(),
        given: k.given,
        written_tick: written(quantised, k.start.0),
    };
    reading.keys.iter().map(one).collect()
}

fn chords(quantised: &Quantised, reading: &Reading) -> Vec<ChordJson> {
    let one = |c: &ChordSpan| {
        let (onset, end) = (quantised.file_tick(c.start), quantised.file_tick(c.end));
        ChordJson {
            onset: onset.0,
            duration: end.since(onset).0.max(1),
            root: c.chord.root.number(),
            quality: c.chord.quality.word(),
            bass: c.chord.bass.number(),
            label: chord_label(reading, c),
            written_onset: written(quantised, c.start.0),
            written_duration: written(quantised, c.end.since(c.start).0),
            numeral: c.numeral.to_string(),
            function: c.function.word(),
            missing: json_harmony::missing(c),
            implied: c.implied.map(Quality::word),
            why: None,
        }
    };
    reading.chords.iter().map(one).collect()
}
