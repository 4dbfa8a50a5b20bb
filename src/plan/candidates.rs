//! Ways of scoring one passage, each with what it costs: what the planner chooses from.

use super::apart::Apart;
use super::evidence::Evidence;
use super::fit::{ChanceCosts, Fit, fit};
use super::habits::{Strength, Way, Who};
use super::solve::{PartRole, Setting};
use crate::band::{Band, Exposure, Family, Part, PartId, is_weak_alone};
use crate::score::{Closed, Passage, Role};

/// Weights of the plan's terms, in points. All are ours (common practice, no source, for the
/// direction; the sizes are choices).
mod weight {
    /// Per step between the usual and the wanted intensity.
    pub const INTENSITY_STEP: f64 = 6.0;
    /// Per share of the tune that not even the best carrier can play.
    pub const MELODY_MISSING: f64 = 40.0;
    /// Per `-ln(clean chance)` a note, mean over the carriers of the tune.
    pub const MELODY_CLEAN: f64 = 12.0;
    /// Where nobody is named to carry the tune.
    pub const MELODY_NOBODY: f64 = 60.0;
    /// Per share of the bass that not even the best carrier can play.
    pub const BASS_MISSING: f64 = 20.0;
    /// For each chord tone that has no part to play it.
    pub const HARMONY_SHORT: f64 = 5.0;
    /// A tune left to one player, or to one part that is not marked as able to be exposed.
    pub const EXPOSED: f64 = 4.0;
    /// The same, where it is a lone weak player.
    pub const EXPOSED_WEAK: f64 = 20.0;
    /// A tune or bass left to one part that is never to be heard alone.
    pub const NEVER_ALONE: f64 = 40.0;
    /// The same colour carries the tune as in the passage before.
    pub const SAME_COLOUR: f64 = 1.5;
    /// Brass in full again after a passage in full, below a peak.
    pub const BRASS_AGAIN: f64 = 1.0;
}

/// A way of scoring tried on one passage.
pub(super) struct Candidate {
    /// Its place among the usual ways; beyond them, the way made for the band.
    pub way: usize,
    /// A role for every part.
    pub roles: Vec<PartRole>,
    /// Its cost in points.
    pub cost: f64,
    brass_share: f64,
}

#[cfg(test)]
impl Candidate {
    /// A way without roles, for tests of the path.
    pub(super) fn bare(way: usize, cost: f64, brass_share: f64) -> Self {
        Self {
            way,
            roles: Vec::new(),
            cost,
            brass_share,
        }
    }
}

/// All ways tried on a passage.
pub(super) fn candidates(
    setting: &Setting<'_>,
    costs: &[ChanceCosts],
    closed: &Closed,
    (at, passage): (usize, &Passage),
    ways: &[Way],
    evidence: &Evidence,
) -> Vec<Candidate> {
    let band = setting.band;
    let fits = Fits::of(setting, costs, closed, passage);
    let wanted = Strength::of(passage.intensity);
    let mut all: Vec<Candidate> = Vec::new();
    for (i, way) in ways.iter().enumerate() {
        let roles = roles(band, way, &fits);
        let step = f64::from(way.intensity.distance(wanted)) * weight::INTENSITY_STEP;
        all.push(candidate(band, i, roles, &fits, step));
    }
    all.push(candidate(
        band,
        usize::MAX,
        made_for(band, &fits),
        &fits,
        3.0,
    ));
    after_locks(band, at, &fits, evidence, &mut all);
    all
}

/// Adds to each way what it costs beside the locks, and each way changed to what they speak for.
fn after_locks(band: &Band, at: usize, fits: &Fits, evidence: &Evidence, all: &mut Vec<Candidate>) {
    let [_, counterline, bass, figure] = fits.has;
    let may = |part: PartId, role| match role {
        Role::Rest => true,
        _ if fits.closed[part.0] => false,
        Role::Melody => fits.melody[part.0].share > 0.5,
        Role::Counterline => counterline,
        Role::Bass => bass,
        Role::Figure => figure,
        Role::Harmony => true,
    };
    let changed: Vec<Candidate> = all
        .iter()
        .filter_map(|way| {
            let roles = evidence.followed(at, &way.roles, may)?;
            let start = way.cost - candidate(band, way.way, way.roles.clone(), fits, 0.0).cost;
            Some(candidate(band, way.way, roles, fits, start))
        })
        .collect();
    all.extend(changed);
    for way in all {
        let parts = band.ids().zip(&way.roles);
        way.cost += parts
            .map(|((id, _), r)| evidence.cost(at, id, *r))
            .sum::<f64>();
    }
}

/// How every part takes to the tune and the bass of a passage.
struct Fits {
    melody: Vec<Fit>,
    bass: Vec<Fit>,
    /// Parts that may play nothing in the passage.
    closed: Vec<bool>,
    has: [bool; 4], // melody, counterline, bass, figure
}

impl Fits {
    fn of(
        setting: &Setting<'_>,
        costs: &[ChanceCosts],
        closed: &Closed,
        passage: &Passage,
    ) -> Self {
        let (band, lines) = (setting.band, setting.lines);
        let is_closed = |id| closed.covers(id, passage.start, passage.end);
        let closed: Vec<bool> = band.ids().map(|(id, _)| is_closed(id)).collect();
        let within = |role| {
            lines
                .of_role(role)
                .map_or(0..0, |l| l.within(passage.start, passage.end))
        };
        let fits = |role| {
            let range = within(role);
            let line = lines.of_role(role).unwrap_or(&lines.melody);
            band.parts
                .iter()
                .zip(costs)
                .zip(&closed)
                .map(|((p, c), closed)| {
                    if *closed {
                        return Fit::default();
                    }
                    fit(&Apart::of(p, setting.tempo), c, line, &range)
                })
                .collect::<Vec<Fit>>()
        };
        // A few stray notes make no figure.
        let bars = passage.last_bar.0 - passage.first_bar.0 + 1;
        let has = |role| match role {
            Role::Figure => within(role).len() >= 2 * bars as usize,
            _ => !within(role).is_empty(),
        };
        Self {
            melody: fits(Role::Melody),
            bass: fits(Role::Bass),
            closed: closed.clone(),
            has: [
                has(Role::Melody),
                has(Role::Counterline),
                has(Role::Bass),
                has(Role::Figure),
            ],
        }
    }
}

fn roles(band: &Band, way: &Way, fits: &Fits) -> Vec<PartRole> {
    let [_, counterline, bass, figure] = fits.has;
    let roles = band
        .parts
        .iter()
        .enumerate()
        .map(|(i, part)| {
            let plain = |role| PartRole { role, octave: 0 };
            if fits.closed[i] {
                return plain(Role::Rest);
            }
            let named = |who: &[Who]| who.iter().find(|w| w.means(part)).map(|w| w.octave);
            if let Some(octave) = named(&way.melody).filter(|_| fits.melody[i].share > 0.5) {
                return PartRole {
                    role: Role::Melody,
                    octave,
                };
            }
            if named(&way.counterline).is_some() && counterline {
                return plain(Role::Counterline);
            }
            if named(&way.bass).is_some() && bass {
                return plain(Role::Bass);
            }
            if named(&way.figure).is_some() && figure {
                return plain(Role::Figure);
            }
            let harmony = named(&way.harmony).is_some()
                || named(&way.figure).is_some_and(|_| part.instrument.wind);
            plain(if harmony { Role::Harmony } else { Role::Rest })
        })
        .collect();
    in_company(band, roles)
}

/// A second tune or a figure is not left to one part that is never to be heard alone: it fills the
/// chord.
fn in_company(band: &Band, mut roles: Vec<PartRole>) -> Vec<PartRole> {
    for line in [Role::Counterline, Role::Figure] {
        let mut carriers = (0..roles.len()).filter(|i| roles[*i].role == line);
        if let (Some(only), None) = (carriers.next(), carriers.next()) {
            let part = &band.parts[only];
            if part.remarks.exposure == Exposure::Never {
                roles[only].role = if part.instrument.wind {
                    Role::Harmony
                } else {
                    Role::Rest
                };
            }
        }
    }
    roles
}

/// The tune to the cleanest quarter of the band, the bass to the lowest parts, chords between.
fn made_for(band: &Band, fits: &Fits) -> Vec<PartRole> {
    let n = band.parts.len();
    let quality = |i: &usize| {
        let fit = fits.melody[*i];
        (
            (1.0 - fit.share) * 100.0 + fit.mean_cost,
            127 - band.parts[*i].limits.comfortable.high.midi(),
        )
    };
    let mut by_melody: Vec<usize> = (0..n)
        .filter(|i| band.parts[*i].instrument.id != "timpani" && !fits.closed[*i])
        .collect();
    by_melody.sort_by(|a, b| {
        quality(a)
            .0
            .total_cmp(&quality(b).0)
            .then(quality(a).1.cmp(&quality(b).1))
            .then(a.cmp(b))
    });
    let melody: Vec<usize> = by_melody.iter().copied().take(n.div_ceil(4)).collect();
    let mut by_depth: Vec<usize> = by_melody
        .into_iter()
        .filter(|i| !melody.contains(i))
        .collect();
    by_depth.sort_by_key(|i| (band.parts[*i].limits.comfortable.low, *i));
    let bass: Vec<usize> = by_depth.iter().copied().take(n.div_ceil(5)).collect();
    let role = |i: usize| match i {
        i if melody.contains(&i) => Role::Melody,
        i if bass.contains(&i) => Role::Bass,
        i if by_depth.contains(&i) => Role::Harmony,
        _ => Role::Rest,
    };
    (0..n)
        .map(|i| PartRole {
            role: role(i),
            octave: 0,
        })
        .collect()
}

fn candidate(band: &Band, way: usize, roles: Vec<PartRole>, fits: &Fits, start: f64) -> Candidate {
    let of = |role: Role| -> Vec<usize> {
        (0..roles.len())
            .filter(|i| roles[*i].role == role)
            .collect()
    };
    let (melody, bass, harmony) = (of(Role::Melody), of(Role::Bass), of(Role::Harmony));
    let cost = start
        + if fits.has[0] {
            melody_cost(band, &melody, fits)
        } else {
            0.0
        }
        + if fits.has[2] {
            (1.0 - best_share(&bass, &fits.bass)) * weight::BASS_MISSING + never_alone(band, &bass)
        } else {
            0.0
        }
        + 3_usize.saturating_sub(harmony.len()) as f64 * weight::HARMONY_SHORT;
    let brass = |part: &Part| part.instrument.family == Family::Brass;
    let all = band.parts.iter().filter(|p| brass(p)).count();
    let playing = band
        .parts
        .iter()
        .zip(&roles)
        .filter(|(p, r)| brass(p) && r.role != Role::Rest)
        .count();
    Candidate {
        way,
        brass_share: playing as f64 / all.max(1) as f64,
        roles,
        cost,
    }
}

fn best_share(carriers: &[usize], fits: &[Fit]) -> f64 {
    carriers.iter().map(|i| fits[*i].share).fold(0.0, f64::max)
}

fn melody_cost(band: &Band, carriers: &[usize], fits: &Fits) -> f64 {
    if carriers.is_empty() {
        return weight::MELODY_NOBODY;
    }
    let mean = carriers
        .iter()
        .map(|i| fits.melody[*i].mean_cost)
        .sum::<f64>()
        / carriers.len() as f64;
    let players: u32 = carriers
        .iter()
        .map(|i| band.parts[*i].players.count())
        .sum();
    let able = carriers
        .iter()
        .any(|i| band.parts[*i].remarks.exposure == Exposure::May);
    let exposed = !able && (carriers.len() == 1 || players < 2);
    let weak = carriers.iter().all(|i| is_weak_alone(&band.parts[*i]));
    let exposed = match (exposed, weak) {
        (false, _) => 0.0,
        (true, false) => weight::EXPOSED,
        (true, true) => weight::EXPOSED_WEAK,
    };
    (1.0 - best_share(carriers, &fits.melody)) * weight::MELODY_MISSING
        + mean * weight::MELODY_CLEAN
        + exposed
        + never_alone(band, carriers)
}

/// What it costs if the only carrier is never to be heard alone.
fn never_alone(band: &Band, carriers: &[usize]) -> f64 {
    match carriers {
        [only] if band.parts[*only].remarks.exposure == Exposure::Never => weight::NEVER_ALONE,
        _ => 0.0,
    }
}

/// What it costs to go from one way to another.
pub(super) fn step_cost(from: &Candidate, to: &Candidate, to_passage: &Passage) -> f64 {
    let same = if from.way == to.way {
        weight::SAME_COLOUR
    } else {
        0.0
    };
    let peak = Strength::of(to_passage.intensity) >= Strength::Strong;
    let full = from.brass_share > 0.8 && to.brass_share > 0.8 && !peak;
    same + if full { weight::BRASS_AGAIN } else { 0.0 }
}
