//! The answers as JSON: stable twins of the plain values (schemas in `assets/schema`).

use super::whole_way::WholeWay;
use crate::band::{Band, Limits};
use crate::music::{KeySignature, Mode, Tick};
use crate::review::Finding;
use crate::score::DraftNote;
use crate::sketch::{Line, ReadNote, Reading, Song};
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
    let one = |c: &crate::music::tempo::TempoChange| TempoJson {
        tick: c.at.0,
        micros_per_quarter: c.micros_per_quarter,
        quarters_per_minute: (song.tempo.quarters_per_minute(c.at) * 1000.0).round() / 1000.0,
    };
    song.tempo.changes().iter().map(one).collect()
}

fn meters(song: &Song) -> Vec<MeterJson> {
    let one = |c: &crate::music::meter::MeterChange| MeterJson {
        tick: c.at.0,
        bar: song.meters.bar(c.at).0,
        numerator: c.meter.numerator(),
        denominator: c.meter.denominator(),
    };
    song.meters.changes().iter().map(one).collect()
}

fn keys(reading: &Reading) -> Vec<KeyJson> {
    let one = |k: &crate::sketch::KeySpan| KeyJson {
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
    let one = |c: &crate::sketch::ChordSpan| ChordJson {
        onset: c.start.0,
        duration: c.end.since(c.start).0,
        root: c.chord.root.number(),
        quality: c.chord.quality.word(),
        bass: c.chord.bass.number(),
        label: c.chord.label(signature(reading, c.start)),
    };
    reading.chords.iter().map(one).collect()
}

/// What `voice` made. Times in the sketch's ticks, sounding pitch.
#[derive(Serialize, Debug)]
pub struct VoiceAnswer<'a> {
    band: BandJson<'a>,
    draft: DraftJson<'a>,
    passages: Vec<PassageJson<'a>>,
    cost: f64,
    melody_changes: Vec<MelodyChangeJson<'a>>,
    findings: Vec<FindingJson>,
    warnings: Vec<String>,
}

#[derive(Serialize, Debug)]
struct BandJson<'a> {
    name: &'a str,
    parts: Vec<PartJson<'a>>,
}

#[derive(Serialize, Debug)]
struct PartJson<'a> {
    name: &'a str,
    instrument: &'a str,
    players: u32,
    lowest: u8,
    highest: u8,
}

#[derive(Serialize, Debug)]
struct DraftJson<'a> {
    ticks_per_quarter: u16,
    parts: Vec<PartDraftJson<'a>>,
}

#[derive(Serialize, Debug)]
struct PartDraftJson<'a> {
    name: &'a str,
    notes: Vec<DraftNoteJson>,
}

#[derive(Serialize, Debug)]
struct DraftNoteJson {
    onset: u64,
    duration: u64,
    pitch: u8,
    velocity: u8,
    role: &'static str,
    locked: bool,
}

#[derive(Serialize, Debug)]
struct PassageJson<'a> {
    first_bar: u32,
    last_bar: u32,
    intensity: f64,
    scoring: &'a str,
}

#[derive(Serialize, Debug)]
struct MelodyChangeJson<'a> {
    onset: u64,
    pitch: u8,
    reason: &'a str,
}

/// A finding.
#[derive(Serialize, Debug)]
pub struct FindingJson {
    severity: &'static str,
    kind: &'static str,
    part: Option<String>,
    tick: u64,
    bar: u32,
    beat: f64,
    message: String,
    remedy: String,
}

impl FindingJson {
    /// The twin of a finding.
    #[must_use]
    pub fn of(finding: &Finding) -> Self {
        Self {
            severity: finding.severity.word(),
            kind: finding.kind,
            part: finding.part.clone(),
            tick: finding.at.0,
            bar: finding.place.bar.0,
            beat: (finding.place.beat * 1000.0).round() / 1000.0,
            message: finding.message.clone(),
            remedy: finding.remedy.clone(),
        }
    }
}

impl<'a> VoiceAnswer<'a> {
    /// The answer for a band and what came of the whole way.
    #[must_use]
    pub fn of(song: &Song, band: &'a Band, way: &'a WholeWay) -> Self {
        let draft = &way.voiced.draft;
        let changes = draft.melody_changes.iter().map(|c| MelodyChangeJson {
            onset: c.onset.0,
            pitch: c.sketch.midi(),
            reason: &c.reason,
        });
        let line = |line: &crate::score::PartLine| PartDraftJson {
            name: &band.part(line.part).name,
            notes: line.notes.iter().map(draft_note).collect(),
        };
        Self {
            band: band_json(band),
            draft: DraftJson {
                ticks_per_quarter: song.quarter.get(),
                parts: draft.lines.iter().map(line).collect(),
            },
            passages: way.plan.passages.iter().map(passage).collect(),
            cost: way.voiced.cost,
            melody_changes: changes.collect(),
            findings: way.findings.iter().map(FindingJson::of).collect(),
            warnings: way.warnings.iter().map(ToString::to_string).collect(),
        }
    }
}

fn band_json(band: &Band) -> BandJson<'_> {
    let part = |p: &'_ crate::band::Part| {
        let Limits { range, .. } = p.limits;
        (p.players.count(), range.low.midi(), range.high.midi())
    };
    let parts = band.parts.iter().map(|p| {
        let (players, lowest, highest) = part(p);
        PartJson {
            name: &p.name,
            instrument: &p.instrument.id,
            players,
            lowest,
            highest,
        }
    });
    BandJson {
        name: &band.name,
        parts: parts.collect(),
    }
}

fn draft_note(note: &DraftNote) -> DraftNoteJson {
    DraftNoteJson {
        onset: note.onset.0,
        duration: note.duration.0,
        pitch: note.pitch.midi(),
        velocity: note.velocity,
        role: note.role.word(),
        locked: note.locked,
    }
}

fn passage(planned: &crate::plan::PassagePlan) -> PassageJson<'_> {
    PassageJson {
        first_bar: planned.passage.first_bar.0,
        last_bar: planned.passage.last_bar.0,
        intensity: (planned.passage.intensity * 10.0).round() / 10.0,
        scoring: &planned.way,
    }
}

/// What `review` found.
#[derive(Serialize, Debug)]
pub struct ReviewAnswer {
    /// Whether nothing is out of a hard limit.
    pub playable: bool,
    /// The findings.
    pub findings: Vec<FindingJson>,
    /// What was malformed or had to be decided.
    pub warnings: Vec<String>,
}
