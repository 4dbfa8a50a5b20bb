//! A passage with all that its ways of scoring are weighed by, and what any roles cost in it.

use super::estimates::{Doublings, Powers, Sums, WISHES, wanted_texture};
use super::evidence::Evidence;
use super::figures::{FigurePlan, MOST_CARRIERS};
use super::fits::{Fits, MORE_THAN};
use super::habits::Strength;
use super::solve::{PartRole, Setting};
use super::terms::{PlanWeights, Tally, Term, unlike};
use super::usual::{FAR_FROM_ANY, UsualWay};
use crate::band::loudness::{Decibels, Situation, target};
use crate::band::{Band, Choir, Exposure, Family, is_weak_alone, shared_players};
use crate::score::{Passage, Role};
use crate::sketch::FigureWay;

/// So many parts make a chord (ours): root, third, and fifth or seventh.
const CHORD: usize = 3;
/// A choir of so many parts can have a whole chord of its own.
const WHOLE_CHOIR: usize = 3;
/// A tune for which nobody is meant costs more than one that those who are meant cannot play (ours).
const NOBODY: f64 = 1.5;
/// Loudness so near to what is wanted costs nothing, dB.
const NEAR_ENOUGH: f64 = 1.0;

/// What does not change from passage to passage.
pub(super) struct Stage<'a> {
    /// The band.
    pub band: &'a Band,
    /// What the terms count.
    pub weights: &'a PlanWeights,
    /// What the arranger's own passages show.
    pub evidence: Evidence,
    /// Who doubles whom well.
    pub doublings: Doublings,
    /// Parts that have players in common.
    pub shared: Vec<(usize, usize)>,
    /// Parts of each choir of wind players, by the choir of the first.
    pub choirs: Vec<Vec<usize>>,
}

impl<'a> Stage<'a> {
    /// That of a setting.
    pub fn of(setting: &Setting<'a>) -> Self {
        let band = setting.band;
        let mut choirs: Vec<Vec<usize>> = Vec::new();
        for (i, part) in band.parts.iter().enumerate() {
            if !part.instrument.wind {
                continue;
            }
            let choir = part.instrument.choir;
            let same = |c: &&mut Vec<usize>| band.parts[c[0]].instrument.choir == choir;
            match choirs.iter_mut().find(same) {
                Some(parts) => parts.push(i),
                None => choirs.push(vec![i]),
            }
        }
        let pairs = shared_players(band).into_iter();
        Self {
            band,
            weights: setting.weights,
            evidence: Evidence::of(setting),
            // The built-in table reads; a test shows it.
            doublings: Doublings::of(band).unwrap_or_default(),
            shared: pairs.map(|(a, b)| (a.0, b.0)).collect(),
            choirs,
        }
    }
}

/// A passage with all that its ways of scoring are weighed by.
pub(super) struct Scene<'a> {
    /// What does not change from passage to passage.
    pub stage: &'a Stage<'a>,
    /// Its place among the passages.
    pub index: usize,
    /// The passage.
    pub passage: Passage,
    /// How intense it is wanted.
    pub strength: Strength,
    /// How every part takes to its lines.
    pub fits: Fits,
    /// How much sound every part gives.
    pub powers: Powers,
    /// How its figures are played, if it has any.
    pub figure: Option<FigurePlan>,
    /// Usual ways, as this band would do them.
    pub usual: Vec<UsualWay>,
    pub(super) wanted_level: f64,
    pub(super) wanted_players: f64,
    pub(super) winds: f64,
    /// What share of tune and of bass no locked notes carry.
    free: [f64; 2],
    /// For what share of the passage a carrier of the tune sounds, the least of all who can.
    tune_share: f64,
    /// The smallest presence that is good in any situation, dB.
    least_target: f64,
}

impl<'a> Scene<'a> {
    /// That of a passage.
    pub fn of(
        stage: &'a Stage<'a>,
        index: usize,
        passage: Passage,
        fits: Fits,
        powers: Powers,
        figure: Option<FigurePlan>,
    ) -> Self {
        let wanted = wanted_texture(passage.intensity);
        let (below, players) = wanted.map_or((0.0, 1.0), |w| (w.below_tutti.0, w.players));
        let tutti = powers.tutti().0;
        let winds = stage.band.parts.iter().filter(|p| p.instrument.wind);
        let winds: u32 = winds.map(|p| p.players.count()).sum();
        let shares = (0..powers.len()).flat_map(|part| {
            let at = |octave| {
                powers.sound(
                    part,
                    PartRole {
                        role: Role::Melody,
                        octave,
                    },
                )
            };
            WISHES.map(at).map(|s| s.share).collect::<Vec<f64>>()
        });
        let tune_share = shares.filter(|s| *s > 0.0).fold(1.0, f64::min);
        let on_top = (!powers.one_rhythm()).then_some(Situation::OnTop);
        let all = [Situation::SameFamily, Situation::Inside, Situation::Low];
        let targets = all.into_iter().chain(on_top);
        let targets = targets.map(|s| target(s).map_or(0.0, |t| t.good));
        Self {
            stage,
            index,
            passage,
            strength: Strength::of(passage.intensity),
            fits,
            powers,
            figure,
            usual: Vec::new(),
            wanted_level: tutti - below,
            wanted_players: players,
            winds: f64::from(winds.max(1)),
            free: [Role::Melody, Role::Bass].map(|r| {
                let carried = stage.evidence.carried(index, r);
                if carried > 0.99 { 0.0 } else { 1.0 - carried }
            }),
            tune_share,
            least_target: targets.fold(f64::INFINITY, f64::min),
        }
    }

    fn band(&self) -> &Band {
        self.stage.band
    }

    /// How many parts the figure wants, if it is to be kept or shared.
    pub fn figure_wants(&self) -> Option<usize> {
        match self.figure.as_ref()?.way {
            FigureWay::Kept => Some(1),
            FigureWay::Shared => Some(2),
            _ => None,
        }
    }

    /// What one part costs in a role by itself, whatever the others do.
    pub fn own(&self, part: usize, role: PartRole, pay: &mut dyn FnMut(Term, f64)) {
        let points = |term| self.stage.weights.points(term);
        if let Some(fit) = self.fits.of_role(role.role).and_then(|f| f.get(part)) {
            pay(Term::Clean, fit.mean_cost * points(Term::Clean));
            pay(Term::Reach, (1.0 - fit.share) * points(Term::Reach));
        }
        let id = crate::band::PartId(part);
        let wished = self.stage.evidence.cost(self.index, id, role);
        if wished > 0.0 {
            pay(Term::Evidence, wished * points(Term::Evidence));
        }
    }

    /// What starting from a usual way costs: its distance from the wanted intensity.
    pub fn start_of(&self, way: &UsualWay) -> f64 {
        let steps = match way.strength {
            Some(strength) => f64::from(strength.distance(self.strength)),
            None => FAR_FROM_ANY,
        };
        steps * self.stage.weights.points(Term::WayStep)
    }

    /// What it costs that a part does something else than in a usual way.
    pub fn unusual(&self, way: &UsualWay, part: usize, role: PartRole) -> f64 {
        way.unlike(part, role) * self.stage.weights.points(Term::Unusual)
    }

    /// The usual way that some roles are nearest to, and what it costs: the start of it, and all that is unlike.
    pub fn nearest_way(&self, roles: &[PartRole]) -> (usize, f64, f64) {
        let cost = |(i, way): (usize, &UsualWay)| {
            let parts = roles.iter().enumerate();
            let unlike: f64 = parts.map(|(p, r)| self.unusual(way, p, *r)).sum();
            (i, self.start_of(way), unlike)
        };
        let all = self.usual.iter().enumerate().map(cost);
        let nearest = all.min_by(|a, b| (a.1 + a.2).total_cmp(&(b.1 + b.2)));
        nearest.unwrap_or((0, 0.0, 0.0))
    }

    /// What some roles cost in all, term by term.
    pub fn weigh(&self, roles: &[PartRole]) -> Tally {
        let mut tally = Tally::default();
        for (part, role) in roles.iter().enumerate() {
            self.own(part, *role, &mut |term, points| tally.add(term, points));
        }
        let (_, start, unlike) = self.nearest_way(roles);
        tally.add(Term::WayStep, start);
        tally.add(Term::Unusual, unlike);
        self.whole(roles, &mut |term, points| tally.add(term, points));
        tally
    }

    /// What some roles cost in all.
    pub fn cost(&self, roles: &[PartRole]) -> f64 {
        self.weigh(roles).0.iter().sum()
    }

    /// What some roles cost beyond what each part costs by itself.
    pub fn whole(&self, roles: &[PartRole], pay: &mut dyn FnMut(Term, f64)) {
        let sums = Sums::of(&self.powers, roles);
        let on = On::of(self.band(), roles);
        self.of_sound(&sums, pay);
        self.of_lines(&on, pay);
        self.of_choirs(roles, pay);
        let points = |term| self.stage.weights.points(term);
        let used = self.stage.doublings.used(roles, self.strength);
        pay(Term::Doubling, (1.0 - used) * 10.0 * points(Term::Doubling));
        let plays = |i: usize| roles.get(i).is_some_and(|r| r.role != Role::Rest);
        let twice = self.stage.shared.iter();
        let twice = twice.filter(|(a, b)| plays(*a) && plays(*b)).count();
        pay(
            Term::TwoInstruments,
            twice as f64 * points(Term::TwoInstruments),
        );
    }

    /// Presence, loudness and fullness.
    fn of_sound(&self, sums: &Sums, pay: &mut dyn FnMut(Term, f64)) {
        let points = |term| self.stage.weights.points(term);
        if self.fits.has[0] {
            let lacks = sums.lacks(&self.powers);
            pay(Term::Presence, lacks * points(Term::Presence));
        }
        pay(Term::Loudness, self.loudness_cost(sums.loudness()));
        pay(Term::Density, self.density_cost(f64::from(sums.players())));
    }

    /// What a loudness of the whole costs.
    pub fn loudness_cost(&self, level: Decibels) -> f64 {
        let off = (level.0 - self.wanted_level).abs().min(MOST_OFF);
        let off = if off.is_nan() { 0.0 } else { off };
        (off - NEAR_ENOUGH).max(0.0) * self.stage.weights.points(Term::Loudness)
    }

    /// What a number of wind players costs.
    pub fn density_cost(&self, players: f64) -> f64 {
        let off = (players / self.winds - self.wanted_players).abs();
        10.0 * off * self.stage.weights.points(Term::Density)
    }

    /// Tune, bass, chord, counterline and figure: carried, and by whom.
    fn of_lines(&self, on: &On, pay: &mut dyn FnMut(Term, f64)) {
        let points = |term| self.stage.weights.points(term);
        let missing = |carriers: &[usize], role| {
            let fits = self.fits.of_role(role).unwrap_or(&[]);
            let share = |i: &usize| fits.get(*i).map_or(0.0, |f| f.share);
            1.0 - carriers.iter().map(share).fold(0.0, f64::max)
        };
        let [melody, counterline, bass, figure] = self.fits.has;
        if melody {
            // What the arranger's own notes carry need not be carried again.
            let nobody = if on.melody.is_empty() { NOBODY } else { 1.0 };
            let lost = missing(&on.melody, Role::Melody) * self.free[0] * nobody;
            pay(Term::TuneMissing, lost * points(Term::TuneMissing));
            if self.free[0] > 0.0 {
                self.exposure(&on.melody, true, pay);
            }
            self.firsts(&on.melody, pay);
        }
        if bass {
            let lost = missing(&on.bass, Role::Bass) * self.free[1];
            pay(Term::BassMissing, lost * points(Term::BassMissing));
            self.exposure(&on.bass, false, pay);
            self.depth(&on.bass, pay);
        }
        if counterline {
            let nobody = on.counterline.is_empty();
            let lost = if nobody { 1.0 } else { 0.0 };
            pay(
                Term::CounterlineMissing,
                lost * points(Term::CounterlineMissing),
            );
            self.exposure(&on.counterline, false, pay);
        }
        if let Some(wants) = self.figure_wants() {
            let has = on.figure.len();
            let off = wants.saturating_sub(has) + has.saturating_sub(MOST_CARRIERS);
            pay(
                Term::FigureCarriers,
                off as f64 * points(Term::FigureCarriers),
            );
        }
        if figure {
            self.exposure(&on.figure, false, pay);
        }
        let short = CHORD.saturating_sub(on.harmony.len());
        pay(
            Term::HarmonyShort,
            short as f64 * points(Term::HarmonyShort),
        );
    }

    /// From a middle intensity on the bass wants the instruments that are there for it, if they can play it.
    fn depth(&self, carriers: &[usize], pay: &mut dyn FnMut(Term, f64)) {
        if self.strength < Strength::Middle {
            return;
        }
        let fits = self.fits.of_role(Role::Bass).unwrap_or(&[]);
        let is_bass = |i: &usize| {
            let instrument = &self.band().parts[*i].instrument;
            instrument.choir == Choir::Basses && instrument.id != "timpani"
        };
        let able = |i: &usize| is_bass(i) && fits.get(*i).is_some_and(|f| f.share > MORE_THAN);
        let has = carriers.iter().any(is_bass);
        if !has && (0..fits.len()).any(|i| able(&i)) {
            pay(Term::BassDepth, self.stage.weights.points(Term::BassDepth));
        }
    }

    /// A first part goes with its lower parts where it could carry the tune too.
    fn firsts(&self, carriers: &[usize], pay: &mut dyn FnMut(Term, f64)) {
        let parts = &self.band().parts;
        let lower = carriers.iter().filter(|i| parts[**i].rank > 1);
        let left = lower.filter(|i| {
            let mut firsts = (0..**i).filter(|f| {
                let same = parts[*f].instrument.id == parts[**i].instrument.id;
                same && parts[*f].rank == 1 && self.fits.carries_tune(*f)
            });
            firsts.next().is_some_and(|f| !carriers.contains(&f))
        });
        let points = self.stage.weights.points(Term::LowerAlone);
        pay(Term::LowerAlone, left.count() as f64 * points);
    }

    /// A line left to one: any line to somebody who is never to be heard alone; the tune to one player,
    /// or to one part that is not marked as able.
    fn exposure(&self, carriers: &[usize], tune: bool, pay: &mut dyn FnMut(Term, f64)) {
        let points = |term| self.stage.weights.points(term);
        let parts = &self.band().parts;
        if let [only] = carriers
            && parts[*only].remarks.exposure == Exposure::Never
        {
            pay(Term::NeverAlone, points(Term::NeverAlone));
        }
        if !tune || carriers.is_empty() {
            return;
        }
        let able = |i: &usize| parts[*i].remarks.exposure == Exposure::May;
        let players: u32 = carriers.iter().map(|i| parts[*i].players.count()).sum();
        if carriers.iter().any(able) || carriers.len() > 1 && players > 1 {
            return;
        }
        if carriers.iter().all(|i| is_weak_alone(&parts[*i])) {
            pay(Term::ExposedWeak, points(Term::ExposedWeak));
        } else {
            pay(Term::Exposed, points(Term::Exposed));
        }
    }

    /// Choirs that play chords, and leave parts out which would make the chord whole.
    fn of_choirs(&self, roles: &[PartRole], pay: &mut dyn FnMut(Term, f64)) {
        let points = self.stage.weights.points(Term::ChoirBroken);
        for choir in &self.stage.choirs {
            let count =
                |role| -> usize { choir.iter().filter(|i| roles[**i].role == role).count() };
            let harmony = count(Role::Harmony);
            let could = harmony + count(Role::Rest);
            if harmony > 0 && harmony < WHOLE_CHOIR && could >= WHOLE_CHOIR {
                pay(Term::ChoirBroken, points);
            }
        }
    }

    /// What the presence of the tune costs at least, if the tune has at most and the rest at least so much
    /// energy: it need stand out least where it lies on top.
    pub fn least_presence(&self, tune: f64, rest: f64) -> f64 {
        if !self.fits.has[0] || tune <= 0.0 || rest <= 0.0 {
            return 0.0;
        }
        let presence = 10.0 * (tune / (rest * self.tune_share)).log10();
        (self.least_target - presence).clamp(0.0, 20.0) * self.stage.weights.points(Term::Presence)
    }

    /// The same as a line: what it is at no tune and no rest, what a unit of the tune takes and of the rest adds.
    /// It touches at a tune; it holds for at most [`Self::most_presence`] and where the rest is from one value to another.
    pub fn presence_line(&self, tune: f64, low: f64, high: f64) -> (f64, f64, f64) {
        let points = self.stage.weights.points(Term::Presence);
        if !self.fits.has[0] || tune <= 0.0 {
            return (0.0, 0.0, 0.0);
        }
        let bel = 10.0 / std::f64::consts::LN_10;
        // Up to here the line is not over 0 whatever the tune, and nothing costs less than 0.
        let nothing = tune * 10.0_f64.powf(-(self.least_target + bel) / 10.0) / self.tune_share;
        let low = low.max(nothing);
        if high < low {
            return (0.0, 0.0, 0.0);
        }
        // A logarithm lies under its tangent, and over its chord.
        let takes = bel / tune;
        let level = |rest: f64| 10.0 * (rest * self.tune_share).log10();
        let adds = if high > low * 1.000_001 {
            (level(high) - level(low)) / (high - low)
        } else {
            0.0
        };
        let start = self.least_target - 10.0 * tune.log10() + bel + level(low) - adds * low;
        (start * points, takes * points, adds * points)
    }

    /// The most that the presence of the tune costs.
    pub fn most_presence(&self) -> f64 {
        20.0 * self.stage.weights.points(Term::Presence)
    }

    /// How far two plans are apart, 0 to 1: by players, as a listener would notice.
    pub fn apart(&self, one: &[PartRole], other: &[PartRole]) -> f64 {
        apart(self.band(), one, other)
    }

    /// Whether a part may play at all.
    pub fn is_closed(&self, part: usize) -> bool {
        self.fits.closed.get(part).copied().unwrap_or(true)
    }
}

/// Loudness farther off is not told apart, dB.
const MOST_OFF: f64 = 20.0;

/// How far two plans of a band are apart, 0 to 1: the share of its players that do something else, as a
/// listener would notice; a part counts for at least two players, since its colour is missed too.
#[must_use]
pub fn apart(band: &Band, one: &[PartRole], other: &[PartRole]) -> f64 {
    let all: f64 = band.parts.iter().map(share).sum();
    let parts = band.parts.iter().zip(one.iter().zip(other));
    let off: f64 = parts.map(|(p, (a, b))| share(p) * unlike(*a, *b)).sum();
    off / all.max(1.0)
}

/// What a part counts in the distance between plans.
#[must_use]
pub(super) fn share(part: &crate::band::Part) -> f64 {
    f64::from(part.players.count().clamp(2, 8))
}

/// Who is on what.
#[derive(Default)]
struct On {
    melody: Vec<usize>,
    counterline: Vec<usize>,
    bass: Vec<usize>,
    figure: Vec<usize>,
    harmony: Vec<usize>,
}

impl On {
    fn of(band: &Band, roles: &[PartRole]) -> Self {
        let mut on = Self::default();
        for (i, (role, part)) in roles.iter().zip(&band.parts).enumerate() {
            match role.role {
                Role::Melody => on.melody.push(i),
                Role::Counterline => on.counterline.push(i),
                Role::Bass => on.bass.push(i),
                Role::Figure => on.figure.push(i),
                Role::Harmony if part.instrument.wind => on.harmony.push(i),
                Role::Harmony | Role::Rest => {}
            }
        }
        on
    }
}

/// The share of brass players that play, 0 to 1.
pub(super) fn brass_share(band: &Band, roles: &[PartRole]) -> f64 {
    let (mut all, mut playing) = (0, 0);
    for (part, role) in band.parts.iter().zip(roles) {
        if part.instrument.family == Family::Brass {
            all += part.players.count();
            if role.role != Role::Rest {
                playing += part.players.count();
            }
        }
    }
    f64::from(playing) / f64::from(all.max(1))
}
