//! Finding the melody: the likeliest line through the attacks, not the top note alone.

mod attacks;
mod chain;
mod context;
mod doubles;
mod evidence;
mod feature;
mod figure;
mod line_so_far;
mod look;
mod loudness;
mod moves;
mod patterns;
mod weights;

use crate::music::MeterMap;
use crate::sketch::reading::{Evidence, Line, ReadNote};
use crate::sketch::tags::TagPoints;
use crate::sketch::track_prior::TrackPrior;
use attacks::{Attacks, Struck};
use chain::Chain;
use context::contexts;
pub(super) use doubles::mark_doubles;
use feature::{Values, WAYS};
use line_so_far::usual;
use look::{Look, second_look, surroundings};
use loudness::loudness;
use moves::Place;
use weights::{Weights, weights};

/// How many of the highest new pitches may be melody.
const HIGHEST: usize = 6;
/// How many of the lowest.
const LOWEST: usize = 2;
/// How likely a note must be, at the least and at the most, to be taken for melody.
const LIKELY: (f64, f64) = (0.2, 0.5);
/// How often the limit between these is set anew.
const ROUNDS: usize = 8;

/// What the melody finder needs to know of the notes.
pub(super) struct MelodyView<'a> {
    pub(super) notes: &'a [ReadNote],
    pub(super) prior: &'a TrackPrior,
    pub(super) meters: &'a MeterMap,
    /// Whether to give the evidence.
    pub(super) why: bool,
}

/// The melody's notes in order, each with how sure it is, 0 to 1.
pub(super) type Found = Vec<(usize, f32)>;

/// Finds the melody; with it, if asked for, the evidence for each note.
pub(super) fn find_melody(view: &MelodyView) -> (Found, Vec<Vec<Evidence>>) {
    let [first, second] = weights();
    let mut search = Search::new(view);
    let sure = sure(&search.probabilities(first));
    search.look_again(&search.likely_line(&sure));
    let ways = search.probabilities(second);
    let sure = self::sure(&ways);
    let found = search
        .likely_line(&sure)
        .into_iter()
        .map(|c| (search.note(c).note, sure[c] as f32))
        .collect();
    let mut evidence = Vec::new();
    if view.why {
        evidence.resize(view.notes.len(), Vec::new());
        for (c, candidate) in search.candidates.iter().enumerate() {
            let note = search.note(c).note;
            let way = usize::from(ways[c][1] > ways[c][0]);
            let weights = &second.features[way];
            let tag = search.tags.of(&view.notes[note]);
            evidence[note] = if tag == 0.0 {
                evidence::of(&candidate.values, weights, candidate.prior, sure[c])
            } else {
                evidence::of_tag(tag)
            };
        }
    }
    (found, evidence)
}

/// How likely a note must be so that the line as a whole is most right: half of the F1 that the
/// line can expect (Lipton, Elkan and Naryanaswamy, "Optimal thresholding of classifiers to
/// maximize F1 measure", ECML 2014). A sure line takes what is likelier than not; an unsure one
/// rather takes a few notes too many than leaves holes.
fn likely_enough(sure: &[f64], line: &[usize]) -> f64 {
    let wanted: f64 = sure.iter().sum();
    let mut limit = LIKELY.1;
    for _ in 0..ROUNDS {
        let taken = line.iter().map(|c| sure[*c]).filter(|s| *s >= limit);
        let (count, right) = taken.fold((0.0, 0.0), |sum, s| (sum.0 + 1.0, sum.1 + s));
        limit = (right / (count + wanted).max(1e-9)).clamp(LIKELY.0, LIKELY.1);
    }
    limit
}

/// How likely each candidate is, whatever the way.
fn sure(ways: &[[f64; WAYS]]) -> Vec<f64> {
    let all = ways.iter().map(|w| w.iter().sum::<f64>());
    all.map(|sum| sum.min(1.0)).collect()
}

/// A note that may be melody.
struct Candidate {
    attack: usize,
    /// Index in [`Attacks::struck`].
    struck: usize,
    values: Values,
    /// Points for its track.
    prior: f64,
}

struct Search {
    attacks: Attacks,
    tags: TagPoints,
    candidates: Vec<Candidate>,
}

impl Search {
    fn new(view: &MelodyView) -> Self {
        let tags = TagPoints::new(view.notes, Line::Melody);
        let likely = |n: &ReadNote| view.prior.score(n, view.meters) + tags.of(n);
        let attacks = Attacks::new(view.notes, view.meters, likely);
        let (contexts, loudness) = (contexts(&attacks, view.meters), loudness(&attacks));
        let look = Look {
            attacks: &attacks,
            contexts: &contexts,
            loudness: &loudness,
        };
        let (mut looked, mut struck) = (Vec::new(), Vec::new());
        for (k, attack) in attacks.list.iter().enumerate() {
            for i in attack.struck.clone() {
                let note = &attacks.struck[i];
                let (over, all) = (attack.above(note.pitch), attack.pitches);
                let tagged = view.notes[note.note].tag == Some(Line::Melody);
                if over < HIGHEST || over + LOWEST >= all || tagged {
                    looked.push((k, look.values(k, note)));
                    struck.push(i);
                }
            }
        }
        surroundings(&mut looked, &attacks, &contexts);
        let candidate = |((attack, values), struck): ((usize, Values), usize)| Candidate {
            attack,
            struck,
            values,
            prior: likely(&view.notes[attacks.struck[struck].note]),
        };
        let candidates = looked.into_iter().zip(struck).map(candidate).collect();
        Self {
            attacks,
            tags,
            candidates,
        }
    }

    fn note(&self, candidate: usize) -> &Struck {
        &self.attacks.struck[self.candidates[candidate].struck]
    }

    /// How likely each candidate is to be on the line, by way.
    fn probabilities(&self, weights: &Weights) -> Vec<[f64; WAYS]> {
        let points = self.candidates.iter().map(|c| points(c, weights)).collect();
        let places = self
            .candidates
            .iter()
            .map(|c| Place::new(&self.attacks, c.attack, &self.attacks.struck[c.struck]))
            .collect();
        let times: Vec<f64> = self.attacks.list.iter().map(|a| a.at).collect();
        Chain::new(places, points, &times, &weights.moves).probabilities()
    }

    /// The likeliest candidate of each attack, if it is likely enough.
    fn likely_line(&self, sure: &[f64]) -> Vec<usize> {
        let mut line: Vec<usize> = Vec::new();
        for (c, candidate) in self.candidates.iter().enumerate() {
            match line.last_mut() {
                Some(last) if self.candidates[*last].attack == candidate.attack => {
                    if sure[c] > sure[*last] {
                        *last = c;
                    }
                }
                _ => line.push(c),
            }
        }
        let likely = likely_enough(sure, &line);
        line.retain(|c| sure[*c] >= likely);
        line
    }

    /// Adds to each candidate how it fits the line found so far.
    fn look_again(&mut self, line: &[usize]) {
        let chosen: Vec<(usize, usize)> = line
            .iter()
            .map(|c| (self.candidates[*c].attack, self.candidates[*c].struck))
            .collect();
        let usual = usual(&self.attacks, &chosen);
        for c in &mut self.candidates {
            let attack = &self.attacks.list[c.attack];
            let note = &self.attacks.struck[c.struck];
            second_look(&mut c.values, &usual[c.attack], attack, note);
        }
    }
}

fn points(candidate: &Candidate, weights: &Weights) -> [f64; WAYS] {
    weights.features.map(|way| {
        let all = candidate.values.iter().zip(&way);
        candidate.prior + all.map(|(v, w)| f64::from(*v) * w).sum::<f64>()
    })
}
