//! The written onsets: a least-cost path over strikes, each on a point of its beat's division.
//!
//! A beat is divided in one way; a struck point is paid once however many notes begin there, so
//! that chords gather; what cannot be one chord must not meet on a point.

use super::divisions::{CHANGE, Costs, Counts, DIVISIONS, Family, MOST_POINTS};
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
    cost: f64,
    trace: Trace,
    /// Index of the last strike that has a spot.
    last: u32,
}

/// What is kept of a state to find the way back.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Trace {
    /// First tick of its beat.
    cell: u64,
    division: u8,
    point: u8,
    /// Index of the state before, among those of the strike before.
    from: u32,
    /// Whether this strike has the spot (or is a grace note before the next).
    placed: bool,
}

impl Trace {
    const fn place(&self) -> (u64, u8, u8) {
        (self.cell, self.division, self.point)
    }
}

/// Most states kept after a strike.
const MOST_STATES: usize = 16;
/// States that cost so much more than the best are dropped, in nats.
const BEAM: f64 = 16.0;
/// Points so far from a strike are not tried, in deviations of the noise, if there are nearer ones.
const FAR: f64 = 5.0;
/// What it costs that two notes in a row meet on one point.
const MEETING: f64 = 14.0;
/// What it costs at most that two notes held together are written apart; less the farther apart
/// they are struck, nothing from so many seconds on. Chosen by trial.
const PARTING: f64 = 5.0;
const PARTED: f64 = 0.11;
/// What a grace note costs. Chosen by trial.
const GRACE: f64 = 4.5;
/// Strikes after which the path so far is settled, to bound the memory.
const BLOCK: usize = 16_384;
/// Noise of the first pass, in seconds.
const FIRST_NOISE: f64 = 0.022;
/// Bounds of the noise that is learnt, in seconds.
const NOISE: (f64, f64) = (0.01, 0.04);

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
        states: Vec::with_capacity(MOST_STATES),
        found: Vec::new(),
        seats: Seats::default(),
        traces: Vec::new(),
        starts: Vec::new(),
    };
    for i in 0..strikes.len().min(places.len()) {
        pass.step(i);
        if pass.starts.len() == BLOCK {
            pass.settle(&mut spots);
        }
    }
    pass.settle(&mut spots);
    let cost = pass.states.first().map_or(0.0, |s| s.cost)
        + empty_beats(&spots, costs)
        + spots.len() as f64 * noise.ln();
    Fitted { spots, cost, noise }
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

/// Which state, counted from 1, is on which point of the two beats next to a strike; 0 for none.
struct Seats([[[u8; MOST_POINTS]; DIVISIONS.len()]; 2]);

impl Default for Seats {
    fn default() -> Self {
        Self([[[0; MOST_POINTS]; DIVISIONS.len()]; 2])
    }
}

impl Seats {
    fn set(&mut self, states: &[State], cells: [u64; 2], seated: bool) {
        for (i, state) in states.iter().enumerate() {
            let t = state.trace;
            for (slot, cell) in cells.into_iter().enumerate() {
                if t.cell == cell {
                    let seat = if seated { i as u8 + 1 } else { 0 };
                    self.0[slot][usize::from(t.division)][usize::from(t.point)] = seat;
                }
            }
        }
    }
}

/// Ways into a beat from earlier ones, by the family of the beat left: cost and index of the state.
type Enter = [Option<(f64, u32)>; 2];

/// One of the two beats next to a strike.
#[derive(Clone, Copy)]
struct Near {
    slot: usize,
    cell: Cell,
    enter: Enter,
}

/// One pass over the strikes.
struct Pass<'a> {
    strikes: &'a [Strike],
    places: &'a [Place],
    ruler: &'a Ruler<'a>,
    costs: &'a Costs,
    noise: f64,
    /// States after the last strike, the cheapest first, one for each place.
    states: Vec<State>,
    /// Room for states that are found.
    found: Vec<State>,
    seats: Seats,
    /// The way back: the states of all strikes since the path was last settled.
    traces: Vec<Trace>,
    /// Where the states of each strike begin in it.
    starts: Vec<usize>,
}

impl Pass<'_> {
    /// Goes on by a strike.
    fn step(&mut self, i: usize) {
        let cell = self.ruler.cell(whole(self.places[i].at));
        let next = self.ruler.cell(cell.end);
        let cells = [cell.start, next.start];
        self.seats.set(&self.states, cells, true);
        let mut found = std::mem::take(&mut self.found);
        found.clear();
        self.reach_all(i, (cell, next), FAR, &mut found);
        if found.is_empty() {
            self.reach_all(i, (cell, next), f64::INFINITY, &mut found);
        }
        if self.strikes[i].may_be_grace {
            for (from, state) in self.states.iter().enumerate() {
                let trace = Trace {
                    from: from as u32,
                    placed: false,
                    ..state.trace
                };
                let cost = state.cost + GRACE;
                found.push(State {
                    cost,
                    trace,
                    ..*state
                });
            }
        }
        self.seats.set(&self.states, cells, false);
        found.sort_unstable_by(|a, b| a.cost.total_cmp(&b.cost).then(a.trace.cmp(&b.trace)));
        let limit = found.first().map_or(0.0, |s| s.cost + BEAM);
        self.states.clear();
        for state in &found {
            if state.cost > limit || self.states.len() == MOST_STATES {
                break;
            }
            let place = state.trace.place();
            if self.states.iter().all(|s| s.trace.place() != place) {
                self.states.push(*state);
            }
        }
        self.found = found;
        self.starts.push(self.traces.len());
        self.traces.extend(self.states.iter().map(|s| s.trace));
    }

    /// Adds the states in which a strike is on a point near it.
    fn reach_all(&self, i: usize, (cell, next): (Cell, Cell), far: f64, found: &mut Vec<State>) {
        let place = self.places[i];
        let here = Near {
            slot: 0,
            cell,
            enter: self.entering(cell.start),
        };
        let there = Near {
            slot: 1,
            cell: next,
            enter: self.entering(next.start),
        };
        let near_next = (next.start as f64 - place.at) * place.tick_seconds < 4.5 * self.noise;
        for (d, division) in DIVISIONS.iter().enumerate() {
            let f = cell.fraction(place.at) * division.parts as f64;
            let after = division.points.partition_point(|p| *p as f64 <= f);
            for p in after.saturating_sub(1)..(after + 2).min(division.points.len()) {
                self.reach(i, &here, (d, p), far, found);
            }
            if near_next || after == division.points.len() {
                self.reach(i, &there, (d, 0), far, found);
            }
        }
    }

    /// The cheapest ways into a beat from an earlier one.
    fn entering(&self, cell: u64) -> Enter {
        let mut best = [None, None];
        for (i, state) in self.states.iter().enumerate() {
            let family = usize::from(family_of(state.trace.division) == Family::Triplet);
            // The states are in order of cost: the first is the cheapest.
            if state.trace.cell < cell && best[family].is_none() {
                best[family] = Some((state.cost, i as u32));
            }
        }
        best
    }

    /// Adds the state in which a strike is on a point, by the cheapest way.
    fn reach(
        &self,
        i: usize,
        near: &Near,
        (d, p): (usize, usize),
        far: f64,
        found: &mut Vec<State>,
    ) {
        let division = &DIVISIONS[d];
        let tick = near.cell.tick(division.points[p], division.parts);
        let place = self.places[i];
        let off = (place.at - tick as f64) * place.tick_seconds / self.noise;
        if tick >= near.cell.end || off.abs() > far {
            return;
        }
        if let Some((cost, from)) = self.cheapest(i, near, (d, p)) {
            let trace = Trace {
                cell: near.cell.start,
                division: d as u8,
                point: p as u8,
                from,
                placed: true,
            };
            let cost = cost + lateness(off.abs());
            found.push(State {
                cost,
                trace,
                last: i as u32,
            });
        }
    }

    /// The cheapest way to a point: cost and index of the state before.
    fn cheapest(&self, i: usize, near: &Near, (d, p): (usize, usize)) -> Option<(f64, u32)> {
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
        for (family, from) in [Family::Straight, Family::Triplet]
            .into_iter()
            .zip(near.enter)
        {
            if let Some((cost, from)) = from {
                let change = if family == DIVISIONS[d].family {
                    0.0
                } else {
                    CHANGE
                };
                let last = self.states.get(from as usize).map_or(0, |s| s.last);
                let parted = self.parting(last, i);
                offer(cost + change + self.costs.beat[d] + struck + parted, from);
            }
        }
        for (point, seat) in self.seats.0[near.slot][d][..=p].iter().enumerate() {
            let Some(from) = usize::from(*seat).checked_sub(1) else {
                continue;
            };
            let state = &self.states[from];
            if point < p {
                let parted = self.parting(state.last, i);
                offer(state.cost + struck + parted, from as u32);
            } else {
                let before = self.strikes.get(state.last as usize);
                let meets = before.is_some_and(|b| b.leads_to(&self.strikes[i]));
                offer(state.cost + if meets { MEETING } else { 0.0 }, from as u32);
            }
        }
        best
    }

    /// What it costs that two strikes get points of their own: much where they are nearly together
    /// and held together, as in a chord.
    fn parting(&self, last: u32, i: usize) -> f64 {
        let strike = &self.strikes[i];
        let Some(before) = self.strikes.get(last as usize) else {
            return 0.0;
        };
        let gap = strike.heard - before.heard;
        if gap >= PARTED || before.leads_to(strike) {
            return 0.0;
        }
        PARTING * (1.0 - gap / PARTED)
    }

    /// Settles on the cheapest state: its way is the way so far, and goes on from it alone.
    fn settle(&mut self, spots: &mut Vec<Option<Spot>>) {
        let known = spots.len();
        let mut at = 0;
        let mut end = self.traces.len();
        for start in self.starts.iter().rev() {
            let trace = self.traces[*start..end].get(at);
            spots.push(trace.filter(|t| t.placed).map(|t| self.spot(t)));
            at = trace.map_or(0, |t| t.from as usize);
            end = *start;
        }
        spots[known..].reverse();
        self.states.truncate(1);
        self.traces.clear();
        self.starts.clear();
    }

    fn spot(&self, trace: &Trace) -> Spot {
        let cell = self.ruler.cell(trace.cell);
        let division = &DIVISIONS[usize::from(trace.division)];
        let point = division.points[usize::from(trace.point)];
        Spot {
            tick: cell.tick(point, division.parts),
            cell,
            division: trace.division,
            point: trace.point,
        }
    }
}

/// What it costs to be so many deviations off: as for a Gaussian, but straight beyond (Huber
/// 1964), since a few notes are late for other reasons.
fn lateness(off: f64) -> f64 {
    if off <= STRAIGHT {
        0.5 * off * off
    } else {
        STRAIGHT * (off - 0.5 * STRAIGHT)
    }
}

/// Where it becomes straight.
const STRAIGHT: f64 = 3.0;

fn family_of(division: u8) -> Family {
    DIVISIONS[usize::from(division)].family
}
