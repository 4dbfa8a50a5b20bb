//! How likely each candidate note is to be on the line.
//!
//! A log-linear chain (conditional random field: Lafferty, McCallum and Pereira, ICML 2001) over
//! attacks. A line goes through candidates, each in one of the [`WAYS`], or rests. Each line has
//! points, and its probability is its share of the exponentials of the points of all lines. A
//! note is as likely as all lines through it together; the sums are exact (forward-backward).

use super::feature::WAYS;
use super::moves::{MoveWeights, Place};

/// Points, or the log of a sum of exponentials of points, by way.
type ByWay = [f64; WAYS];

const NONE: ByWay = [f64::NEG_INFINITY; WAYS];

/// The candidates, their points, and the moves between them.
pub(super) struct Chain<'a> {
    weights: &'a MoveWeights,
    /// In order of attack.
    places: Vec<Place>,
    points: Vec<ByWay>,
    /// For each candidate, where its moves begin; and the end.
    first_move: Vec<usize>,
    /// Earlier candidate and points of the move.
    moves: Vec<(usize, f64)>,
    /// For each attack, and the end, the candidates after which the line rests there.
    resting: Vec<Vec<usize>>,
    /// For each attack its first candidate, and the end.
    first: Vec<usize>,
    /// Points of resting over each attack.
    stay: Vec<f64>,
    /// Points of going from each candidate to its rest, or to the end.
    to_rest: Vec<f64>,
}

impl<'a> Chain<'a> {
    /// Takes candidates in order of attack, each with its points; `times` are the attacks'.
    pub(super) fn new(
        places: Vec<Place>,
        points: Vec<ByWay>,
        times: &[f64],
        weights: &'a MoveWeights,
    ) -> Self {
        let count = times.len();
        let first: Vec<usize> = (0..=count)
            .map(|k| places.partition_point(|p| p.attack < k))
            .collect();
        let quarters = |k: usize| times.get(k + 1).map_or(0.0, |next| next - times[k]);
        let mut resting = vec![Vec::new(); count + 1];
        let mut to_rest = Vec::with_capacity(places.len());
        for (i, place) in places.iter().enumerate() {
            let at = place.rest.min(count);
            let begin = if at == count { 0.0 } else { weights.rest };
            to_rest.push(begin + weights.passed(place, at));
            resting[at].push(i);
        }
        let (first_move, moves) = moves(&places, &first, weights);
        Self {
            weights,
            places,
            points,
            first_move,
            moves,
            resting,
            first,
            stay: (0..count).map(|k| weights.stay(quarters(k))).collect(),
            to_rest,
        }
    }

    fn into(&self, candidate: usize) -> &[(usize, f64)] {
        &self.moves[self.first_move[candidate]..self.first_move[candidate + 1]]
    }

    /// For each candidate the probability that the line takes it, by way.
    pub(super) fn probabilities(&self) -> Vec<ByWay> {
        let (forward, all) = self.forward();
        let backward = self.backward();
        let of = |(f, b): (&ByWay, &ByWay)| {
            let mut found = [0.0; WAYS];
            for (w, found) in found.iter_mut().enumerate() {
                *found = (f[w] + b[w] - all).exp().clamp(0.0, 1.0);
            }
            found
        };
        forward.iter().zip(&backward).map(of).collect()
    }

    /// For each candidate the sum over all lines up to it, and the sum over all whole lines.
    fn forward(&self) -> (Vec<ByWay>, f64) {
        let attacks = self.stay.len();
        let mut found: Vec<ByWay> = Vec::with_capacity(self.places.len());
        // The same, once the line has chosen the way in which it goes on.
        let mut onward: Vec<ByWay> = Vec::with_capacity(self.places.len());
        let mut rest = 0.0;
        for k in 0..=attacks {
            let mut resting = Sum::of(rest);
            for i in &self.resting[k] {
                for way in found[*i] {
                    resting.add(way + self.to_rest[*i]);
                }
            }
            rest = resting.log();
            if k == attacks {
                break;
            }
            for c in self.first[k]..self.first[k + 1] {
                let mut here = NONE;
                for (w, here) in here.iter_mut().enumerate() {
                    let mut sum = Sum::of(rest + self.weights.entry[w]);
                    for (from, points) in self.into(c) {
                        sum.add(onward[*from][w] + points);
                    }
                    *here = sum.log() + self.points[c][w];
                }
                found.push(here);
                onward.push(self.switched(&here));
            }
            rest += self.stay[k];
        }
        (found, rest)
    }

    /// For each candidate the sum over all ends of lines after it.
    fn backward(&self) -> Vec<ByWay> {
        let attacks = self.stay.len();
        let mut onward = vec![[Sum::of(f64::NEG_INFINITY); WAYS]; self.places.len()];
        let mut found = vec![NONE; self.places.len()];
        let mut rest = vec![0.0; attacks + 1];
        for k in (0..attacks).rev() {
            let mut resting = Sum::of(rest[k + 1] + self.stay[k]);
            for c in self.first[k]..self.first[k + 1] {
                let ended = rest[self.places[c].rest.min(attacks)] + self.to_rest[c];
                let moved = self.switched(&onward[c].map(Sum::log));
                for w in 0..WAYS {
                    let mut sum = Sum::of(ended);
                    sum.add(moved[w]);
                    found[c][w] = sum.log();
                    let here = found[c][w] + self.points[c][w];
                    for (from, points) in self.into(c) {
                        onward[*from][w].add(here + points);
                    }
                    resting.add(here + self.weights.entry[w]);
                }
            }
            rest[k] = resting.log();
        }
        found
    }

    /// Lets a line go on in another way.
    fn switched(&self, ways: &ByWay) -> ByWay {
        let mut found = NONE;
        for (w, found) in found.iter_mut().enumerate() {
            let mut sum = Sum::of(ways[w]);
            for other in (0..WAYS).filter(|o| *o != w) {
                sum.add(ways[other] + self.weights.switch);
            }
            *found = sum.log();
        }
        found
    }
}

fn moves(
    places: &[Place],
    first: &[usize],
    weights: &MoveWeights,
) -> (Vec<usize>, Vec<(usize, f64)>) {
    let mut starts = vec![0];
    let mut moves = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    for (k, pair) in first.windows(2).enumerate() {
        open.retain(|i| places[*i].rest > k);
        for b in &places[pair[0]..pair[1]] {
            moves.extend(open.iter().map(|i| (*i, weights.between(&places[*i], b))));
            starts.push(moves.len());
        }
        open.extend(pair[0]..pair[1]);
    }
    (starts, moves)
}

/// A sum of exponentials, kept as a log.
#[derive(Clone, Copy)]
struct Sum {
    most: f64,
    share: f64,
}

impl Sum {
    fn of(log: f64) -> Self {
        Self {
            most: log,
            share: 1.0,
        }
    }

    fn add(&mut self, log: f64) {
        if log > self.most {
            self.share = self.share * (self.most - log).exp() + 1.0;
            self.most = log;
        } else if log > f64::NEG_INFINITY {
            self.share += (log - self.most).exp();
        }
    }

    fn log(self) -> f64 {
        self.most + self.share.ln()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sketch::melody::weights::weights;

    /// Five attacks with one or two candidates each; the third comes after a rest.
    fn places() -> (Vec<Place>, Vec<f64>) {
        let times = vec![0.0, 1.0, 4.0, 4.5, 5.0];
        let rows = [
            (0, 60, 1.0),
            (0, 67, 3.0),
            (1, 64, 1.5),
            (2, 65, 5.5),
            (2, 72, 4.5),
            (3, 71, 5.0),
            (4, 67, 6.0),
        ];
        let place = |(attack, pitch, end): (usize, u8, f64)| Place {
            attack,
            let_go: times.partition_point(|t| t + 0.13 < end).max(attack + 1),
            rest: times.partition_point(|t| *t < end + 2.0).max(attack + 1),
            at: times[attack],
            end,
            pitch,
        };
        (rows.map(place).to_vec(), times)
    }

    /// Every line through the candidates: at each attack none, or a candidate in a way.
    fn all_lines(places: &[Place], attacks: usize) -> Vec<Vec<(usize, usize)>> {
        let mut lines: Vec<Vec<(usize, usize)>> = vec![Vec::new()];
        for k in 0..attacks {
            let mut longer = lines.clone();
            for (c, _) in places.iter().enumerate().filter(|(_, p)| p.attack == k) {
                for (line, way) in lines.iter().flat_map(|l| (0..WAYS).map(move |w| (l, w))) {
                    longer.push(line.iter().copied().chain([(c, way)]).collect());
                }
            }
            lines = longer;
        }
        lines
    }

    fn line_points(chain: &Chain, times: &[f64], line: &[(usize, usize)]) -> f64 {
        let (w, attacks) = (chain.weights, times.len());
        let stay = |from: usize, to: usize| -> f64 { chain.stay[from..to].iter().sum() };
        let mut points = 0.0;
        let mut before: Option<(usize, usize)> = None;
        for (c, way) in line {
            let place = &chain.places[*c];
            points += chain.points[*c][*way];
            points += match before {
                Some((b, was)) if chain.places[b].rest > place.attack => {
                    let switch = if was == *way { 0.0 } else { w.switch };
                    w.between(&chain.places[b], place) + switch
                }
                Some((b, _)) => {
                    let rest = chain.places[b].rest;
                    let passed = w.passed(&chain.places[b], rest);
                    passed + w.rest + stay(rest, place.attack) + w.entry[*way]
                }
                None => stay(0, place.attack) + w.entry[*way],
            };
            before = Some((*c, *way));
        }
        points
            + match before {
                Some((b, _)) if chain.places[b].rest < attacks => {
                    let rest = chain.places[b].rest;
                    w.passed(&chain.places[b], rest) + w.rest + stay(rest, attacks)
                }
                Some((b, _)) => w.passed(&chain.places[b], attacks),
                None => stay(0, attacks),
            }
    }

    #[test]
    fn probabilities_are_shares_of_all_lines() {
        let (places, times) = places();
        let points: Vec<ByWay> = (0..places.len())
            .map(|i| [0.3 * i as f64 - 0.5, 1.0 - 0.4 * i as f64])
            .collect();
        let moves = &weights()[0].moves;
        let chain = Chain::new(places.clone(), points, &times, moves);
        let found = chain.probabilities();
        let lines = all_lines(&places, times.len());
        let weight = |line: &[(usize, usize)]| line_points(&chain, &times, line).exp();
        let whole: f64 = lines.iter().map(|l| weight(l)).sum();
        for c in 0..places.len() {
            for way in 0..WAYS {
                let through = lines.iter().filter(|l| l.contains(&(c, way)));
                let share = through.map(|l| weight(l)).sum::<f64>() / whole;
                let found = found[c][way];
                assert!((share - found).abs() < 1e-9, "{c} {way}: {share} {found}");
            }
        }
    }
}
