//! Spelling: every note of the sketch gets its name from the key and from what is around it.
//!
//! Two steps, both on the line of fifths (… B flat -2, F -1, C 0, G 1, D 2 …):
//!
//! 1. [`scales`]: a path of scales through the piece, half note by half note, so that the names
//!    the scales give are as plain as can be and the scale changes seldom. The idea is
//!    Temperley's (The Cognition of Basic Musical Structures, 2001, chapters 5 and 7: names close
//!    together on the line of fifths, keys by a least-cost path) and Bouquillard & Jacquemard's
//!    (Engraving oriented joint estimation of pitch spelling and local and global keys, 2024:
//!    fewest accidentals over a path of keys); both from memory. A key signature of the file is
//!    evidence: scales far from it cost more. A table of costs stands where Meredith's ps13 (The
//!    ps13 pitch spelling algorithm, Journal of New Music Research 35(2), 2006) has a window of
//!    the line, five places down to six up from the tonic.
//! 2. [`context`]: each note takes the better of the two names on either side of its scale's
//!    middle, by the names sounding with it and near it (thirds and fifths speak for a name,
//!    diminished and augmented intervals against it: Cambouropoulos, Pitch Spelling: A
//!    Computational Model, Music Perception 20(4), 2003) and by where it moves (a note that
//!    rises by a semitone is rather sharp, one that falls rather flat).

mod context;
mod neighbours;
mod scales;

use crate::music::{SpelledName, TicksPerQuarter};
use crate::sketch::reading::{KeySpan, ReadNote};

/// One name for each note. Notes are in order of onset; keys in order. Time grows with the
/// number of notes.
pub(super) fn spell_notes(
    notes: &[ReadNote],
    keys: &[KeySpan],
    quarter: TicksPerQuarter,
) -> Vec<SpelledName> {
    let scales = scales::find_scales(notes, keys, quarter);
    context::names(notes, &scales, quarter)
        .into_iter()
        .map(SpelledName::from_fifths)
        .collect()
}
