//! Keys with more sharps or flats than the director asks for.

use super::finding::Finding;
use super::limits_check::PartCheck;
use crate::band::Part;
use crate::music::{KeySignature, PartNames, Tick};
use crate::score::DraftNote;

/// Stretches whose key has too many sharps or flats as a part reads it: from, until, written key.
pub(super) fn hard_keys(
    part: &Part,
    keys: &[&[(Tick, KeySignature)]],
) -> Vec<(Tick, Tick, KeySignature)> {
    let Some(most) = part.limits.max_accidentals else {
        return Vec::new();
    };
    let mut hard = Vec::new();
    for list in keys {
        for (i, (start, concert)) in list.iter().enumerate() {
            let names = PartNames::of(part.instrument.transposition, *concert);
            let written = names.signature(*concert);
            let end = list.get(i + 1).map_or(Tick(u64::MAX), |next| next.0);
            let stretch = (*start, end, written);
            if written.fifths().unsigned_abs() > most && *start < end && !hard.contains(&stretch) {
                hard.push(stretch);
            }
        }
    }
    hard
}

/// A key in words: `A major (3 sharps)`.
pub(super) fn key_in_words(key: KeySignature) -> String {
    let count = key.fifths().unsigned_abs();
    let sign = if key.fifths() < 0 { "flat" } else { "sharp" };
    let plural = if count == 1 { "" } else { "s" };
    format!("{key} ({count} {sign}{plural})")
}

/// Every note that sounds where the key, as the part reads it, has too many sharps or flats.
pub(super) fn too_many_accidentals(
    check: &PartCheck<'_>,
    notes: &[DraftNote],
    keys: &[&[(Tick, KeySignature)]],
) -> Vec<Finding> {
    let hard = hard_keys(check.part, keys);
    let most = check.part.limits.max_accidentals.unwrap_or(0);
    let wrong = |note: &DraftNote| {
        let here = |h: &&(Tick, Tick, KeySignature)| note.onset < h.1 && note.end() > h.0;
        let (_, _, key) = hard.iter().find(here)?;
        let message = format!(
            "Written in {}; the director asks for no more than {most} sharps or flats.",
            key_in_words(*key)
        );
        let remedy = "Let it rest, or move the music to another key (`bandwright keys`).";
        Some(check.finding(note, "hard_key", message, remedy))
    };
    notes.iter().filter_map(wrong).collect()
}
