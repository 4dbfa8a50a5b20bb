//! Names of notes and bars in explanations.

use super::Explainer;
use crate::band::PartId;
use crate::music::{KeySignature, PartNames, Sounding, SpelledName, Tick};

impl Explainer<'_> {
    /// A note as the part's player reads it, named by the key: `Bb4`.
    #[must_use]
    pub fn written(&self, part: PartId, pitch: Sounding, at: Tick) -> String {
        let key = self.problem.reading.key(at);
        let key = key.map_or(KeySignature::C_MAJOR, |k| k.signature);
        let transposition = self.band_part(part).instrument.transposition;
        let name =
            PartNames::of(transposition, key).written(SpelledName::in_key(pitch.class(), key));
        let written = transposition.written(pitch);
        name.with_octave(Sounding::nearest(i32::from(written.0)))
    }

    /// A note as it sounds, named by the key.
    #[must_use]
    pub fn concert(&self, pitch: Sounding, at: Tick) -> String {
        let key = self.problem.reading.key(at);
        let key = key.map_or(KeySignature::C_MAJOR, |k| k.signature);
        SpelledName::in_key(pitch.class(), key).with_octave(pitch)
    }

    /// The name of a part.
    pub(super) fn name(&self, part: PartId) -> &str {
        &self.problem.band.part(part).name
    }

    /// Names of parts in one row, the first few of many.
    pub(super) fn names(&self, parts: &[PartId]) -> String {
        const MOST: usize = 4;
        let names: Vec<&str> = parts.iter().map(|p| self.name(*p)).collect();
        let more = names.len().saturating_sub(MOST);
        match (more, names.as_slice()) {
            (_, []) => "nobody".to_owned(),
            (_, [one]) => (*one).to_owned(),
            (0, [first @ .., last]) => format!("{} and {last}", first.join(", ")),
            (more, names) => format!("{} and {more} more", names[..MOST].join(", ")),
        }
    }
}
