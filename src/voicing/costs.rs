//! All terms of the voicing's cost in one place: what each counts, its unit, weight and source.
//!
//! What a note or a state of a choir costs counts by the length of its step: a tenth of a beat at
//! the least, two beats at the most. What a move costs counts once.
//!
//! Costs are whole thousandths of a point, so that sums are exact and the same everywhere.

/// A cost in thousandths of a point.
pub type Milli = i32;

/// A cost that no allowed answer reaches.
pub const FORBIDDEN: Milli = 100_000_000;

/// A term of the cost.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Term {
    /// Its name.
    pub name: &'static str,
    /// What one unit is.
    pub unit: &'static str,
    /// Points a unit.
    pub weight: f64,
    /// Where rule and weight come from.
    pub source: &'static str,
}

impl Term {
    /// The cost of so many units.
    #[must_use]
    pub fn of(&self, units: f64) -> Milli {
        (self.weight * units * 1000.0).round() as Milli
    }
}

macro_rules! terms {
    ($($(#[doc = $doc:literal])+ $id:ident = $name:literal, $unit:literal, $weight:literal, $source:literal;)+) => {
        $($(#[doc = $doc])+
        pub const $id: Term = Term { name: $name, unit: $unit, weight: $weight, source: $source };)+
        /// Every term.
        pub const TERMS: &[Term] = &[$($id),+];
    };
}

terms! {
    /// The players may miss the note.
    CLEAN = "clean chance", "-ln(chance) a beat, two beats at most", 6.0, "logistic item response (Rasch 1960; Birnbaum 1968); weight ours";
    /// Far from the middle of what the part plays comfortably.
    REGISTER = "register", "semitone beyond five from the middle", 0.15, "common practice, no source";
    /// A part that should fill the chord rests.
    SILENT = "silent", "beat, two at most", 8.0, "common practice, no source";
    /// A half step or minor ninth against the tune.
    CLASH = "clash with the tune", "occurrence", 6.0, "textbook rule (Adler, The Study of Orchestration, from memory); weight ours";
    /// Above the highest carrier of the tune.
    ABOVE_TUNE = "above the tune", "semitone, six at most", 1.0, "common practice, no source";
    /// Below the lowest carrier of the bass.
    BELOW_BASS = "below the bass", "occurrence", 10.0, "common practice, no source";
    /// An interval too low to be clear.
    LOW_INTERVAL = "low interval limit", "occurrence", 10.0, "low interval limits as the trade tables give them (retailer glossary); weight ours";
    /// A lower part above a higher one of its choir.
    CROSSING = "crossing", "occurrence", 5.0, "textbook rule (Piston, Harmony, from memory); weight ours";
    /// Neighbours of a choir in unison.
    UNISON = "unison in the choir", "occurrence", 2.0, "common practice, no source";
    /// Neighbours of a choir more than an octave apart.
    GAP = "gap in the choir", "semitone over an octave, five at most", 2.0, "textbook rule (Piston, Harmony, from memory); weight ours";
    /// A half step between neighbours of a choir.
    RUB = "half step in the choir", "occurrence", 6.0, "textbook rule (from memory); weight ours";
    /// How far a part moves.
    MOTION = "motion", "v to 2 semitones, 2v-2 to 7, 3v-9 beyond", 0.5, "economy of motion (Tymoczko 2006 on size of voice leadings); curve ours";
    /// A part starts or stops in the middle.
    ENTRY = "entry or stop", "occurrence", 0.5, "common practice, no source";
    /// A leap over an octave.
    WIDE_LEAP = "leap over an octave", "occurrence", 6.0, "textbook rule (Kostka & Payne, Tonal Harmony, from memory); weight ours";
    /// Into a fixed note over a leap that the director ruled out; only two locks can force it.
    LEAP_INTO_FIXED = "leap into a fixed note", "occurrence", 10_000.0, "common practice, no source; large, so that it is never chosen";
    /// Consecutive octaves with the tune or the bass.
    PARALLEL_OCTAVE = "parallel octaves", "occurrence", 6.0, "textbook rule (Piston, Harmony, from memory); half weight, since choirs double";
    /// Consecutive fifths with the tune or the bass.
    PARALLEL_FIFTH = "parallel fifths", "occurrence", 4.0, "textbook rule (Piston, Harmony, from memory); half weight, since choirs double";
    /// A chord's seventh that does not fall a step or stay when the chord changes.
    SEVENTH = "seventh not resolved", "occurrence", 5.0, "textbook rule (Aldwell & Schachter, from memory); half weight in inner parts";
    /// A chord tone of the choir's reach that the choir leaves out.
    CHOIR_INCOMPLETE = "choir incomplete", "chord tone", 4.0, "Rimsky-Korsakov, Principles of Orchestration, on completeness of groups; weight ours";
    /// The third is nowhere.
    NO_THIRD = "no third", "chord", 40.0, "textbook rule (from memory); weight ours";
    /// The seventh is nowhere.
    NO_SEVENTH = "no seventh", "chord", 30.0, "textbook rule (from memory); weight ours";
    /// The root is nowhere.
    NO_ROOT = "no root", "chord", 30.0, "textbook rule (from memory); weight ours";
    /// The fifth is nowhere.
    NO_FIFTH = "no fifth", "chord", 2.0, "textbook rule (from memory); weight ours";
    /// Another tone that the sketch sounds is nowhere.
    NO_OTHER = "tone of the sketch missing", "chord", 8.0, "common practice, no source";
    /// Players unevenly shared over the chord tones.
    SHARE = "share of players", "squared difference of shares", 40.0, "pyramid balance as described after McBeth 1972; numbers ours";
}

/// Cost of a part's move by some semitones without direction.
#[must_use]
pub fn motion(semitones: u8) -> Milli {
    let v = f64::from(semitones);
    let units = match semitones {
        0..=2 => v,
        3..=7 => 2.0 * v - 2.0,
        _ => 3.0 * v - 9.0,
    };
    MOTION.of(units) + if semitones > 12 { WIDE_LEAP.of(1.0) } else { 0 }
}

/// The lowest bottom note (MIDI) at which an interval is clear, by semitones from a half step to
/// an octave (trade table of a retailer's glossary, raised to middle C = C4). `None`: anywhere.
#[must_use]
pub const fn low_limit(semitones: u8) -> Option<u8> {
    match semitones {
        1 => Some(52),
        2 => Some(51),
        3 => Some(48),
        4 => Some(47),
        5 => Some(45),
        6 => Some(47),
        7 => Some(37),
        8..=11 => Some(41),
        _ => None,
    }
}

/// Whether two pitches are too low for the interval between them.
#[must_use]
pub fn too_low(a: u8, b: u8) -> bool {
    low_limit(a.abs_diff(b)).is_some_and(|limit| a.min(b) < limit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_term_has_unit_weight_and_source() {
        for term in TERMS {
            assert!(
                term.weight > 0.0 && !term.unit.is_empty() && !term.source.is_empty(),
                "{}",
                term.name
            );
        }
    }

    #[test]
    fn motion_grows_without_jumps() {
        let sizes: Vec<Milli> = (0..=24).map(motion).collect();
        assert!(sizes.windows(2).all(|w| w[0] < w[1]));
        assert_eq!((motion(2), motion(7), motion(8)), (1000, 6000, 7500));
    }

    #[test]
    fn a_third_is_clear_from_b2_up() {
        assert!(too_low(46, 50));
        assert!(!too_low(47, 51));
        assert!(!too_low(24, 36));
    }
}
