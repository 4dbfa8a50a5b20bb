//! Chord tones and ornaments as JSON.

use crate::music::ChordTone;
use crate::sketch::ChordSpan;
use crate::sketch::harmony::{Foreign, NoteInChord, Tendency};
use serde::Serialize;

/// What a note is in its chord; what is not so is left out.
#[derive(Serialize, Debug, Default)]
pub(super) struct InChordJson {
    #[serde(skip_serializing_if = "Option::is_none")]
    tone: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    foreign: Option<&'static str>,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    chromatic: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    tendency: Option<TendencyJson>,
}

#[derive(Serialize, Debug)]
struct TendencyJson {
    pull: &'static str,
    by: i8,
}

impl InChordJson {
    /// The JSON of a note.
    pub(super) fn of(note: &NoteInChord) -> Self {
        let tendency = |t: Tendency| TendencyJson {
            pull: t.pull.word(),
            by: t.by,
        };
        Self {
            tone: note.tone.map(ChordTone::word),
            foreign: note.foreign.map(Foreign::word),
            chromatic: note.chromatic,
            tendency: note.tendency.map(tendency),
        }
    }
}

/// The tones of a chord that nobody sounds.
pub(super) fn missing(span: &ChordSpan) -> Vec<&'static str> {
    let tones = span.missing.iter().filter_map(|c| span.chord.tone(c));
    tones.map(ChordTone::word).collect()
}
