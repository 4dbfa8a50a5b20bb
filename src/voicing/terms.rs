//! All terms of the voicing's cost in one place: what each counts, its unit, weight and source.
//!
//! What a note, a choir's chord or the whole band's chord costs counts by the length of its step: a
//! tenth of a beat at the least, two beats at the most ("a beat" in the units below). What a move
//! costs counts once. Costs are whole thousandths of a point, so that sums are exact and the same
//! everywhere.
//!
//! A style scales the weights ([`Weights`]); a weight of zero switches a term off.

/// A cost in thousandths of a point.
pub type Milli = i32;

/// A cost that no allowed answer reaches.
pub const FORBIDDEN: Milli = 100_000_000;

/// What is known of a term.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Facts {
    /// Its name.
    pub name: &'static str,
    /// What one unit is.
    pub unit: &'static str,
    /// Points a unit, where no style says otherwise.
    pub weight: f64,
    /// Where rule and weight come from.
    pub source: &'static str,
}

macro_rules! terms {
    ($($(#[doc = $doc:literal])+ $id:ident = $name:literal, $unit:literal, $weight:literal, $source:literal;)+) => {
        /// A term of the cost.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum Term { $($(#[doc = $doc])+ $id,)+ }

        impl Term {
            /// Every term.
            pub const ALL: &[Self] = &[$(Self::$id),+];

            /// Its name, unit, weight and source.
            #[must_use]
            pub const fn facts(self) -> Facts {
                match self {
                    $(Self::$id => Facts { name: $name, unit: $unit, weight: $weight, source: $source },)+
                }
            }
        }
    };
}

terms! {
    /// The players may miss the note.
    Clean = "clean chance", "-ln(chance) a beat", 6.0, "logistic item response (Rasch 1960; Birnbaum 1968); weight ours";
    /// The way from the note before may be missed: leap, break, slide, speed.
    CleanWay = "clean way", "-ln(chance) taken off by the way", 6.0, "logistic item response (Rasch 1960; Birnbaum 1968); weight ours";
    /// Far from the middle of what the part plays comfortably.
    Register = "register", "semitone beyond five from the middle a beat", 0.15, "common practice, no source";
    /// Above the middle of what the part plays comfortably.
    High = "high in the register", "semitone above the middle a beat", 0.0, "for dark styles; common practice, no source";
    /// Below the middle of what the part plays comfortably.
    Low = "low in the register", "semitone below the middle a beat", 0.0, "for bright styles; common practice, no source";
    /// A fingering or position that is out of tune.
    Tuning = "tuning", "cent beyond eight a beat, double on held notes and thirds", 0.02, "valve and partial arithmetic of equal temperament; size ours";
    /// A part that should fill the chord rests.
    Silent = "silent", "beat", 8.0, "common practice, no source";
    /// A half step or minor ninth against the tune.
    Clash = "clash with the tune", "beat", 6.0, "textbook rule (Adler, The Study of Orchestration, from memory); weight ours";
    /// A tone that is neither the tune's nor the bass's, in any octave.
    OtherTone = "neither tune nor bass", "beat", 0.0, "for unison and octaves; common practice, no source";
    /// Above the highest carrier of the tune.
    AboveTune = "above the tune", "semitone, six at most, a beat", 1.0, "common practice, no source";
    /// Below the lowest carrier of the bass.
    BelowBass = "below the bass", "beat", 10.0, "common practice, no source";
    /// Too low for its interval over the bass or a neighbour to be clear.
    LowInterval = "low interval", "1 + 2 for each unit of roughness over .70, a beat", 10.0, "roughness (Plomp & Levelt 1965, Sethares 1993) at the threshold that gives the trade's low interval limits; weight ours";
    /// Neighbours below C3 closer than a fifth.
    LowClose = "close below C3", "occurrence a beat", 3.0, "textbook rule of harmonic spacing (Piston, Orchestration, from memory); weight ours";
    /// A gap in the choir wider than the gap below it.
    WideOnTop = "wider above than below", "occurrence a beat", 0.5, "textbook rule of harmonic spacing (Piston, Orchestration, from memory); weight ours";
    /// A lower part above a higher one of its choir.
    Crossing = "crossing", "occurrence a beat", 5.0, "textbook rule (Piston, Harmony, from memory); weight ours";
    /// A part passes its neighbour's note before (choirs of two).
    Overlap = "overlap", "occurrence", 2.0, "textbook rule (Piston, Harmony, from memory); weight ours";
    /// Neighbours of a choir in unison.
    Unison = "unison in the choir", "occurrence a beat", 2.0, "common practice, no source";
    /// Neighbours of a choir more than an octave apart.
    Gap = "gap in the choir", "semitone over an octave, five at most, a beat", 2.0, "textbook rule (Piston, Harmony, from memory); weight ours";
    /// Neighbours of a choir wider than close position.
    Open = "wider than close position", "semitone over five, seven at most, a beat", 0.0, "for close position; common practice, no source";
    /// Neighbours of a choir closer than open position.
    Close = "closer than open position", "semitone under seven, a beat", 0.0, "for open position; common practice, no source";
    /// Neighbours of a choir closer than spread position.
    Narrow = "closer than spread position", "semitone under ten, a beat", 0.0, "for spread position; common practice, no source";
    /// A half step between neighbours of a choir.
    Rub = "half step in the choir", "occurrence a beat", 6.0, "textbook rule (from memory); weight ours";
    /// A minor ninth between parts of a choir.
    MinorNinth = "minor ninth in the choir", "occurrence a beat", 5.0, "textbook rule (from memory); weight ours";
    /// The leading tone twice in a choir.
    LeadingDoubled = "leading tone doubled", "part beyond the first in a choir, a beat", 7.5, "textbook rule (Kostka & Payne, Tonal Harmony, from memory); weight ours";
    /// The seventh or an altered tone twice in a choir.
    SeventhDoubled = "seventh doubled", "part beyond the first in a choir, a beat", 6.0, "textbook rule (Kostka & Payne, Tonal Harmony, from memory); weight ours";
    /// The third of a major chord twice in a choir.
    ThirdDoubled = "third doubled", "part beyond the first in a choir, a beat", 1.5, "textbook rule (Piston, Harmony, from memory); weight ours";
    /// The fifth twice in a choir.
    FifthDoubled = "fifth doubled", "part beyond the first in a choir, a beat", 0.5, "textbook rule (Piston, Harmony, from memory); weight ours";
    /// The major third on the loudest part that fills the chord.
    LoudThird = "third on the loudest part", "occurrence a beat", 1.5, "common practice, no source";
    /// How far a part moves.
    Motion = "motion", "v to 2 semitones, 2v-2 to 7, 3v-9 beyond", 0.5, "economy of motion (Tymoczko 2006 on size of voice leadings); curve ours";
    /// A part leaves a note that stays in the chord.
    CommonTone = "common tone left", "occurrence", 0.5, "textbook rule (Aldwell & Schachter, from memory); weight ours";
    /// A part starts or stops in the middle.
    Entry = "entry or stop", "occurrence", 0.5, "common practice, no source";
    /// A leap over an octave.
    WideLeap = "leap over an octave", "occurrence", 6.0, "textbook rule (Kostka & Payne, Tonal Harmony, from memory); weight ours";
    /// A tritone or a major seventh in one part.
    Awkward = "awkward interval", "occurrence", 2.0, "textbook rule on augmented intervals (Kostka & Payne, from memory); half weight, since names are not compared";
    /// Consecutive octaves with the tune or the bass.
    ParallelOctave = "parallel octaves", "occurrence", 6.0, "textbook rule (Piston, Harmony, from memory); half weight, since choirs double";
    /// Consecutive fifths with the tune or the bass.
    ParallelFifth = "parallel fifths", "occurrence", 4.0, "textbook rule (Piston, Harmony, from memory); half weight, since choirs double";
    /// Consecutive octaves or unisons between the parts of a choir of two.
    OwnOctave = "parallel octaves in the choir", "occurrence", 6.0, "textbook rule (Piston, Harmony, from memory); half weight";
    /// Consecutive fifths between the parts of a choir of two.
    OwnFifth = "parallel fifths in the choir", "occurrence", 1.0, "textbook rule (Piston, Harmony, from memory); an eighth of its weight, since chords of a section may move in block";
    /// The leading tone does not rise a step, or fall a third to the fifth, into the tonic or the sixth degree.
    LeadingTone = "leading tone not resolved", "occurrence", 3.0, "textbook rule for inner parts (Aldwell & Schachter, from memory); weight ours";
    /// A chord's seventh that does not fall a step or stay when the chord changes.
    Seventh = "seventh not resolved", "occurrence", 5.0, "textbook rule (Aldwell & Schachter, from memory); half weight in inner parts";
    /// A chord tone of the choir's reach that the choir leaves out.
    ChoirIncomplete = "choir incomplete", "chord tone a beat", 4.0, "Rimsky-Korsakov, Principles of Orchestration, on completeness of groups; weight ours";
    /// The third is nowhere.
    NoThird = "no third", "chord a beat", 40.0, "textbook rule (from memory); weight ours";
    /// The seventh is nowhere.
    NoSeventh = "no seventh", "chord a beat", 30.0, "textbook rule (from memory); weight ours";
    /// The root is nowhere.
    NoRoot = "no root", "chord a beat", 30.0, "textbook rule (from memory); weight ours";
    /// The perfect fifth is nowhere.
    NoFifth = "no fifth", "chord a beat", 2.0, "textbook rule (from memory); weight ours";
    /// An altered fifth is nowhere.
    NoAlteredFifth = "no altered fifth", "chord a beat", 25.0, "textbook rule (from memory); weight ours";
    /// Another tone that the sketch sounds is nowhere.
    NoOther = "tone of the sketch missing", "chord a beat", 8.0, "common practice, no source";
    /// A chord tone too strong or too weak against the others.
    Share = "balance of chord tones", "dB beyond three from its wanted share, fifteen at most, a beat", 0.3, "root over fifth and third, after the pyramid of balance described after McBeth 1972; numbers ours";
    /// The harmony sounds too little below middle C.
    LowWeak = "low tones too weak", "dB under six tenths of the harmony's sound below middle C, fifteen at most, a beat", 0.0, "for pyramid balance, described after McBeth 1972; share and line ours";
    /// No part of the harmony within an octave under the tune.
    HoleUnderTune = "hole under the tune", "occurrence a beat", 1.5, "textbook rule (Adler, The Study of Orchestration, from memory); weight ours";
    /// Into a fixed note over a leap that the director ruled out. Resting costs less, always: what two
    /// locks force is no cost but a [conflict](super::conflicts).
    LeapIntoFixed = "leap into a fixed note", "occurrence", 10_000.0, "common practice, no source; large, so that it is never chosen";
    /// Away from what the part had in the draft before.
    Moved = "moved from the draft", "note a beat", 0.0, "ours; a re-solve sets it";
}

impl Term {
    /// Its name as files have it: `clean_chance`.
    #[must_use]
    pub fn key(self) -> String {
        self.facts().name.replace(' ', "_")
    }

    /// Whether it stands for a hard limit, which no style switches off.
    #[must_use]
    pub const fn is_limit(self) -> bool {
        matches!(self, Self::LeapIntoFixed)
    }
}

/// What every term weighs, in points a unit.
#[derive(Clone, PartialEq, Debug)]
pub struct Weights(Vec<f64>);

impl Default for Weights {
    fn default() -> Self {
        Self(Term::ALL.iter().map(|t| t.facts().weight).collect())
    }
}

impl Weights {
    /// What a term weighs, in points a unit.
    #[must_use]
    pub fn points(&self, term: Term) -> f64 {
        self.0.get(term as usize).copied().unwrap_or(0.0)
    }

    /// The same with one term weighing something else; never less than nothing. What stands for a limit
    /// keeps its weight.
    #[must_use]
    pub fn with(mut self, term: Term, points: f64) -> Self {
        let own = self.0.get_mut(term as usize);
        if let Some(own) = own.filter(|_| !term.is_limit()) {
            *own = points.clamp(0.0, 10_000.0);
        }
        self
    }

    /// The cost of so many units of a term.
    #[must_use]
    pub fn of(&self, term: Term, units: f64) -> Milli {
        (self.points(term) * units * 1000.0).round() as Milli
    }
}

/// Somebody who is told the terms of a cost one by one: a sum, or a list for people.
pub trait Tally {
    /// A term with its units.
    fn add(&mut self, term: Term, units: f64);
}

/// The sum of the terms.
#[derive(Clone, Copy, Debug)]
pub struct Sum<'w> {
    weights: &'w Weights,
    /// The sum so far.
    pub milli: Milli,
}

impl<'w> Sum<'w> {
    /// Nothing yet.
    #[must_use]
    pub fn new(weights: &'w Weights) -> Self {
        Self { weights, milli: 0 }
    }
}

impl Tally for Sum<'_> {
    fn add(&mut self, term: Term, units: f64) {
        self.milli += self.weights.of(term, units);
    }
}

/// The terms one by one, those that cost nothing left out; their costs add up to the [`Sum`].
#[derive(Clone, Debug)]
pub struct Listed<'w> {
    weights: &'w Weights,
    /// Each term with its units and its cost, in the order told.
    pub costs: Vec<(Term, f64, Milli)>,
}

impl<'w> Listed<'w> {
    /// Nothing yet.
    #[must_use]
    pub fn new(weights: &'w Weights) -> Self {
        Self {
            weights,
            costs: Vec::new(),
        }
    }
}

impl Tally for Listed<'_> {
    fn add(&mut self, term: Term, units: f64) {
        let cost = self.weights.of(term, units);
        if cost != 0 {
            self.costs.push((term, units, cost));
        }
    }
}

/// Units of [`Term::Motion`] for so many semitones.
#[must_use]
pub fn motion_units(semitones: u8) -> f64 {
    let v = f64::from(semitones);
    match semitones {
        0..=2 => v,
        3..=7 => 2.0 * v - 2.0,
        _ => 3.0 * v - 9.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_term_has_unit_weight_and_source_and_a_name_of_its_own() {
        let mut names: Vec<&str> = Term::ALL.iter().map(|t| t.facts().name).collect();
        for (i, term) in Term::ALL.iter().enumerate() {
            let facts = term.facts();
            assert_eq!(*term as usize, i);
            assert!(facts.weight >= 0.0 && !facts.unit.is_empty() && !facts.source.is_empty());
        }
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Term::ALL.len());
    }

    #[test]
    fn motion_grows_without_jumps() {
        let sizes: Vec<f64> = (0..=24).map(motion_units).collect();
        assert!(sizes.windows(2).all(|w| w[0] < w[1]));
        assert_eq!((sizes[2], sizes[7], sizes[8]), (2.0, 12.0, 15.0));
    }

    #[test]
    fn a_list_adds_up_to_the_sum() {
        let weights = Weights::default();
        let (mut sum, mut list) = (Sum::new(&weights), Listed::new(&weights));
        for (term, units) in [
            (Term::Clean, 0.3333),
            (Term::Motion, 2.0),
            (Term::High, 4.0),
        ] {
            sum.add(term, units);
            list.add(term, units);
        }
        assert_eq!(list.costs.len(), 2);
        assert_eq!(list.costs.iter().map(|c| c.2).sum::<Milli>(), sum.milli);
    }
}
