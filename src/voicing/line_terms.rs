//! All terms of setting and handing over whole lines in one place: what each counts, its unit,
//! weight and source.
//!
//! They decide who carries a line in which octave, and what stands in the place of a note of the tune
//! that nobody can play. They are no part of the chords' cost.

/// A cost in thousandths of a point.
pub type Milli = i64;

/// More than any choice costs that may be taken.
pub const IMPOSSIBLE: Milli = i64::MAX / 8;

/// A term of the cost of lines.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LineTerm {
    /// Its name.
    pub name: &'static str,
    /// What one unit is.
    pub unit: &'static str,
    /// Thousandths of a point a unit.
    pub weight: Milli,
    /// Where rule and weight come from.
    pub source: &'static str,
}

impl LineTerm {
    /// The cost of so many units.
    #[must_use]
    pub fn of(&self, units: impl Into<Milli>) -> Milli {
        self.weight.saturating_mul(units.into())
    }
}

macro_rules! line_terms {
    ($($(#[doc = $doc:literal])+ $id:ident = $name:literal, $unit:literal, $weight:literal, $source:literal;)+) => {
        $($(#[doc = $doc])+
        pub const $id: LineTerm = LineTerm { name: $name, unit: $unit, weight: $weight, source: $source };)+
        /// Every term.
        pub const LINE_TERMS: &[LineTerm] = &[$($id),+];
    };
}

line_terms! {
    /// The players may miss the note.
    CLEAN = "clean chance of a line", "-ln(chance) of a note, in thousandths", 3, "logistic item response (Rasch 1960; Birnbaum 1968); weight ours";
    /// A carrier leaves a note to others.
    LEFT = "note left to others", "note", 2_500, "ours";
    /// Some notes in the middle of a breath are left to others.
    HOLE = "hole in a breath", "occurrence", 4_000, "ours";
    /// A carrier's note away from the octave that the plan wishes.
    OCTAVE = "away from the wished octave", "octave a note", 250, "ours";
    /// The octave changes between two breaths.
    CHANGE = "change of octave between breaths", "occurrence", 2_000, "common practice, no source; weight ours";
    /// A great leap between two breaths, or between a line and a lock.
    LEAP = "leap over an octave between breaths", "semitone over an octave", 300, "textbook rule (Kostka & Payne, Tonal Harmony, from memory); weight ours";
    /// How far a line lies from a lock of the same part beside it.
    LEAD = "leading into a lock or out of it", "semitone over a fifth, to an octave", 100, "common practice, no source; weight ours";
    /// A note of tune or bass that nobody plays.
    NOBODY = "note that nobody carries", "note", 1_000_000, "ours; so large that a note is left only where nobody can play it";
    /// Another part takes a line over inside a breath, with neither a shared note nor a breath between.
    COLD = "hand-over inside a breath", "occurrence", 6_000, "hand-overs at phrase ends: common practice, no source; weight ours";
    /// The note before a hand-over is long, so that there is time for it.
    AFTER_LONG = "hand-over after a long note", "quarter note of the note before, four at most; taken off", 1_000, "common practice, no source; weight ours";
    /// Another part takes a line over inside a breath, and both play a note of it.
    SHARED = "hand-over on a shared note", "occurrence", 1_500, "a shared note at hand-overs: common practice, no source; weight ours";
    /// Another part takes a line over between two breaths.
    BETWEEN = "hand-over between breaths", "occurrence", 500, "hand-overs at phrase ends: common practice, no source; weight ours";
    /// A note that is taken over, away from the sketch's octave.
    MOVED = "taken over in another octave", "octave a note", 300, "ours";
    /// A note of the bass taken over above the sketch's octave: chords that stand below it are turned over.
    BASS_RAISED = "bass above the sketch's octave", "octave a note", 1_000, "ours";
    /// The tune likes the top of the band.
    TUNE_PLACE = "low part for the tune", "half semitone of the part's middle below C9", 4, "ours";
    /// The bass likes the bottom of the band.
    BASS_PLACE = "high part for the bass", "half semitone of the part's middle above C-1", 10, "ours";
    /// Somebody who fills the chord is asked to take a line over.
    FROM_CHORD = "taken from the chord", "occurrence", 300, "ours";
    /// Somebody who rests, or plays another line, is asked to take a line over.
    FROM_REST = "taken from a rest", "occurrence", 600, "ours";
    /// A weak player takes a line over whom nobody goes along with.
    WEAK_ALONE = "weak player alone", "note", 2_000, "a lone weak player is not exposed: common practice, no source; weight ours";
    /// A changed note of the tune lies away from the sketch's.
    CHANGED_BY = "changed note, distance", "semitone", 1_000, "economy of motion (Tymoczko 2006 on size of voice leadings); weight ours";
    /// A changed note turns the way of the tune before it or after it.
    CONTOUR = "changed note, contour", "way to or from the note made level (twice: turned)", 2_000, "melodies are known by their contour (Dowling 1978, from memory); weight ours";
    /// A tone of the chord gives way to a note that is none.
    CHORD_LOST = "changed note, no tone of the chord", "quarter note, four at most", 6_000, "common practice, no source; weight ours";
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_term_has_a_name_of_its_own_unit_weight_and_source() {
        let names: BTreeSet<&str> = LINE_TERMS.iter().map(|t| t.name).collect();
        assert_eq!(names.len(), LINE_TERMS.len());
        for term in LINE_TERMS {
            assert!(
                term.weight > 0 && !term.unit.is_empty() && !term.source.is_empty(),
                "{}",
                term.name
            );
        }
    }
}
