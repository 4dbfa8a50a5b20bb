//! The written onsets: a least-cost path over strikes, each on a point of its beat's division.
//!
//! A beat is divided in one way; a struck point is paid once however many notes begin there, so
//! that chords gather; what cannot be one chord must not meet on a point.

use super::divisions::{CHANGE, Costs, Counts, DIVISIONS, Family};
use super::ruler::{Cell, Ruler};
use super::strikes::Strike;

/// Where a strike was played, on the written grid.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Place {
    /// In written ticks, with fractions.
    pub(super) at: f64,
    /// Seconds of a written tick there.
    pub(super) tick_seconds: f64,
}

/// Where a strike is written.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Spot {
    /// The written onset.
    pub(super) tick: u64,
    /// Its beat.
    pub(super) cell: Cell,
    /// Index of the beat's division.
    pub(super) division: u8,
    /// Index of its point.
    pub(super) point: u8,
}

impl Spot {
    /// The point as a fraction of the beat: numerator and denominator.
    pub(super) fn fraction(&self) -> (u64, u64) {
        let division = &DIVISIONS[usize::from(self.division)];
        let point = division.points.get(usize::from(self.point)).copied();
        (point.unwrap_or(0), division.parts)
    }
}

/// What fitting gave.
#[derive(Clone, Debug)]
pub(super) struct Fitted {
    /// The spot of each strike; `None` for a grace note.
    pub(super) spots: Vec<Option<Spot>>,
    /// What it all cost, in nats.
    pub(super) cost: f64,
    /// How far strikes are usually off, in seconds.
    pub(super) noise: f64,
}

/// A state of the path after a strike.
#[derive(Clone, Copy, Debug)]
struct State {
    cell: u64,
    division: u8,
    point: u8,
    cost: f64,
    /// Index of the state before, among those of the strike before.
    from: u32,
    /// Index of the last strike that has a spot.
    last: u32,
    /// Whether this strike has the spot (or is a grace note before the next).
    placed: bool,
}

/// What is kept of a state to find the way back.
#[derive(Clone, Copy, Debug)]
struct Trace {
    from: u32,
    spot: Option<Spot>,
}

/// Most states kept after a strike.
const MOST_STATES: usize = 24;
/// States that cost so much more than the best are dropped, in nats.
const BEAM: f64 = 30.0;
/// What it costs that two notes in a row meet on one point.
const MEETING: f64 = 14.0;
/// What a grace note costs. Chosen by trial.
const GRACE: f64 = 4.5;
/// Strikes after which the path so far is settled, to bound the memory.
const BLOCK: usize = 16_384;
/// Noise of the first pass, in seconds.
const FIRST_NOISE: f64 = 0.022;
/// Bounds of the noise that is learnt, in seconds.
const NOISE: (f64, f64) = (0.008, 0.04);

/// Fits strikes (in order of time) to the grid, learning from the piece in `passes` rounds.
pub(super) fn fit(
    strikes: &[Strike],
    places: &[Place],
    ruler: &Ruler<'_>,
    passes: usize,
) -> Fitted {
    let compound = places
        .first()
        .is_some_and(|p| ruler.cell(whole(p.at)).compound);
    let mut counts = Counts::default();
    let mut noise = FIRST_NOISE;
    let mut best: Option<Fitted> = None;
    for _ in 0..passes.max(1) {
        let costs = Costs::learnt(&counts, compound);
        let mut fitted = one_pass(strikes, places, ruler, &costs, noise);
        noise = learn_noise(&fitted.spots, places);
        counts = count(&fitted.spots);
        fitted.noise = noise;
        best = Some(fitted);
    }
    best.unwrap_or(Fitted {
        spots: Vec::new(),
        cost: 0.0,
        noise,
    })
}

/// A time on the grid as a whole tick.
pub(super) fn whole(at: f64) -> u64 {
    at.max(0.0) as u64
}

fn learn_noise(spots: &[Option<Spot>], places: &[Place]) -> f64 {
    let errors = spots
        .iter()
        .zip(places)
        .filter_map(|(s, p)| s.map(|s| error(&s, p).abs()));
    let mut errors: Vec<f64> = errors.collect();
    if errors.is_empty() {
        return FIRST_NOISE;
    }
    errors.sort_by(f64::total_cmp);
    // The median of absolute errors is 0.6745 of a Gaussian's deviation; outliers do not move it.
    let median = errors[errors.len() / 2] / 0.6745;
    let kept = errors
        .partition_point(|e| *e < 3.0 * median.max(0.004))
        .max(1);
    let square = errors[..kept].iter().map(|e| e * e).sum::<f64>() / kept as f64;
    square.sqrt().clamp(NOISE.0, NOISE.1)
}

/// How late a strike was, in seconds.
pub(super) fn error(spot: &Spot, place: &Place) -> f64 {
    (place.at - spot.tick as f64) * place.tick_seconds
}

fn count(spots: &[Option<Spot>]) -> Counts {
    let mut counts = Counts::default();
    let mut last: Option<Spot> = None;
    for spot in spots.iter().flatten() {
        let d = usize::from(spot.division);
        if last.is_none_or(|l| l.cell.start != spot.cell.start) {
            counts.beats[d] += 1.0;
        }
        if last.is_none_or(|l| l.tick != spot.tick) {
            counts.struck[d][usize::from(spot.point)] += 1.0;
        }
        last = Some(*spot);
    }
    counts
}

fn one_pass(
    strikes: &[Strike],
    places: &[Place],
    ruler: &Ruler<'_>,
    costs: &Costs,
    noise: f64,
) -> Fitted {
    let mut spots: Vec<Option<Spot>> = Vec::with_capacity(strikes.len());
    let mut pass = Pass {
        strikes,
        places,
        ruler,
        costs,
        noise,
        states: Vec::new(),
    };
    let mut traces: Vec<Vec<Trace>> = Vec::new();
    let mut cost = 0.0;
    for i in 0..strikes.len().min(places.len()) {
        let trace = pass.step(i);
        traces.push(trace);
        if traces.len() == BLOCK || i + 1 == strikes.len() {
            let best = pass.settle();
            cost = best.0;
            way_back(&traces, best.1, &mut spots);
            traces.clear();
        }
    }
    cost += empty_beats(&spots, costs) + spots.len() as f64 * noise.ln();
    Fitted { spots, cost, noise }
}

fn way_back(traces: &[Vec<Trace>], last: usize, spots: &mut Vec<Option<Spot>>) {
    let start = spots.len();
    let mut at = last;
    for states in traces.iter().rev() {
        let trace = states.get(at).copied().unwrap_or(Trace {
            from: 0,
            spot: None,
        });
        spots.push(trace.spot);
        at = trace.from as usize;
    }
    spots[start..].reverse();
}

/// What the beats cost in which nothing begins.
fn empty_beats(spots: &[Option<Spot>], costs: &Costs) -> f64 {
    let mut cost = 0.0;
    let mut last: Option<Cell> = None;
    for spot in spots.iter().flatten() {
        if let Some(last) = last.filter(|l| l.start < spot.cell.start) {
            let empty = (spot.cell.start - last.end) as f64 / spot.cell.full as f64;
            cost += costs.empty_beat() * empty.min(16.0);
        }
        last = Some(spot.cell);
    }
    cost
}

/// One pass over the strikes.
struct Pass<'a> {
    strikes: &'a [Strike],
    places: &'a [Place],
    ruler: &'a Ruler<'a>,
    costs: &'a Costs,
    noise: f64,
    /// States after the last strike, the cheapest first.
    states: Vec<State>,
}

impl Pass<'_> {
    /// Goes on by a strike.
    fn step(&mut self, i: usize) -> Vec<Trace> {
        let place = self.places[i];
        let cell = self.ruler.cell(whole(place.at));
        let next = self.ruler.cell(cell.end);
        let mut found: Vec<State> = Vec::with_capacity(64);
        let enter = self.entering(cell.start);
        let enter_next = self.entering(next.start);
        let near_next = (next.start as f64 - place.at) * place.tick_seconds < 4.5 * self.noise;
        for (d, division) in DIVISIONS.iter().enumerate() {
            let f = cell.fraction(place.at) * division.parts as f64;
            let after = division.points.partition_point(|p| *p as f64 <= f);
            for p in after.saturating_sub(1)..(after + 2).min(division.points.len()) {
                self.reach(i, (cell, d, p), &enter, &mut found);
            }
            if near_next || after == division.points.len() {
                self.reach(i, (next, d, 0), &enter_next, &mut found);
            }
        }
        if self.strikes[i].may_be_grace {
            found.extend(self.states.iter().enumerate().map(|(from, s)| State {
                cost: s.cost + GRACE,
                from: from as u32,
                placed: false,
                ..*s
            }));
        }
        found.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        let limit = found.first().map_or(0.0, |s| s.cost + BEAM);
        let mut seen: Vec<State> = Vec::with_capacity(MOST_STATES);
        for state in found {
            if state.cost > limit || seen.len() == MOST_STATES {
                break;
            }
            let same = |s: &State| {
                (s.cell, s.division, s.point) == (state.cell, state.division, state.point)
            };
            if !seen.iter().any(same) {
                seen.push(state);
            }
        }
        self.states = seen;
        self.states
            .iter()
            .map(|s| Trace {
                from: s.from,
                spot: s.placed.then(|| self.spot(s, cell, next)),
            })
            .collect()
    }

    fn spot(&self, state: &State, cell: Cell, next: Cell) -> Spot {
        let cell = if state.cell == cell.start { cell } else { next };
        let division = &DIVISIONS[usize::from(state.division)];
        let point = division.points[usize::from(state.point)];
        Spot {
            tick: cell.tick(point, division.parts),
            cell,
            division: state.division,
            point: state.point,
        }
    }

    /// The cheapest way into a beat from an earlier one, by the family of the beat left: cost and
    /// index of the state.
    fn entering(&self, cell: u64) -> [Option<(f64, u32)>; 2] {
        let mut best = [None, None];
        for (i, state) in self
            .states
            .iter()
            .enumerate()
            .filter(|(_, s)| s.cell < cell)
        {
            let family = usize::from(family_of(state.division) == Family::Triplet);
            if best[family].is_none_or(|(c, _)| state.cost < c) {
                best[family] = Some((state.cost, i as u32));
            }
        }
        best
    }

    /// Adds the state in which a strike is on a point.
    fn reach(
        &self,
        i: usize,
        (cell, d, p): (Cell, usize, usize),
        enter: &[Option<(f64, u32)>; 2],
        found: &mut Vec<State>,
    ) {
        let division = &DIVISIONS[d];
        let tick = cell.tick(division.points[p], division.parts);
        if tick >= cell.end {
            return;
        }
        let place = self.places[i];
        let off = (place.at - tick as f64) * place.tick_seconds / self.noise;
        let struck = self.costs.point[d][p];
        let mut best: Option<(f64, u32)> = None;
        let mut offer = |cost: f64, from: u32| {
            if best.is_none_or(|(c, _)| cost < c) {
                best = Some((cost, from));
            }
        };
        if self.states.is_empty() {
            offer(self.costs.beat[d] + struck, 0);
        }
        for (family, from) in [Family::Straight, Family::Triplet].into_iter().zip(enter) {
            if let Some((cost, from)) = from {
                let change = if family == division.family {
                    0.0
                } else {
                    CHANGE
                };
                offer(cost + change + self.costs.beat[d] + struck, *from);
            }
        }
        for (from, state) in self.states.iter().enumerate() {
            if state.cell != cell.start || usize::from(state.division) != d {
                continue;
            }
            if usize::from(state.point) < p {
                offer(state.cost + struck, from as u32);
            } else if usize::from(state.point) == p {
                let before = self.strikes.get(state.last as usize);
                let meets = before.is_some_and(|b| b.leads_to(&self.strikes[i]));
                offer(state.cost + if meets { MEETING } else { 0.0 }, from as u32);
            }
        }
        if let Some((cost, from)) = best {
            found.push(State {
                cell: cell.start,
                division: d as u8,
                point: p as u8,
                cost: cost + 0.5 * off * off,
                from,
                last: i as u32,
                placed: true,
            });
        }
    }

    /// Settles on the best state: its cost and its index; the path goes on from it alone.
    fn settle(&mut self) -> (f64, usize) {
        self.states.truncate(1);
        if let Some(best) = self.states.first_mut() {
            best.from = 0;
            return (best.cost, 0);
        }
        (0.0, 0)
    }
}

fn family_of(division: u8) -> Family {
    DIVISIONS[usize::from(division)].family
}
