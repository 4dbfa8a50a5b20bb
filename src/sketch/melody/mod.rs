//! Finding the melody: the likeliest line through the attacks, not the top note alone.

mod attacks;
mod chain;
mod context;
mod feature;
pub mod lab;
mod line_so_far;
mod look;
mod loudness;
mod moves;
mod patterns;
mod weights;

use super::reading::ReadNote;
use super::track_prior::TrackPrior;
use crate::music::MeterMap;
use attacks::{Attacks, Struck};
use chain::Chain;
use context::contexts;
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
/// How likely a note must be to be taken for melody. Less than one half: in trials a tune with a
/// few notes too many scored better than one with holes.
const LIKELY: f64 = 0.33;

/// What the melody finder needs to know of the notes.
pub(super) struct MelodyView<'a> {
    pub(super) notes: &'a [ReadNote],
    pub(super) prior: &'a TrackPrior,
    pub(super) meters: &'a MeterMap,
}

/// The melody's notes in order, each with how sure it is, 0 to 1.
pub(super) fn find_melody(view: &MelodyView) -> Vec<(usize, f32)> {
    let [first, second] = weights();
    let mut search = Search::new(view);
    let (line, _) = search.solve(first);
    search.look_again(&line);
    let (line, sure) = search.solve(second);
    line.into_iter()
        .map(|c| (search.note(c).note, sure[c] as f32))
        .collect()
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
    candidates: Vec<Candidate>,
}

impl Search {
    fn new(view: &MelodyView) -> Self {
        let likely = |n: &ReadNote| view.prior.score(n, view.meters);
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
                if over < HIGHEST || over + LOWEST >= all {
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
            candidates,
        }
    }

    fn note(&self, candidate: usize) -> &Struck {
        &self.attacks.struck[self.candidates[candidate].struck]
    }

    /// The best line and how likely each candidate is.
    fn solve(&self, weights: &Weights) -> (Vec<usize>, Vec<f64>) {
        let points = self.candidates.iter().map(|c| points(c, weights)).collect();
        let places = self
            .candidates
            .iter()
            .map(|c| Place::new(&self.attacks, c.attack, &self.attacks.struck[c.struck]))
            .collect();
        let times: Vec<f64> = self.attacks.list.iter().map(|a| a.at).collect();
        let chain = Chain::new(places, points, &times, &weights.moves);
        let ways = chain.probabilities();
        let sure: Vec<f64> = ways
            .iter()
            .map(|w| w.iter().sum::<f64>().min(1.0))
            .collect();
        (self.likely_line(&sure), sure)
    }

    /// The likeliest candidate of each attack that has a likely one.
    fn likely_line(&self, sure: &[f64]) -> Vec<usize> {
        let mut line: Vec<usize> = Vec::new();
        for (c, candidate) in self.candidates.iter().enumerate() {
            if sure[c] < LIKELY {
                continue;
            }
            match line.last_mut() {
                Some(last) if self.candidates[*last].attack == candidate.attack => {
                    if sure[c] > sure[*last] {
                        *last = c;
                    }
                }
                _ => line.push(c),
            }
        }
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
        candidate.prior + all.map(|(v, w)| v * w).sum::<f64>()
    })
}
