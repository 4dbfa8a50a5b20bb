//! Every term of the scoring plan, in one place: what it is counted in, how many points a unit is worth, and
//! where that comes from. A style scales them ([`PlanWeights`]).
//!
//! The directions are those of `reference/scoring-habits`, common practice without source. All sizes are
//! ours: they were set so that demos and hymns come out as an arranger would have them.

use super::solve::PartRole;
use crate::score::Role;

macro_rules! terms {
    ($($(#[doc = $doc:literal])+ $id:ident = $name:literal, $unit:literal, $points:literal, $source:literal;)+) => {
        /// A term of the plan's cost.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
        pub enum Term {
            $($(#[doc = $doc])+ $id,)+
        }

        impl Term {
            /// Every term.
            pub const ALL: &'static [Self] = &[$(Self::$id),+];

            /// What it is called.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self { $(Self::$id => $name,)+ }
            }

            /// Its name as files have it: `tune_missing`.
            #[must_use]
            pub fn key(self) -> String {
                let name = match self { $(Self::$id => stringify!($id),)+ };
                let mut key = String::new();
                for letter in name.chars() {
                    if letter.is_uppercase() && !key.is_empty() {
                        key.push('_');
                    }
                    key.extend(letter.to_lowercase());
                }
                key
            }

            /// What it is counted in.
            #[must_use]
            pub const fn unit(self) -> &'static str {
                match self { $(Self::$id => $unit,)+ }
            }

            /// Points for one unit, before a style scales it.
            #[must_use]
            pub const fn points(self) -> f64 {
                match self { $(Self::$id => $points,)+ }
            }

            /// Where it comes from.
            #[must_use]
            pub const fn source(self) -> &'static str {
                match self { $(Self::$id => $source,)+ }
            }
        }
    };
}

terms! {
    /// The players on a line may miss its notes.
    Clean = "clean chance of the lines", "-ln(chance) a note, for each part on a line", 5.0, "logistic item response (Rasch 1960; Birnbaum 1968); weight ours";
    /// A part on a line cannot play all of it.
    Reach = "notes of a line out of reach", "share of the line, for each part on it", 3.0, "ours";
    /// Not even the best carrier of the tune has all of it.
    TuneMissing = "tune out of reach of all", "share of the tune", 40.0, "ours";
    /// Not even the best carrier of the bass has all of it.
    BassMissing = "bass out of reach of all", "share of the bass", 20.0, "ours";
    /// From a middle intensity on, the bass is left without the instruments that are there for it.
    BassDepth = "bass without the basses", "occurrence", 5.0, "common practice, no source";
    /// A lower part carries a line without the first part of its instrument, or its better.
    LowerAlone = "a lower part on the tune without the first", "instrument", 2.0, "common practice, no source";
    /// The tune lies under what is good for it among what else sounds.
    Presence = "presence of the tune", "dB under its target", 1.5, "common practice for the direction, no source; weight ours";
    /// There are too few parts for the chord.
    HarmonyShort = "too few parts for the chord", "part under three", 5.0, "common practice, no source";
    /// A second tune that nobody carries.
    CounterlineMissing = "counterline carried by nobody", "occurrence", 4.0, "common practice, no source";
    /// A figure that is to be kept and has too few parts, or too many.
    FigureCarriers = "figure with too few or too many parts", "part", 3.0, "ours";
    /// Louder or softer than the wanted intensity asks of the number of players.
    Loudness = "loudness against the wanted intensity", "dB beyond one", 0.3, "ours (presets/wanted-texture.toml)";
    /// Fuller or thinner than the wanted intensity asks.
    Density = "fullness against the wanted intensity", "tenth of the wind players", 0.7, "ours (presets/wanted-texture.toml)";
    /// The way of scoring is usual for another intensity.
    WayStep = "a way for another intensity", "step between the two", 4.5, "common practice, no source (scoring-habits.toml); weight ours";
    /// A part does something else than in the usual way that is nearest.
    Unusual = "unlike the usual way", "part that does something else", 1.2, "common practice, no source (scoring-habits.toml); weight ours";
    /// Parts on a line that have usual partners, none of whom goes along.
    Doubling = "without a usual partner", "tenth of the parts on lines", 0.15, "common practice, no source (usual-doublings.toml); weight ours";
    /// A choir that plays chords and leaves some of its parts out, so that it has no whole chord.
    ChoirBroken = "choir without a whole chord", "choir", 1.0, "Rimsky-Korsakov, Principles of Orchestration, on the completeness of groups; weight ours";
    /// A line left to one player, or to one part that is not marked as able to be exposed.
    Exposed = "a line left to one player or part", "occurrence", 4.0, "common practice, no source";
    /// A line left to one weak player.
    ExposedWeak = "a line left to one weak player", "occurrence", 20.0, "common practice, no source";
    /// A line left to a part that is never to be heard alone.
    NeverAlone = "alone against the director's word", "occurrence", 40.0, "the director's remark; weight ours, so that it is never chosen";
    /// Players with two instruments are wanted on both.
    TwoInstruments = "players wanted on both instruments", "pair of parts", 8.0, "ours";
    /// What the arranger's own passages do is not followed.
    Evidence = "unlike the arranger's own passages", "point of evidence", 2.0, "ours (src/plan/evidence.rs)";
    /// The colour of the tune is that of the passage before.
    SameColour = "colour of the tune as before", "share of the players on it", 2.5, "common practice, no source";
    /// Brass plays in full again after a passage in full, below a strong one.
    BrassAgain = "brass in full again", "share of the brass players in both beyond half", 2.0, "common practice, no source";
    /// The tune goes to other parts where it leaves no breath.
    HandOver = "hand-over without a breath or a shared part", "occurrence", 1.0, "common practice, no source";
    /// Before a peak of the show the tune has the colour that the peak has.
    PeakColour = "colour of the peak given away before it", "share of the players on the tune", 4.0, "common practice, no source (scoring-habits.md)";
    /// Before a peak of the show nearly everybody plays, so that nothing is left to add.
    PeakFull = "nothing left to add at the peak", "tenth of the wind players beyond seven in ten", 1.0, "common practice, no source (scoring-habits.md)";
    /// Brass that carries the tune at a peak of the show has played up to it.
    PeakFresh = "no rest before the peak for those who carry it", "share of the brass on the tune at the peak", 3.0, "common practice, no source (scoring-habits.md)";
    /// Music that came before is scored otherwise, although it is wanted as intense.
    Repeat = "repeated music scored otherwise", "distance between the plans, 0 to 1", 6.0, "common practice, no source";
    /// Lips that have too little left in a passage.
    Load = "tired lips", "tenth of reserve lacking in a passage, for each part of brass", 0.5, "three-compartment muscle model (band::load), borrowed for lips; weight ours";
    /// Brass that plays on for too long without a passage of rest.
    RestDue = "brass that is due a rest", "bar beyond what the weakest player of a part goes without, eight at most a passage", 0.15, "common practice, no source";
}

/// How many terms there are.
pub(super) const TERMS: usize = Term::ALL.len();

/// What every term counts, as a style scales it: 1 as it is, 0 switched off.
#[derive(Clone, PartialEq, Debug)]
pub struct PlanWeights([f64; TERMS]);

impl Default for PlanWeights {
    fn default() -> Self {
        Self([1.0; TERMS])
    }
}

impl PlanWeights {
    /// The same with a term counting so many times as much as it would: 0 switches it off; less than 0
    /// and what is no number counts as 0.
    ///
    /// ```
    /// use bandwright::plan::{PlanWeights, Term};
    /// let loud = PlanWeights::default().scaled(Term::Presence, 2.0);
    /// assert_eq!(loud.points(Term::Presence), 2.0 * Term::Presence.points());
    /// assert_eq!(loud.points(Term::Density), Term::Density.points());
    /// ```
    #[must_use]
    pub fn scaled(mut self, term: Term, times: f64) -> Self {
        let times = if times.is_nan() { 0.0 } else { times };
        self.0[term as usize] = times.clamp(0.0, f64::MAX);
        self
    }

    /// The same where a timeline says how intense the show is wanted: what the arranger says of loudness and fullness
    /// counts more than what a sketch, as it was played, only suggests. The sizes are ours: the least of those tried
    /// with which the demo follows two opposite shapes (a test).
    #[must_use]
    pub fn for_a_timeline(&self) -> Self {
        let mut louder = self.clone();
        for (term, times) in [
            (Term::Loudness, 2.0),
            (Term::Density, 4.0),
            (Term::WayStep, 2.0),
            // What covers the tune is written softer then, too.
            (Term::Presence, 0.5),
        ] {
            louder.0[term as usize] *= times;
        }
        louder
    }

    /// Points for one unit of a term.
    #[must_use]
    pub fn points(&self, term: Term) -> f64 {
        term.points() * self.0[term as usize]
    }
}

/// What a plan pays for one term.
#[derive(Clone, PartialEq, Debug)]
pub struct PlanCost {
    /// For what.
    pub term: Term,
    /// How much.
    pub points: f64,
    /// In words.
    pub text: String,
}

/// What is paid for each term.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Tally(pub [f64; TERMS]);

impl Default for Tally {
    fn default() -> Self {
        Self([0.0; TERMS])
    }
}

impl Tally {
    /// Adds points.
    pub fn add(&mut self, term: Term, points: f64) {
        self.0[term as usize] += points;
    }

    /// All together.
    pub fn sum(&self) -> f64 {
        self.0.iter().sum()
    }

    /// Adds all of another.
    pub fn join(&mut self, other: &Self) {
        for (sum, one) in self.0.iter_mut().zip(other.0) {
            *sum += one;
        }
    }

    /// Those that are paid, the largest first; of equals in the order of the terms.
    pub fn largest(&self) -> Vec<(Term, f64)> {
        let all = Term::ALL.iter().map(|t| (*t, self.0[*t as usize]));
        let mut paid: Vec<(Term, f64)> = all.filter(|(_, p)| *p > 0.005).collect();
        paid.sort_by(|a, b| b.1.total_cmp(&a.1));
        paid
    }
}

/// How unlike two roles of a part are, 0 to 1 (ours): what a listener would notice of it.
#[must_use]
pub fn unlike(one: PartRole, other: PartRole) -> f64 {
    use Role::{Bass, Counterline, Figure, Harmony, Melody, Rest};
    match (one.role, other.role) {
        (Melody, Melody) => {
            if one.octave == other.octave {
                0.0
            } else {
                0.4
            }
        }
        (a, b) if a == b => 0.0,
        (Melody, _) | (_, Melody) => 1.0,
        (Rest, Harmony) | (Harmony, Rest) => 0.6,
        (Counterline, Harmony) | (Harmony, Counterline) => 0.7,
        (Bass | Figure | Counterline | Harmony | Rest, _) => 0.8,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_term_stands_at_its_place_and_has_all_it_needs() {
        for (i, term) in Term::ALL.iter().enumerate() {
            assert_eq!(*term as usize, i);
            assert!(term.points() > 0.0, "{}", term.name());
            assert!(!term.unit().is_empty() && !term.source().is_empty());
        }
    }

    #[test]
    fn weights_are_never_negative_and_never_no_number() {
        for times in [f64::NAN, f64::NEG_INFINITY, -1.0, f64::INFINITY] {
            let weights = PlanWeights::default().scaled(Term::Clean, times);
            assert!(weights.points(Term::Clean) >= 0.0, "{times}");
        }
    }
}
