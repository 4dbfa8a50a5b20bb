//! The rules for the tune, and what was changed of it, as JSON (schema:
//! `assets/schema/voice.schema.json`).

use super::rounded::thousandths;
use super::tune_words::place_word;
use crate::band::Band;
use crate::music::{MeterMap, Sounding};
use crate::score::as_ranges;
use crate::score::{BarSet, MelodyChange, TuneRules};
use serde::Serialize;

/// Where the tune stays as written and where it may change, as bars from and to.
#[derive(Serialize, Debug)]
pub struct TuneRulesJson {
    as_written: Vec<[u32; 2]>,
    may_change: Vec<[u32; 2]>,
    restored: Vec<String>,
}

impl TuneRulesJson {
    /// The twin of some rules.
    #[must_use]
    pub fn of(rules: &TuneRules, meters: &MeterMap) -> Self {
        let bars = |bars: &BarSet| {
            let ranges = as_ranges(bars.0.iter().copied());
            ranges.iter().map(|b| [b.0.0, b.1.0]).collect()
        };
        let restored = rules.restored.iter();
        Self {
            as_written: bars(&rules.as_written),
            may_change: bars(&rules.may_change),
            restored: restored.map(|at| place_word(meters.place(*at))).collect(),
        }
    }
}

/// A note of the tune that is not in the draft as the sketch has it.
#[derive(Serialize, Debug)]
pub struct MelodyChangeJson<'a> {
    onset: u64,
    bar: u32,
    beat: f64,
    pitch: u8,
    new_pitch: Option<u8>,
    parts: Vec<ChangedPartJson<'a>>,
    reason: &'a str,
    restore: Option<String>,
}

/// Who plays what instead.
#[derive(Serialize, Debug)]
struct ChangedPartJson<'a> {
    name: &'a str,
    pitch: u8,
}

impl<'a> MelodyChangeJson<'a> {
    /// The twin of a change.
    #[must_use]
    pub fn of(change: &'a MelodyChange, band: &'a Band, meters: &MeterMap) -> Self {
        let place = meters.place(change.onset);
        let parts = change.parts.iter().map(|(part, pitch)| ChangedPartJson {
            name: &band.part(*part).name,
            pitch: pitch.midi(),
        });
        Self {
            onset: change.onset.0,
            bar: place.bar.0,
            beat: thousandths(place.beat),
            pitch: change.sketch.midi(),
            new_pitch: change.new.map(Sounding::midi),
            parts: parts.collect(),
            reason: &change.reason,
            restore: change.new.map(|_| place_word(place)),
        }
    }
}
