//! Choosing a way of scoring for every passage: a shortest path along the passages.

use super::candidates::{Candidate, candidates, step_cost};
use super::closed::{close_for_doubles, close_for_keys, close_for_rests, rest_bars};
use super::drums::{DrumMusic, give_drums};
use super::evidence::Evidence;
use super::figures::{FigurePlan, give_figure, keep_turns};
use super::fit::ChanceCosts;
use super::habits::usual_ways;
use super::line::Lines;
use super::rests::give_rests;
use crate::band::Band;
use crate::music::{KeySignature, MeterMap, TempoMap, Tick};
use crate::score::{Closed, Locks, Passage, Role};
use crate::sketch::Reading;

/// What a part does in a passage.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct PartRole {
    /// Its role.
    pub role: Role,
    /// Octaves above the sketch's line that are wished for (melody only).
    pub octave: i16,
}

/// A passage with a role for every part.
#[derive(Clone, PartialEq, Debug)]
pub struct PassagePlan {
    /// The passage.
    pub passage: Passage,
    /// What the way of scoring does, in words.
    pub way: String,
    /// A role for every part of the band, in its order.
    pub roles: Vec<PartRole>,
    /// How its figures are played, if it has any.
    pub figure: Option<FigurePlan>,
}

/// The roles of all parts in all passages.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct ScoringPlan {
    /// The passages in order.
    pub passages: Vec<PassagePlan>,
    /// Where parts may play nothing, whatever their role.
    pub closed: Closed,
    /// Total cost in points.
    pub cost: f64,
}

impl ScoringPlan {
    /// The passage that a tick lies in; after the last one, the last.
    #[must_use]
    pub fn passage(&self, at: Tick) -> Option<&PassagePlan> {
        let next = self.passages.partition_point(|p| p.passage.start <= at);
        self.passages.get(next.checked_sub(1)?)
    }
}

/// All that a plan follows from.
#[derive(Clone, Copy, Debug)]
pub struct Setting<'a> {
    /// The band.
    pub band: &'a Band,
    /// What is played of the sketch.
    pub reading: &'a Reading,
    /// Its lines as one player could play them.
    pub lines: &'a Lines,
    /// The passages.
    pub passages: &'a [Passage],
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// Tempos.
    pub tempo: &'a TempoMap,
    /// The signatures that the file writes, in order.
    pub signatures: &'a [(Tick, KeySignature)],
    /// What the arranger fixed.
    pub locks: &'a Locks,
}

/// The best scoring plan for a band over some passages. A band that the usual ways do not fit is
/// scored by a way made for it: the tune to those who play it cleanest, the bass to the lowest.
/// `figures` says how the figures of each passage are played (empty: nobody keeps any); parts that
/// carry them are chosen with the rest.
#[must_use]
pub fn plan(setting: &Setting<'_>, figures: Vec<Option<FigurePlan>>) -> ScoringPlan {
    let (band, passages) = (setting.band, setting.passages);
    let mut closed = closed_for_keys(setting);
    let ways = usual_ways().unwrap_or_default();
    let costs = ChanceCosts::of_band(band);
    let evidence = Evidence::of(setting);
    let options: Vec<Vec<Candidate>> = passages
        .iter()
        .enumerate()
        .map(|p| candidates(setting, &costs, &closed, p, &ways, &evidence))
        .collect();
    let (path, cost) = shortest_path(&options, passages);
    let chosen = path
        .iter()
        .zip(options)
        .zip(passages)
        .map(|((i, mut all), passage)| {
            let option = all.swap_remove(*i);
            let way = ways
                .get(option.way)
                .map_or("the tune to those who play it cleanest", |w| &w.name);
            PassagePlan {
                passage: *passage,
                way: way.to_owned(),
                roles: option.roles,
                figure: None,
            }
        });
    let mut passages: Vec<PassagePlan> = chosen.collect();
    for (planned, figure) in passages.iter_mut().zip(figures) {
        planned.figure = figure;
        give_figure(band, &closed, planned);
    }
    keep_turns(&mut passages);
    give_rests(band, &mut passages);
    give_drums(band, &drum_music(setting), &mut passages);
    let time = (setting.meters, setting.tempo);
    close_for_doubles(band, &mut passages, time, setting.locks, &mut closed);
    let music = rest_bars::Music {
        band,
        reading: setting.reading,
        lines: setting.lines,
        meters: setting.meters,
        locks: setting.locks,
        passages: &passages,
    };
    close_for_rests(&music, &mut closed);
    ScoringPlan {
        passages,
        closed,
        cost,
    }
}

fn drum_music<'a>(setting: &Setting<'a>) -> DrumMusic<'a> {
    DrumMusic {
        reading: setting.reading,
        lines: setting.lines,
        meters: setting.meters,
    }
}

/// Where parts rest because of the keys that were found, and those that the file writes.
fn closed_for_keys(setting: &Setting<'_>) -> Closed {
    let mut closed = Closed::default();
    let found = setting.reading.keys.iter();
    let found: Vec<(Tick, KeySignature)> = found.map(|k| (k.start, k.signature)).collect();
    close_for_keys(setting.band, &[&found, setting.signatures], &mut closed);
    closed
}

/// The cheapest choice of one option a passage; of equals the earlier option.
fn shortest_path(options: &[Vec<Candidate>], passages: &[Passage]) -> (Vec<usize>, f64) {
    let Some(first) = options.first() else {
        return (Vec::new(), 0.0);
    };
    let mut best: Vec<f64> = first.iter().map(|o| o.cost).collect();
    let mut back: Vec<Vec<usize>> = Vec::new();
    for (pair, passage) in options.windows(2).zip(passages.iter().skip(1)) {
        let (before, now) = (&pair[0], &pair[1]);
        let arrive = |to: &Candidate| {
            let ways = before
                .iter()
                .zip(&best)
                .map(|(from, b)| b + step_cost(from, to, passage));
            ways.enumerate()
                .min_by(|a, b| a.1.total_cmp(&b.1))
                .unwrap_or((0, 0.0))
        };
        let arrivals: Vec<(usize, f64)> = now.iter().map(arrive).collect();
        best = arrivals
            .iter()
            .zip(now)
            .map(|((_, c), o)| c + o.cost)
            .collect();
        back.push(arrivals.into_iter().map(|(i, _)| i).collect());
    }
    let (mut last, cost) = least(&best);
    let mut path = vec![last];
    for step in back.iter().rev() {
        last = step[last];
        path.push(last);
    }
    path.reverse();
    (path, cost)
}

fn least(costs: &[f64]) -> (usize, f64) {
    let best = costs
        .iter()
        .copied()
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(&b.1));
    best.unwrap_or((0, 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::BarNumber;
    use proptest::prelude::*;

    fn passage(intensity: f64) -> Passage {
        Passage {
            start: Tick(0),
            end: Tick(1),
            first_bar: BarNumber(1),
            last_bar: BarNumber(1),
            intensity,
            repeats: None,
        }
    }

    /// Every choice of one option a passage, one after the other.
    fn cheapest(
        options: &[Vec<Candidate>],
        passages: &[Passage],
        at: usize,
        before: Option<&Candidate>,
    ) -> f64 {
        let Some(here) = options.get(at) else {
            return 0.0;
        };
        let cost = |o: &Candidate| {
            let step = before.map_or(0.0, |b| step_cost(b, o, &passages[at]));
            o.cost + step + cheapest(options, passages, at + 1, Some(o))
        };
        here.iter().map(cost).fold(f64::INFINITY, f64::min)
    }

    proptest! {
        #[test]
        fn the_path_is_the_cheapest_of_all(
            costs in prop::collection::vec(prop::collection::vec((0_usize..3, 0.0..5.0_f64, 0.0..1.0_f64), 1..4), 1..6)
        ) {
            let options: Vec<Vec<Candidate>> = costs.iter().map(|all| {
                all.iter().map(|(way, cost, brass)| Candidate::bare(*way, *cost, *brass)).collect()
            }).collect();
            let passages: Vec<Passage> = (0..options.len()).map(|i| passage(i as f64 * 2.0)).collect();
            let (path, cost) = shortest_path(&options, &passages);
            prop_assert_eq!(path.len(), options.len());
            prop_assert!((cost - cheapest(&options, &passages, 0, None)).abs() < 1e-9);
        }
    }
}
