//! The form of a sketch as JSON: repeats and sections.

use crate::sketch::{Form, Phrase, Reading, Repeat, RepeatKind, RepeatedStretch, Section};
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
    /// The form of a reading.
    #[must_use]
    pub fn of(reading: &Reading) -> Self {
        let form: &Form = &reading.form;
        let phrases = reading.phrases.iter().zip(&form.phrases);
        Self {
            letters: form.letters(),
            sections: form.sections.iter().map(section).collect(),
            repeats: form.stretches.iter().map(stretch).collect(),
            phrases: phrases.map(phrase).collect(),
        }
    }
}

fn section(section: &Section) -> SectionJson {
    SectionJson {
        start: section.start.0,
        end: section.end.0,
        label: section.label(),
        marker: section.marker.clone(),
    }
}

fn stretch(stretch: &RepeatedStretch) -> StretchJson {
    StretchJson {
        start: stretch.start.0,
        end: stretch.end.0,
        source: stretch.source.0,
        semitones: stretch.semitones,
        likeness: thousandths(stretch.likeness),
    }
}

fn phrase((phrase, repeat): (&Phrase, &Option<Repeat>)) -> PhraseJson {
    PhraseJson {
        start: phrase.start.0,
        end: phrase.end.0,
        repeats: repeat.as_ref().map(|r| RepeatJson {
            phrase: r.of,
            from: r.from.0,
            kind: r.kind.word(),
            semitones: match r.kind {
                RepeatKind::Transposed(semitones) => semitones,
                _ => 0,
            },
            likeness: thousandths(f64::from(r.likeness)),
        }),
    }
}

fn thousandths(share: f64) -> f64 {
    (share * 1000.0).round() / 1000.0
}
