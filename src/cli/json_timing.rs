//! How the times of a sketch were taken, as JSON.

use super::rounded::thousandths;
use crate::music::tempo::TempoChange;
use crate::sketch::{Quantised, Reading, Swing, Taken};
use serde::Serialize;

/// How the times were taken.
#[derive(Serialize, Debug)]
pub struct TimingJson {
    taken: &'static str,
    confidence: f64,
    written_ticks_per_quarter: u16,
    quarters_per_minute: Option<f64>,
    written_tempo: Vec<WrittenTempoJson>,
    swing: Vec<SwingJson>,
    grace_notes: usize,
    rolled_chords: usize,
    mean_shift_ms: f64,
    written_phrases: Vec<u64>,
}

#[derive(Serialize, Debug)]
struct WrittenTempoJson {
    written_tick: u64,
    micros_per_quarter: u32,
}

#[derive(Serialize, Debug)]
struct SwingJson {
    written_start: u64,
    written_end: u64,
    ratio: f64,
}

impl TimingJson {
    /// The answer for a quantised song and its reading.
    #[must_use]
    pub fn of(quantised: &Quantised, reading: &Reading) -> Self {
        let song = &quantised.song;
        let tempo = |c: &TempoChange| WrittenTempoJson {
            written_tick: c.at.0,
            micros_per_quarter: c.micros_per_quarter,
        };
        let swing = |s: &Swing| SwingJson {
            written_start: s.start.0,
            written_end: s.end.0,
            ratio: thousandths(s.ratio),
        };
        let is_written = quantised.taken == Taken::Quantised;
        let phrases = reading.phrases.iter().filter(|_| is_written);
        let tempos = song.tempo.changes().iter();
        Self {
            taken: quantised.taken.word(),
            confidence: thousandths(quantised.confidence),
            written_ticks_per_quarter: song.quarter.get(),
            quarters_per_minute: quantised.tempo_found.map(thousandths),
            written_tempo: tempos.filter(|_| is_written).map(tempo).collect(),
            swing: quantised.swing.iter().map(swing).collect(),
            grace_notes: quantised.graces,
            rolled_chords: quantised.rolled,
            mean_shift_ms: thousandths(quantised.mean_shift_ms),
            written_phrases: phrases.map(|p| p.start.0).collect(),
        }
    }
}
