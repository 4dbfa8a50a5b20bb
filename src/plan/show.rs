//! What a plan costs over all passages: each by itself, from one to the next, repeats, load and rests.

use super::chosen::{Chosen, State};
use super::estimates::PartLoads;
use super::rests::{bars_of, due_bars};
use super::scene::{Scene, brass_share};
use super::solve::PartRole;
use super::terms::{Tally, Term};
use crate::band::load::low_reserve;
use crate::band::{Band, Family, Part};
use crate::score::Role;

/// Repeated music is scored alike if it is wanted as intense as before, give or take so much (ours).
const AS_INTENSE: f64 = 1.0;
/// Brass in full is this share of its players and more.
const HALF: f64 = 0.5;
/// Full brass is no matter from this intensity on.
const STRONG: super::habits::Strength = super::habits::Strength::Strong;

/// The passages, with all that a plan of them is weighed by.
pub(super) struct Show<'s, 'a> {
    /// The passages.
    pub scenes: &'s [Scene<'a>],
    /// What each does to the lips of every part.
    pub loads: &'s [Vec<PartLoads>],
    /// Whether the tune goes on into the passage without a breath.
    pub tight: Vec<bool>,
    /// For each passage, the earlier one that it is to be scored like, and those that are to be like it.
    models: Vec<Option<usize>>,
    copies: Vec<Vec<usize>>,
    low: f64,
}

impl<'s, 'a> Show<'s, 'a> {
    /// The show of some passages.
    pub fn of(scenes: &'s [Scene<'a>], loads: &'s [Vec<PartLoads>], tight: Vec<bool>) -> Self {
        let models: Vec<Option<usize>> = (0..scenes.len()).map(|i| model(scenes, i)).collect();
        let mut copies = vec![Vec::new(); scenes.len()];
        for (at, model) in models.iter().enumerate() {
            if let Some(model) = model {
                copies[*model].push(at);
            }
        }
        Self {
            scenes,
            loads,
            tight,
            models,
            copies,
            low: low_reserve().unwrap_or_default(),
        }
    }

    /// The band; `None` of a show without passages.
    pub fn band(&self) -> Option<&'a Band> {
        self.scenes.first().map(|s| s.stage.band)
    }

    /// What it costs to go from the passage before into one.
    pub fn step(&self, to: usize, before: &[PartRole], now: &[PartRole]) -> Tally {
        let mut tally = Tally::default();
        let Some(scene) = self.scenes.get(to) else {
            return tally;
        };
        let points = |term| scene.stage.weights.points(term);
        let band = scene.stage.band;
        let colour = Colour::of(band, before, now);
        tally.add(Term::SameColour, colour.alike() * points(Term::SameColour));
        if colour.shared == 0.0 && self.tight.get(to) == Some(&true) {
            tally.add(Term::HandOver, points(Term::HandOver));
        }
        let prepared = to.checked_sub(1).and_then(|b| self.scenes.get(b));
        if scene.passage.peak && prepared.is_some_and(|s| !s.passage.peak) {
            let way = WayToPeak::of(band, before, now, scene.winds);
            tally.add(Term::PeakColour, colour.alike() * points(Term::PeakColour));
            tally.add(Term::PeakFull, way.full * points(Term::PeakFull));
            tally.add(Term::PeakFresh, way.tired * points(Term::PeakFresh));
        }
        if scene.strength < STRONG {
            let both = brass_share(band, before).min(brass_share(band, now));
            let again = (both - HALF).max(0.0) / HALF;
            tally.add(Term::BrassAgain, again * points(Term::BrassAgain));
        }
        tally
    }

    /// The earlier passage that one is to be scored like.
    pub fn model(&self, of: usize) -> Option<usize> {
        self.models.get(of).copied().flatten()
    }

    /// The later passages that are to be scored like one.
    pub fn copies(&self, of: usize) -> &[usize] {
        self.copies.get(of).map_or(&[], Vec::as_slice)
    }

    /// What it costs that repeated music is scored otherwise.
    pub fn repeat(&self, of: usize, before: &[PartRole], now: &[PartRole]) -> f64 {
        self.scenes.get(of).map_or(0.0, |s| {
            s.apart(before, now) * s.stage.weights.points(Term::Repeat)
        })
    }

    /// What a part's lips pay in a passage in a role, tiredness and rests that are due; `state` goes on to the next passage.
    pub fn lips(&self, part: usize, at: usize, role: PartRole, state: &mut State) -> [f64; 2] {
        let of = self.band().and_then(|b| b.parts.get(part));
        let Some((of, scene)) = of.zip(self.scenes.get(at)) else {
            return [0.0; 2];
        };
        let load = self.loads.get(at).and_then(|l| l.get(part));
        let lack = load.map_or(0.0, |l| self.lack(l, role, &mut state.tired));
        let due = rest_due(of, scene, role, &mut state.bars);
        let points = |term| scene.stage.weights.points(term);
        [
            lack * 10.0 * points(Term::Load),
            due * points(Term::RestDue),
        ]
    }

    fn lack(&self, load: &PartLoads, role: PartRole, tired: &mut f64) -> f64 {
        let step = load.step(role);
        let lack = if step.effort > 0.0 {
            (self.low - step.least_reserve(*tired)).clamp(0.0, 1.0)
        } else {
            0.0
        };
        *tired = step.after(*tired);
        lack
    }

    /// What passage `at` pays, term by term, if these are the roles of all.
    pub fn pays(&self, at: usize, chosen: &Chosen) -> Tally {
        let roles = chosen.roles();
        let Some((scene, now)) = self.scenes.get(at).zip(roles.get(at)) else {
            return Tally::default();
        };
        let mut tally = scene.weigh(now);
        if let Some(before) = at.checked_sub(1).and_then(|b| roles.get(b)) {
            let step = self.step(at, before, now);
            tally.join(&step);
        }
        if let Some(model) = self.model(at).and_then(|m| roles.get(m)) {
            tally.add(Term::Repeat, self.repeat(at, model, now));
        }
        for part in 0..now.len() {
            add_lips(&mut tally, chosen.paid(part, at));
        }
        tally
    }

    /// What all that touches a passage pays if these are its roles and those of the others stay: itself, both
    /// steps, its repeats, and over the whole piece what the lips pay more than they do now.
    pub fn around(&self, at: usize, now: &[PartRole], chosen: &Chosen) -> Tally {
        let roles = chosen.roles();
        let Some((scene, was)) = self.scenes.get(at).zip(roles.get(at)) else {
            return Tally::default();
        };
        let mut tally = scene.weigh(now);
        if let Some(before) = at.checked_sub(1).and_then(|b| roles.get(b)) {
            tally.join(&self.step(at, before, now));
        }
        if let Some(after) = roles.get(at + 1) {
            tally.join(&self.step(at + 1, now, after));
        }
        if let Some(model) = self.model(at).and_then(|m| roles.get(m)) {
            tally.add(Term::Repeat, self.repeat(at, model, now));
        }
        for copy in self.copies(at) {
            tally.add(Term::Repeat, self.repeat(*copy, now, &roles[*copy]));
        }
        for (part, (role, was)) in now.iter().zip(was).enumerate() {
            if role != was {
                add_lips(&mut tally, chosen.more(self, part, at, *role));
            }
        }
        tally
    }

    /// What a plan costs in all.
    pub fn cost(&self, chosen: &Chosen) -> f64 {
        let roles = chosen.roles();
        let own: f64 = self.scenes.iter().zip(roles).map(|(s, r)| s.cost(r)).sum();
        let steps = (1..roles.len()).map(|i| self.step(i, &roles[i - 1], &roles[i]));
        let steps: f64 = steps.flat_map(|t| t.0).sum();
        let repeats = (0..roles.len()).map(|i| {
            let model = self.model(i).and_then(|m| roles.get(m));
            model.map_or(0.0, |m| self.repeat(i, m, &roles[i]))
        });
        own + steps + repeats.sum::<f64>() + chosen.all_paid()
    }
}

fn add_lips(tally: &mut Tally, [load, due]: [f64; 2]) {
    tally.add(Term::Load, load);
    tally.add(Term::RestDue, due);
}

/// The earlier passage that one is to be scored like: it repeats its music, is wanted as intense, and does not
/// follow it at once (then a new colour is worth more).
fn model(scenes: &[Scene<'_>], of: usize) -> Option<usize> {
    let scene = scenes.get(of)?;
    let earlier = scene.passage.repeats.filter(|e| e + 1 < of)?;
    let other = scenes.get(earlier)?;
    let off = (other.passage.intensity - scene.passage.intensity).abs();
    (off <= AS_INTENSE).then_some(earlier)
}

/// By how many bars a part goes on for too long without a passage of rest.
fn rest_due(part: &Part, scene: &Scene<'_>, role: PartRole, bars: &mut u32) -> f64 {
    if role.role == Role::Rest {
        *bars = 0;
        return 0.0;
    }
    *bars += bars_of(&scene.passage);
    f64::from(due_bars(part, *bars))
}

/// How a passage leads to a peak that follows it.
struct WayToPeak {
    /// Tenths of the wind players who play before it, beyond seven.
    full: f64,
    /// What share of the brass on the tune at the peak plays before it too.
    tired: f64,
}

/// So large a share of the players leaves enough to be added (ours).
const LEAVES_ENOUGH: f64 = 0.7;

impl WayToPeak {
    fn of(band: &Band, before: &[PartRole], peak: &[PartRole], winds: f64) -> Self {
        let (mut plays, mut tired, mut carries) = (0.0, 0.0, 0.0);
        for (part, (one, other)) in band.parts.iter().zip(before.iter().zip(peak)) {
            let count = f64::from(part.players.count());
            let there = one.role != Role::Rest;
            if part.instrument.wind && there {
                plays += count;
            }
            if part.instrument.family == Family::Brass && other.role == Role::Melody {
                carries += count;
                tired += if there { count } else { 0.0 };
            }
        }
        Self {
            full: 10.0 * (plays / winds - LEAVES_ENOUGH).max(0.0),
            tired: if carries > 0.0 { tired / carries } else { 0.0 },
        }
    }
}

/// What two plans have in common in the colour of the tune.
struct Colour {
    /// Players on the tune in both.
    shared: f64,
    /// Players on the tune in either.
    either: f64,
}

impl Colour {
    fn of(band: &Band, one: &[PartRole], other: &[PartRole]) -> Self {
        let mut colour = Self {
            shared: 0.0,
            either: 0.0,
        };
        for (part, (a, b)) in band.parts.iter().zip(one.iter().zip(other)) {
            let size = super::scene::share(part);
            let on = |r: &PartRole| r.role == Role::Melody;
            colour.either += if on(a) || on(b) { size } else { 0.0 };
            colour.shared += if on(a) && on(b) { size } else { 0.0 };
        }
        colour
    }

    fn alike(&self) -> f64 {
        self.shared / self.either.max(1.0)
    }
}
