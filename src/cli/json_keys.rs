//! What `keys` found as JSON (schema: `assets/schema/keys.schema.json`).

use super::key_choice::{Clean, InKey, cleanest};
use super::rounded::thousandths;
use crate::band::Band;
use crate::music::KeySignature;
use serde::Serialize;

/// The sketch in every key.
#[derive(Serialize, Debug)]
pub struct KeysAnswer<'a> {
    band: &'a str,
    cleanest: Option<i16>,
    keys: Vec<InKeyJson>,
}

#[derive(Serialize, Debug)]
struct InKeyJson {
    shift: i16,
    key: Option<String>,
    total: f64,
    tune: CleanJson,
    tune_lost: usize,
    sections: Vec<SectionJson>,
}

#[derive(Serialize, Debug)]
struct SectionJson {
    section: String,
    written_key: Option<String>,
    fifths: Option<i8>,
    #[serde(flatten)]
    clean: CleanJson,
}

#[derive(Serialize, Debug)]
struct CleanJson {
    notes: usize,
    expected_clean: f64,
}

impl CleanJson {
    fn of(clean: Clean) -> Self {
        Self {
            notes: clean.notes,
            expected_clean: thousandths(clean.expected),
        }
    }
}

impl<'a> KeysAnswer<'a> {
    /// The twin of what was found.
    #[must_use]
    pub fn of(band: &'a Band, keys: &[InKey]) -> Self {
        Self {
            band: &band.name,
            cleanest: cleanest(keys).map(|k| k.shift),
            keys: keys.iter().map(in_key).collect(),
        }
    }
}

fn in_key(key: &InKey) -> InKeyJson {
    let section = |s: &super::key_choice::SectionInKey| SectionJson {
        section: s.section.clone(),
        written_key: s.written.map(|w| w.to_string()),
        fifths: s.written.map(KeySignature::fifths),
        clean: CleanJson::of(s.clean),
    };
    InKeyJson {
        shift: key.shift,
        key: key.key.map(|k| k.to_string()),
        total: thousandths(key.total),
        tune: CleanJson::of(key.tune),
        tune_lost: key.tune_lost,
        sections: key.sections.iter().map(section).collect(),
    }
}
