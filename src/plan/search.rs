//! The best choices of one option for each of several units, exactly, by branch and bound: the best of all,
//! then the best of those far enough from it, and so on.
//!
//! What a choice costs is a sum over the units, which differs by mode (a usual way of scoring), and what
//! the choice costs as a whole, which does not. Units are decided in turn. What is decided already and, of each unit that is
//! not, the cheapest option make a bound that no choice can be under; so does the same with a minorant added,
//! a sum over the units that is never over the cost as a whole.

/// A sum over the units that is never more than what any choice costs as a whole.
#[derive(Clone, Debug, Default)]
pub(super) struct Minorant {
    /// What it starts from.
    pub start: f64,
    /// By unit and option.
    pub each: Vec<Vec<f64>>,
}

/// One set of sums over the units.
#[derive(Clone, Debug, Default)]
pub(super) struct Mode {
    /// What it starts from.
    pub start: f64,
    /// By unit and option.
    pub each: Vec<Vec<f64>>,
}

/// What is searched.
pub(super) struct Field<'a> {
    /// At least one; a choice costs what it does in its cheapest mode.
    pub modes: Vec<Mode>,
    /// The empty one need not be given.
    pub minorants: Vec<Minorant>,
    /// For the bound by sound: by unit and option, what it adds to the tune and to the rest.
    pub sound: Vec<Vec<[f64; 2]>>,
    /// What a choice costs as a whole, never under 0.
    pub whole: &'a dyn Fn(&[usize]) -> f64,
    /// What of that is due at least with at most so much of the tune and at least so much of the rest.
    pub least: &'a dyn Fn(f64, f64) -> f64,
    /// The same as a line: what it is at no tune and no rest, and what a unit of the tune takes from it and of the
    /// rest adds, for at most [`Field::most`] in the sum; never too much where the rest is from one value (over
    /// 0) to another. The first argument is the tune about which it is close.
    pub line: &'a dyn Fn(f64, f64, f64) -> (f64, f64, f64),
    /// The most that is due of that.
    pub most: f64,
    /// How far two options of a unit are apart; far enough is `apart` in the sum.
    pub distance: &'a dyn Fn(usize, usize, usize) -> f64,
    /// How far the choices that are found must be apart.
    pub apart: f64,
    /// How many nodes may be visited for the best choice, and for each that follows.
    pub most_nodes: [usize; 2],
}

/// A choice that was found.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Found {
    /// An option for every unit.
    pub picks: Vec<usize>,
    /// In which mode it is cheapest.
    pub mode: usize,
    /// What it costs.
    pub cost: f64,
}

/// What a search brings.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Best {
    /// Each the cheapest of those far enough from all before it.
    pub found: Vec<Found>,
    /// No choice costs less.
    pub lower_bound: f64,
    /// Whether all of them are proven.
    pub proven: bool,
}

/// Sums of the cheapest options of the units from each on, for a mode and a minorant.
struct Rest {
    start: f64,
    /// By unit and option: mode and minorant together.
    each: Vec<Vec<f64>>,
    /// One more than units; the last is 0.
    after: Vec<f64>,
}

impl Rest {
    fn of(mode: &Mode, minorant: &Minorant) -> Self {
        let none = Vec::new();
        let row = |u: usize| minorant.each.get(u).unwrap_or(&none);
        let both = |u: usize, o: usize| mode.each[u][o] + row(u).get(o).copied().unwrap_or(0.0);
        let each: Vec<Vec<f64>> = (0..mode.each.len())
            .map(|u| (0..mode.each[u].len()).map(|o| both(u, o)).collect())
            .collect();
        let mut after = vec![0.0; each.len() + 1];
        for u in (0..each.len()).rev() {
            after[u] = after[u + 1] + each[u].iter().copied().fold(f64::INFINITY, f64::min);
        }
        Self {
            start: mode.start + minorant.start,
            each,
            after,
        }
    }

    fn root(&self) -> f64 {
        self.start + self.after[0]
    }
}

/// A mode ready for the search.
struct Ready {
    /// With no minorant first, then with each.
    rests: Vec<Rest>,
    /// Options of each unit, the most promising first.
    order: Vec<Vec<usize>>,
}

impl Ready {
    fn root(&self) -> f64 {
        let all = self.rests.iter().map(Rest::root);
        all.fold(f64::NEG_INFINITY, f64::max)
    }
}

/// The best choices, at most so many; fewer where no more are far enough apart.
pub(super) fn best(field: &Field<'_>, count: usize) -> Best {
    let ready: Vec<Ready> = field.modes.iter().map(|m| make_ready(field, m)).collect();
    let mut modes: Vec<usize> = (0..ready.len()).collect();
    modes.sort_by(|a, b| ready[*a].root().total_cmp(&ready[*b].root()));
    let units = field.sound.len();
    let after = |side: usize| {
        let mut sums = vec![0.0; units + 1];
        for u in (0..units).rev() {
            let most = field.sound[u].iter().map(|s| s[side]).fold(0.0, f64::max);
            sums[u] = sums[u + 1] + most;
        }
        sums
    };
    let mut search = Search {
        field,
        ready: &ready,
        sound_after: [after(0), after(1)],
        before: Vec::new(),
        seen: Vec::new(),
        best: None,
        tune: 0.0,
        nodes: 0,
        picks: vec![0; units],
        sums: Vec::new(),
        apart: Vec::new(),
    };
    for mode in modes.iter().take(MOST_STARTS) {
        search.start(*mode);
    }
    let roots = ready.iter().map(Ready::root).fold(f64::INFINITY, f64::min);
    let mut best = Best {
        found: Vec::new(),
        lower_bound: roots.max(0.0),
        proven: true,
    };
    for i in 0..count {
        let whole = search.run(&modes);
        best.proven &= whole;
        let Some(found) = search.best.take() else {
            break;
        };
        if i == 0 {
            best.lower_bound = if whole {
                found.cost
            } else {
                search.root_bound().clamp(best.lower_bound, found.cost)
            };
        }
        search.add_before(&found.picks);
        best.found.push(found);
    }
    best
}

/// From so many modes a first choice is made better by itself before the search.
const MOST_STARTS: usize = 5;
/// So often all units of it are gone through.
const SWEEPS: usize = 2;

fn make_ready(field: &Field<'_>, mode: &Mode) -> Ready {
    let none = Minorant::default();
    let minorants = std::iter::once(&none).chain(&field.minorants);
    let rests: Vec<Rest> = minorants.map(|m| Rest::of(mode, m)).collect();
    let by = rests.get(1).or(rests.first());
    let order = (0..mode.each.len()).map(|u| {
        let mut options: Vec<usize> = (0..mode.each[u].len()).collect();
        let cost = |o: usize| by.map_or(0.0, |r| r.each[u][o]);
        options.sort_by(|a, b| cost(*a).total_cmp(&cost(*b)).then(a.cmp(b)));
        options
    });
    let order = order.collect();
    Ready { rests, order }
}

/// How far each choice found before is, and can become.
struct Before {
    /// By unit and option.
    each: Vec<Vec<f64>>,
    /// The most that the units from each on can add.
    after: Vec<f64>,
}

struct Search<'a> {
    field: &'a Field<'a>,
    ready: &'a [Ready],
    /// The most that the units from each on can add to the tune and to the rest.
    sound_after: [Vec<f64>; 2],
    before: Vec<Before>,
    /// Every whole choice that was priced, so that later searches start from a good one.
    seen: Vec<Found>,
    best: Option<Found>,
    /// The tune of the best choice when the search began.
    tune: f64,
    nodes: usize,
    picks: Vec<usize>,
    /// By depth, then by [`Ready::rests`]: sums so far, without their starts.
    sums: Vec<f64>,
    /// By depth, then by [`Search::before`]: how far it is so far.
    apart: Vec<f64>,
}

/// Sums are compared with this much to spare, so that rounding leaves nothing out.
const ROUNDING: f64 = 1e-9;

impl Search<'_> {
    /// Prices the plainest choice of a mode, and what better ones lie next to it.
    fn start(&mut self, mode: usize) {
        let firsts = self.ready[mode].order.iter().map(|o| o.first().copied());
        let Some(picks) = firsts.collect::<Option<Vec<usize>>>() else {
            return;
        };
        let mut here = self.price(mode, &picks);
        for _ in 0..SWEEPS {
            for unit in 0..picks.len() {
                for option in 0..self.field.modes[mode].each[unit].len() {
                    if option == here.picks[unit] {
                        continue;
                    }
                    let mut picks = here.picks.clone();
                    picks[unit] = option;
                    let found = self.price(mode, &picks);
                    if found.cost < here.cost {
                        here = found;
                    }
                }
            }
        }
    }

    fn price(&mut self, mode: usize, picks: &[usize]) -> Found {
        let of = &self.field.modes[mode];
        let sum: f64 = picks.iter().zip(&of.each).map(|(o, e)| e[*o]).sum();
        let found = Found {
            picks: picks.to_vec(),
            mode,
            cost: of.start + sum + (self.field.whole)(picks),
        };
        self.seen.push(found.clone());
        found
    }

    fn add_before(&mut self, picks: &[usize]) {
        let distance = self.field.distance;
        let row = |(u, options): (usize, &Vec<[f64; 2]>)| -> Vec<f64> {
            let all = 0..options.len();
            all.map(|o| distance(u, o, picks[u])).collect()
        };
        let each: Vec<Vec<f64>> = self.field.sound.iter().enumerate().map(row).collect();
        let mut after = vec![0.0; each.len() + 1];
        for u in (0..each.len()).rev() {
            after[u] = after[u + 1] + each[u].iter().copied().fold(0.0, f64::max);
        }
        self.before.push(Before { each, after });
    }

    fn is_far(&self, picks: &[usize]) -> bool {
        let far = |b: &Before| {
            let sum: f64 = picks.iter().zip(&b.each).map(|(o, e)| e[*o]).sum();
            sum + ROUNDING >= self.field.apart
        };
        self.before.iter().all(far)
    }

    /// Searches all modes; whether nothing was left out.
    fn run(&mut self, modes: &[usize]) -> bool {
        self.nodes = 0;
        let known = self.seen.iter().filter(|f| self.is_far(&f.picks));
        self.best = known.min_by(|a, b| a.cost.total_cmp(&b.cost)).cloned();
        let tune = |f: &Found| -> f64 {
            let picks = f.picks.iter().zip(&self.field.sound);
            picks.map(|(o, s)| s[*o][0]).sum()
        };
        self.tune = self.best.as_ref().map_or(0.0, tune);
        let depths = self.picks.len() + 1;
        for mode in modes {
            self.sums.clear();
            self.sums.resize(depths * self.width(*mode), 0.0);
            self.apart.clear();
            self.apart.resize(depths * self.before.len(), 0.0);
            self.go(*mode, 0, [0.0; 2]);
        }
        self.nodes < self.most_nodes()
    }

    /// No choice costs less: by sound as a line, over the modes.
    fn root_bound(&self) -> f64 {
        let of = |rest: &Rest| {
            let line = self.by_line(rest, 0.0, 0, [0.0; 2]);
            line.min(rest.root() + self.field.most).max(rest.root())
        };
        let mode = |m: &Ready| m.rests.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
        let modes = self.ready.iter().map(mode);
        modes.fold(f64::INFINITY, f64::min)
    }

    fn most_nodes(&self) -> usize {
        self.field.most_nodes[usize::from(!self.before.is_empty())]
    }

    fn width(&self, mode: usize) -> usize {
        self.ready[mode].rests.len()
    }

    /// Whether no choice below a place can be better than what is known.
    fn is_lost(&self, mode: usize, unit: usize, sound: [f64; 2]) -> bool {
        let Some(best) = &self.best else { return false };
        let worst = best.cost - ROUNDING;
        let rests = &self.ready[mode].rests;
        let from = unit * rests.len();
        let of = |i: usize| rests[i].start + self.sums[from + i] + rests[i].after[unit];
        let mut most = (0, of(0));
        for i in 1..rests.len() {
            let bound = of(i);
            if bound > most.1 {
                most = (i, bound);
            }
        }
        let due = (self.field.least)(sound[0] + self.sound_after[0][unit], sound[1]);
        // What the minorants and the sound make due are different terms: both count.
        if most.1 + due >= worst {
            return true;
        }
        let (place, bound) = most;
        let line = self.by_line(&rests[place], self.sums[from + place], unit, sound);
        line.min(bound + self.field.most) >= worst
    }

    /// The bound with what is due of sound as a line.
    fn by_line(&self, rest: &Rest, sum: f64, unit: usize, sound: [f64; 2]) -> f64 {
        let tune = self.tune.max(sound[0]);
        let (low, high) = (sound[1], sound[1] + self.sound_after[1][unit]);
        let (start, takes, adds) = (self.field.line)(tune, low, high);
        let mut bound = rest.start + sum + start - takes * sound[0] + adds * sound[1];
        for (each, sounds) in rest.each.iter().zip(&self.field.sound).skip(unit) {
            let options = each.iter().zip(sounds);
            let cost = options.map(|(e, s)| e - takes * s[0] + adds * s[1]);
            bound += cost.fold(f64::INFINITY, f64::min);
        }
        bound
    }

    fn can_be_far(&self, unit: usize) -> bool {
        let from = unit * self.before.len();
        let so_far = self.apart.iter().skip(from);
        let far = |(a, b): (&f64, &Before)| a + b.after[unit] + ROUNDING >= self.field.apart;
        so_far.zip(&self.before).all(far)
    }

    fn go(&mut self, mode: usize, unit: usize, sound: [f64; 2]) {
        self.nodes += 1;
        if self.nodes >= self.most_nodes() {
            return;
        }
        if !self.can_be_far(unit) || self.is_lost(mode, unit, sound) {
            return;
        }
        if unit == self.picks.len() {
            let picks = self.picks.clone();
            let found = self.price(mode, &picks);
            if self.best.as_ref().is_none_or(|b| found.cost < b.cost) {
                self.best = Some(found);
            }
            return;
        }
        let ready = self.ready;
        for option in &ready[mode].order[unit] {
            let option = *option;
            self.picks[unit] = option;
            let width = ready[mode].rests.len();
            for (i, rest) in ready[mode].rests.iter().enumerate() {
                let sum = self.sums[unit * width + i] + rest.each[unit][option];
                self.sums[(unit + 1) * width + i] = sum;
            }
            let width = self.before.len();
            for (i, before) in self.before.iter().enumerate() {
                let far = self.apart[unit * width + i] + before.each[unit][option];
                self.apart[(unit + 1) * width + i] = far;
            }
            let [tune, rest] = self.field.sound[unit][option];
            self.go(mode, unit + 1, [sound[0] + tune, sound[1] + rest]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::collection::vec;
    use proptest::prelude::*;

    /// Every choice of one option a unit.
    fn all(sizes: &[usize]) -> Vec<Vec<usize>> {
        sizes.iter().fold(vec![Vec::new()], |some, size| {
            let more = |picks: &Vec<usize>| -> Vec<Vec<usize>> {
                (0..*size).map(|o| [&picks[..], &[o]].concat()).collect()
            };
            some.iter().flat_map(more).collect()
        })
    }

    /// What an option costs in two modes, and what it adds to the tune and to the rest.
    type Four = (f64, f64, f64, f64);

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

        #[test]
        fn the_best_are_those_of_going_through_all(
            units in vec(vec((0.0..4.0_f64, 0.0..4.0_f64, 0.0..3.0_f64, 0.0..3.0_f64), 1..4), 1..7),
            starts in (0.0..3.0_f64, 0.0..3.0_f64),
            apart in prop_oneof![Just(0.1_f64), 0.1..3.0_f64],
            wish in 0.5..4.0_f64,
        ) {
            let sizes: Vec<usize> = units.iter().map(Vec::len).collect();
            let sum = |picks: &[usize], of: fn(&Four) -> f64| -> f64 {
                picks.iter().zip(&units).map(|(o, u)| of(&u[*o])).sum()
            };
            // The tune should be as strong as the rest times a wish; and the rest near to 4.
            let least = |tune: f64, rest: f64| (wish * rest - tune).max(0.0);
            let whole = |picks: &[usize]| {
                let (tune, rest) = (sum(picks, |o| o.2), sum(picks, |o| o.3));
                least(tune, rest) + (rest - 4.0).abs()
            };
            let each = |of: fn(&Four) -> f64| -> Vec<Vec<f64>> {
                units.iter().map(|u| u.iter().map(of).collect()).collect()
            };
            let distance = |_: usize, a: usize, b: usize| if a == b { 0.0 } else { 1.0 };
            let field = Field {
                modes: vec![
                    Mode { start: starts.0, each: each(|o| o.0) },
                    Mode { start: starts.1, each: each(|o| o.1) },
                ],
                minorants: vec![
                    Minorant { start: -4.0, each: each(|o| o.3) },
                    Minorant { start: 4.0, each: each(|o| -o.3) },
                ],
                sound: units.iter().map(|u| u.iter().map(|o| [o.2, o.3]).collect()).collect(),
                whole: &whole,
                least: &least,
                line: &|_, _, _| (0.0, 1.0, wish),
                most: 1e9,
                distance: &distance,
                apart,
                most_nodes: [usize::MAX; 2],
            };
            let found = best(&field, 5);
            prop_assert!(found.proven);
            let cost = |picks: &[usize]| {
                let first = starts.0 + sum(picks, |o| o.0);
                first.min(starts.1 + sum(picks, |o| o.1)) + whole(picks)
            };
            let apart_of = |a: &[usize], b: &[usize]| a.iter().zip(b).filter(|(a, b)| a != b).count() as f64;
            let everything = all(&sizes);
            let mut before: Vec<Vec<usize>> = Vec::new();
            for i in 0..5 {
                let far = everything.iter().filter(|p| before.iter().all(|b| apart_of(p, b) >= apart));
                let cheapest = far.map(|p| cost(p)).fold(f64::INFINITY, f64::min);
                match found.found.get(i) {
                    None => prop_assert!(cheapest.is_infinite()),
                    Some(one) => {
                        prop_assert!((one.cost - cheapest).abs() < 1e-6, "{} {}", one.cost, cheapest);
                        prop_assert!((one.cost - cost(&one.picks)).abs() < 1e-6);
                        prop_assert!(before.iter().all(|b| apart_of(&one.picks, b) >= apart));
                        before.push(one.picks.clone());
                    }
                }
            }
            let least = everything.iter().map(|p| cost(p)).fold(f64::INFINITY, f64::min);
            prop_assert!(found.lower_bound <= least + 1e-6);
        }

        #[test]
        fn with_few_nodes_the_bound_is_still_one(
            units in vec(vec((0.0..4.0_f64, 0.0..3.0_f64), 1..4), 1..7),
            most_nodes in 1..30_usize,
        ) {
            let sizes: Vec<usize> = units.iter().map(Vec::len).collect();
            let rest = |picks: &[usize]| -> f64 { picks.iter().zip(&units).map(|(o, u)| u[*o].1).sum() };
            let whole = |picks: &[usize]| (rest(picks) - 4.0).abs();
            let field = Field {
                modes: vec![Mode { start: 0.0, each: units.iter().map(|u| u.iter().map(|o| o.0).collect()).collect() }],
                minorants: Vec::new(),
                sound: units.iter().map(|u| u.iter().map(|_| [0.0, 0.0]).collect()).collect(),
                whole: &whole,
                least: &|_, _| 0.0,
                line: &|_, _, _| (0.0, 0.0, 0.0),
                most: 0.0,
                distance: &|_, a, b| if a == b { 0.0 } else { 1.0 },
                apart: 1.0,
                most_nodes: [most_nodes; 2],
            };
            let found = best(&field, 1);
            let add = |picks: &[usize]| -> f64 { picks.iter().zip(&units).map(|(o, u)| u[*o].0).sum() };
            let least = all(&sizes).iter().map(|p| add(p) + whole(p)).fold(f64::INFINITY, f64::min);
            prop_assert!(found.lower_bound <= least + 1e-6);
            prop_assert!(found.found[0].cost >= least - 1e-6);
        }
    }
}
