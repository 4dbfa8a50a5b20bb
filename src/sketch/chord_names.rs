//! Chord symbols with the names that the notes have.

use super::reading::{ChordSpan, Reading};
use crate::music::{KeySignature, PitchClass, SpelledName};
use std::collections::BTreeMap;

/// The chord symbol of a chord of the reading: root and bass take the names that their notes have
/// while the chord lasts, and the key's where they do not sound.
#[must_use]
pub fn chord_label(reading: &Reading, span: &ChordSpan) -> String {
    let root = name_in(reading, span, span.chord.root);
    let bass = name_in(reading, span, span.chord.bass);
    span.chord.label_named(root, bass)
}

/// The name that a pitch class has longest in a stretch; of two as long the flatter one.
fn name_in(reading: &Reading, span: &ChordSpan, class: PitchClass) -> SpelledName {
    let first = reading.slices.partition_point(|s| s.end <= span.start);
    let slices = reading.slices.iter().skip(first);
    let mut lengths: BTreeMap<i32, u64> = BTreeMap::new();
    for slice in slices.take_while(|s| s.start < span.end) {
        for i in &slice.sounding {
            let named = reading.notes.get(*i).zip(reading.names.get(*i));
            if let Some((_, name)) = named.filter(|(note, _)| note.pitch.class() == class) {
                *lengths.entry(name.fifths()).or_default() += slice.end.since(slice.start).0;
            }
        }
    }
    let longest = lengths.into_iter().rev().max_by_key(|(_, length)| *length);
    longest.map_or_else(
        || {
            let key = reading.key(span.start);
            SpelledName::in_key(class, key.map_or(KeySignature::C_MAJOR, |k| k.signature))
        },
        |(place, _)| SpelledName::from_fifths(place),
    )
}
