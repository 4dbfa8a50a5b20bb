//! The form of a sketch as JSON: repeats and sections.

use super::rounded::thousandths;
use crate::music::Tick;
use crate::sketch::{
    Form, Phrase, Quantised, Reading, Repeat, RepeatKind, RepeatedStretch, Section,
};
use serde::Serialize;

/// What repeats what, and the sections by letters.
#[derive(Serialize, Debug)]
pub struct FormJson {
    letters: String,
    sections: Vec<SectionJson>,
    repeats: Vec<StretchJson>,
    phrases: Vec<PhraseJson>,
}

#[derive(Serialize, Debug)]
struct SectionJson {
    start: u64,
    end: u64,
    label: String,
    marker: Option<String>,
}

#[derive(Serialize, Debug)]
struct StretchJson {
    start: u64,
    end: u64,
    source: u64,
    semitones: i32,
    likeness: f64,
}

#[derive(Serialize, Debug)]
struct PhraseJson {
    start: u64,
    end: u64,
    repeats: Option<RepeatJson>,
}

#[derive(Serialize, Debug)]
struct RepeatJson {
    phrase: usize,
    from: u64,
    kind: &'static str,
    semitones: i32,
    likeness: f64,
}

impl FormJson {
    /// The form of a reading, in the file's ticks.
    #[must_use]
    pub fn of(quantised: &Quantised, reading: &Reading) -> Self {
        let tick = |at| quantised.file_tick(at).0;
        let form: &Form = &reading.form;
        let phrases = reading.phrases.iter().zip(&form.phrases);
        Self {
            letters: form.letters(),
            sections: form.sections.iter().map(|s| section(s, &tick)).collect(),
            repeats: form.stretches.iter().map(|s| stretch(s, &tick)).collect(),
            phrases: phrases.map(|p| phrase(p, &tick)).collect(),
        }
    }
}

fn section(section: &Section, tick: &impl Fn(Tick) -> u64) -> SectionJson {
    SectionJson {
        start: tick(section.start),
        end: tick(section.end),
        label: section.label(),
        marker: section.marker.clone(),
    }
}

fn stretch(stretch: &RepeatedStretch, tick: &impl Fn(Tick) -> u64) -> StretchJson {
    StretchJson {
        start: tick(stretch.start),
        end: tick(stretch.end),
        source: tick(stretch.source),
        semitones: stretch.semitones,
        likeness: thousandths(stretch.likeness),
    }
}

fn phrase((phrase, repeat): (&Phrase, &Option<Repeat>), tick: &impl Fn(Tick) -> u64) -> PhraseJson {
    PhraseJson {
        start: tick(phrase.start),
        end: tick(phrase.end),
        repeats: repeat.as_ref().map(|r| RepeatJson {
            phrase: r.of,
            from: tick(r.from),
            kind: r.kind.word(),
            semitones: match r.kind {
                RepeatKind::Transposed(semitones) => semitones,
                _ => 0,
            },
            likeness: thousandths(f64::from(r.likeness)),
        }),
    }
}
