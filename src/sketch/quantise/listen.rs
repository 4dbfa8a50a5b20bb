//! Finding the beats of a performance by ear, where the file's own do not fit.

use super::beats::Beats;
use super::divisions::{DIVISIONS, Family};
use super::fit::{Fitted, Place, fit};
use super::pulse::{PERIODS, periods, unease};
use super::ruler::{Ruler, by_dotted_beats};
use super::smooth::{Sight, smoothed};
use super::strikes::{Attack, Strike};
use super::track::track;
use crate::music::Meter;

/// Ticks of a quarter note on a grid that was found.
pub(super) const QUARTER: u64 = 480;
/// Strikes that the choice between beats is made by, and those that a first look is taken at.
const SAMPLE: usize = 700;
const GLANCE: usize = 300;
/// How many beats are looked at closely.
const CLOSELY: usize = 5;
/// Periods that are followed.
const FOLLOWED: usize = 4;
/// How much the ease of a period counts, in nats an attack. Chosen by trial.
const EASE: f64 = 0.4;
/// How much it counts that beats are stronger than what is between them. Chosen by trial.
const ACCENT: f64 = 1.5;
/// Beats that divide by three must be this share of all to mean compound time.
const FEW: f64 = 0.25;
/// What it costs an attack that beats divide by three where the given meter says two. Chosen by trial.
const AGAINST: f64 = 0.3;

/// Beats that were found, with the notes fitted to them.
#[derive(Clone, Debug)]
pub(super) struct Heard {
    /// The beats; their numbers times [`BeatValue::ticks`] are written ticks.
    pub(super) beats: Beats,
    /// What a beat is written as.
    pub(super) value: BeatValue,
    pub(super) fitted: Fitted,
    pub(super) places: Vec<Place>,
    /// How sure the choice is against the next best, 0 to 1.
    pub(super) lead: f64,
}

/// What a beat is written as.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct BeatValue {
    /// Written ticks of a beat.
    pub(super) ticks: u64,
    /// Whether it is a dotted value.
    pub(super) compound: bool,
}

const PLAIN: BeatValue = BeatValue {
    ticks: QUARTER,
    compound: false,
};
const DOTTED: BeatValue = BeatValue {
    ticks: QUARTER * 3 / 2,
    compound: true,
};

impl BeatValue {
    fn of(meter: Option<Meter>) -> Self {
        match meter {
            Some(m) if by_dotted_beats(m) => Self {
                ticks: 12 * QUARTER / u64::from(m.denominator()),
                compound: true,
            },
            _ => PLAIN,
        }
    }

    /// The grid of such beats.
    pub(super) const fn ruler(self) -> Ruler<'static> {
        Ruler::Even {
            length: self.ticks,
            compound: self.compound,
        }
    }
}

/// Finds the beats. `given` is the file's meter, if it names one. `None` where there are no beats
/// to find.
pub(super) fn listen(
    strikes: &[Strike],
    attacks: &[Attack],
    given: Option<Meter>,
) -> Option<Heard> {
    let sample = &strikes[..strikes.len().min(SAMPLE)];
    let until = sample.last()?.down;
    let heard = &attacks[..attacks.partition_point(|a| a.at <= until)];
    let glance = &sample[..sample.len().min(GLANCE)];
    let mut seen: Vec<(f64, Beats)> = Vec::new();
    for period in periods(heard, FOLLOWED) {
        let Some(beats) = Beats::joined(&track(heard, period)) else {
            continue;
        };
        for beats in kin(&beats) {
            let period = beats.period();
            let same = |(_, b): &(f64, Beats)| {
                (b.period() / period - 1.0).abs() < 0.03 && in_phase(b, &beats)
            };
            if period >= PERIODS.0 && period <= PERIODS.1 && !seen.iter().any(same) {
                seen.push((at_a_glance(glance, heard, &beats, given), beats));
            }
        }
    }
    seen.sort_by(|a, b| a.0.total_cmp(&b.0));
    let close = seen.iter().take(CLOSELY);
    let mut trials: Vec<Trial> = close
        .filter_map(|(_, beats)| trial(sample, heard, beats, given))
        .collect();
    trials.sort_by(|a, b| a.score.total_cmp(&b.score));
    let second = trials.get(1).map(|t| t.score);
    let mut best = trials.into_iter().next()?;
    let lead = second.map_or(1.0, |s| ((s - best.score) / 0.3).clamp(0.0, 1.0));
    if sample.len() < strikes.len() || best.value != BeatValue::of(given) {
        let beats = if sample.len() < strikes.len() {
            all_beats(attacks, &best)?
        } else {
            best.heard.beats
        };
        best.heard = refined(strikes, &beats, best.value);
    }
    best.heard.lead = lead;
    Some(best.heard)
}

/// The score of beats as far as a first look tells.
fn at_a_glance(strikes: &[Strike], attacks: &[Attack], beats: &Beats, given: Option<Meter>) -> f64 {
    let until = strikes.last().map_or(0.0, |s| s.down);
    let heard = &attacks[..attacks.partition_point(|a| a.at <= until)];
    let value = BeatValue::of(given);
    let beats = beats.reaching(strikes.first().map_or(0.0, |s| s.down), until);
    let places = places(strikes, &beats, value.ticks);
    let fitted = fit(strikes, &places, &value.ruler(), 1);
    score(&fitted, heard, &beats, given)
}

/// The beats of the whole piece, in the period and phase that the sample chose.
fn all_beats(attacks: &[Attack], best: &Trial) -> Option<Beats> {
    let chosen = &best.heard.beats;
    let found = Beats::joined(&track(attacks, chosen.period()))?;
    let shifts = [0.5, 1.0 / 3.0, 2.0 / 3.0];
    let mut all = vec![found];
    for share in shifts {
        all.extend(all[0].shifted(share));
    }
    let apart = |b: &Beats| {
        let off = chosen.all().iter().map(|x| b.place(x.at).0);
        off.map(|n| (n - n.round()).abs()).sum::<f64>()
    };
    all.into_iter().min_by(|a, b| apart(a).total_cmp(&apart(b)))
}

/// Beats with those that the tracker may have taken for them: twice and half as fast, by three,
/// and what is between them.
fn kin(beats: &Beats) -> Vec<Beats> {
    let mut all = vec![beats.clone(), beats.divided(2), beats.divided(3)];
    all.extend(
        [0.5, 1.0 / 3.0, 2.0 / 3.0]
            .into_iter()
            .filter_map(|s| beats.shifted(s)),
    );
    all.extend(
        [(2, 0), (2, 1), (3, 0), (3, 1), (3, 2)]
            .into_iter()
            .filter_map(|(by, first)| beats.thinned(by, first)),
    );
    all
}

/// Whether most of the beats fall together.
fn in_phase(a: &Beats, b: &Beats) -> bool {
    let apart = |at: f64| {
        let (number, _) = b.place(at);
        (number - number.round()).abs()
    };
    let together = a.all().iter().filter(|x| apart(x.at) < 0.16).count();
    2 * together > a.all().len()
}

struct Trial {
    heard: Heard,
    /// What beats are to be written as.
    value: BeatValue,
    /// Nats an attack; less is better.
    score: f64,
}

fn trial(
    strikes: &[Strike],
    attacks: &[Attack],
    beats: &Beats,
    given: Option<Meter>,
) -> Option<Trial> {
    let value = BeatValue::of(given);
    let heard = refined(strikes, beats, value);
    let score = score(&heard.fitted, attacks, &heard.beats, given);
    let found = given.is_none() && by_three(&heard.fitted) > 0.6;
    let value = if found { DOTTED } else { value };
    score.is_finite().then_some(Trial {
        heard,
        value,
        score,
    })
}

/// How well beats go with the music: the cost of the notes fitted to them, how easily they are
/// felt, whether they are strong, and whether they divide as the given meter says.
fn score(fitted: &Fitted, attacks: &[Attack], beats: &Beats, given: Option<Meter>) -> f64 {
    let thirds = by_three(fitted);
    let against = match given {
        Some(m) if by_dotted_beats(m) => 1.0 - thirds.max(0.3),
        Some(_) => thirds,
        None => 0.0,
    };
    fitted.cost / attacks.len().max(1) as f64 + EASE * unease(beats.period()) + AGAINST * against
        - ACCENT * accent(attacks, beats)
}

/// How much stronger beats are than the middles between them, -1 to 1; near 0 where there is
/// little in the middles.
fn accent(attacks: &[Attack], beats: &Beats) -> f64 {
    let usual = attacks.iter().map(|a| a.weight).sum::<f64>() / attacks.len().max(1) as f64;
    let doubt = 0.12 * attacks.len() as f64;
    let start = (usual * doubt, doubt);
    let (mut on, mut off) = (start, start);
    for attack in attacks {
        let (number, _) = beats.place(attack.at);
        let away = (number - number.round()).abs();
        let sum = match away {
            a if a < 0.16 => &mut on,
            a if a > 0.28 => &mut off,
            _ => continue,
        };
        *sum = (sum.0 + attack.weight, sum.1 + 1.0);
    }
    let (on, off) = (on.0 / on.1.max(1.0), off.0 / off.1.max(1.0));
    (on - off) / (on + off).max(1e-6)
}

/// Share of the divided beats that divide by three; none where few beats do, or where the first
/// third is hardly ever struck (that is swing).
fn by_three(fitted: &Fitted) -> f64 {
    let (mut three, mut first, mut divided, mut all) = (0.0, 0.0, 0.0, 0.0);
    let (mut beat, mut beat_divided) = (None, None);
    for spot in fitted.spots.iter().flatten() {
        let here = Some(spot.cell.start);
        if beat != here {
            all += 1.0;
        }
        beat = here;
        if spot.point == 0 || beat_divided == here {
            continue;
        }
        beat_divided = here;
        divided += 1.0;
        if DIVISIONS[usize::from(spot.division)].family == Family::Triplet {
            three += 1.0;
            let (part, parts) = spot.fraction();
            first += if 2 * part < parts { 1.0 } else { 0.0 };
        }
    }
    let few = divided < 8.0 || three < FEW * all || first < 0.25 * three;
    if few { 0.0 } else { three / divided }
}

/// Fits the notes to beats and moves the beats to fit the notes, in turns.
fn refined(strikes: &[Strike], beats: &Beats, value: BeatValue) -> Heard {
    let (first, last) = (
        strikes.first().map_or(0.0, |s| s.down),
        strikes.last().map_or(0.0, |s| s.down),
    );
    let mut beats = beats.reaching(first, last);
    let ruler = value.ruler();
    for _ in 0..2 {
        let places = places(strikes, &beats, value.ticks);
        let fitted = fit(strikes, &places, &ruler, 1);
        beats = smoothed(&beats, &sights(strikes, &fitted, value.ticks), fitted.noise);
    }
    let places = places(strikes, &beats, value.ticks);
    let fitted = fit(strikes, &places, &ruler, 2);
    Heard {
        beats,
        value,
        fitted,
        places,
        lead: 0.0,
    }
}

fn places(strikes: &[Strike], beats: &Beats, beat: u64) -> Vec<Place> {
    let place = |s: &Strike| {
        let (number, period) = beats.place(s.heard);
        Place {
            at: (number * beat as f64).max(0.0),
            tick_seconds: period / beat as f64,
        }
    };
    strikes.iter().map(place).collect()
}

fn sights(strikes: &[Strike], fitted: &Fitted, beat: u64) -> Vec<Sight> {
    let sight = |(s, spot): (&Strike, &Option<super::fit::Spot>)| {
        spot.map(|spot| Sight {
            beat: spot.tick as f64 / beat as f64,
            at: s.heard,
        })
    };
    strikes
        .iter()
        .zip(&fitted.spots)
        .filter_map(sight)
        .collect()
}

impl Heard {
    /// Counts all beats so many later.
    pub(super) fn count_from(&mut self, by: u64) {
        let ticks = by * self.value.ticks;
        self.beats = self.beats.later(by);
        for place in &mut self.places {
            place.at += ticks as f64;
        }
        for spot in self.fitted.spots.iter_mut().flatten() {
            spot.tick += ticks;
            spot.cell.start += ticks;
            spot.cell.end += ticks;
        }
    }
}
