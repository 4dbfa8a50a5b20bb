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
/// Strikes that the choice between beats is made by.
const SAMPLE: usize = 1_200;
/// Periods that are followed.
const FOLLOWED: usize = 4;
/// How much the ease of a period counts, in nats a strike. Chosen by trial.
const EASE: f64 = 0.35;
/// What it costs a strike that beats divide by three where the given meter says two. Chosen by trial.
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
    let mut trials: Vec<Trial> = Vec::new();
    for period in periods(heard, FOLLOWED) {
        let Some(beats) = Beats::joined(&track(heard, period)) else {
            continue;
        };
        for beats in kin(&beats) {
            let near = |t: &Trial| {
                (t.beats.period() / beats.period() - 1.0).abs() < 0.03 && in_phase(&t.beats, &beats)
            };
            let period = beats.period();
            if period >= PERIODS.0 && period <= PERIODS.1 && !trials.iter().any(near) {
                trials.extend(trial(sample, beats, given));
            }
        }
    }
    trials.sort_by(|a, b| a.score.total_cmp(&b.score));
    let (best, second) = (trials.first()?, trials.get(1));
    let lead = second.map_or(1.0, |s| ((s.score - best.score) / 0.25).clamp(0.0, 1.0));
    let whole = if sample.len() == strikes.len() {
        best.beats.clone()
    } else {
        all_beats(attacks, best)?
    };
    Some(refined(strikes, whole, best.value, lead))
}

/// The beats of the whole piece, in the period and phase that the sample chose.
fn all_beats(attacks: &[Attack], best: &Trial) -> Option<Beats> {
    let found = Beats::joined(&track(attacks, best.beats.period()))?;
    if in_phase(&best.beats, &found) {
        Some(found)
    } else {
        found.between().or(Some(found))
    }
}

/// Beats with those that the tracker may have taken for them: twice and half as fast, by three,
/// and the off-beats.
fn kin(beats: &Beats) -> Vec<Beats> {
    let mut all = vec![beats.clone(), beats.divided(2), beats.divided(3)];
    all.extend(beats.between());
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
    let together = a.all().iter().filter(|x| apart(x.at) < 0.25).count();
    2 * together > a.all().len()
}

struct Trial {
    beats: Beats,
    value: BeatValue,
    /// Nats a strike; less is better.
    score: f64,
}

fn trial(strikes: &[Strike], beats: Beats, given: Option<Meter>) -> Option<Trial> {
    let value = BeatValue::of(given);
    let heard = refined(strikes, beats, value, 0.0);
    let thirds = by_three(&heard.fitted);
    let number = strikes.len().max(1) as f64;
    let against = match given {
        Some(_) if value.compound => 1.0 - thirds.max(0.3),
        Some(_) => thirds,
        None => 0.0,
    };
    let score =
        heard.fitted.cost / number + EASE * unease(heard.beats.period()) + AGAINST * against;
    let found = given.is_none() && thirds > 0.6;
    let value = if found { DOTTED } else { value };
    score.is_finite().then_some(Trial {
        beats: heard.beats,
        value,
        score,
    })
}

/// Share of the divided beats that divide by three; none where the first third is hardly ever
/// struck (that is swing).
fn by_three(fitted: &Fitted) -> f64 {
    let (mut three, mut first, mut all) = (0.0, 0.0, 0.0);
    let mut last = None;
    for spot in fitted.spots.iter().flatten().filter(|s| s.point > 0) {
        if last == Some(spot.cell.start) {
            continue;
        }
        last = Some(spot.cell.start);
        all += 1.0;
        if DIVISIONS[usize::from(spot.division)].family == Family::Triplet {
            three += 1.0;
            let (part, parts) = spot.fraction();
            first += if 2 * part < parts { 1.0 } else { 0.0 };
        }
    }
    if all < 8.0 || first < 0.25 * three {
        0.0
    } else {
        three / all
    }
}

/// Fits the notes to beats and moves the beats to fit the notes, in turns.
fn refined(strikes: &[Strike], beats: Beats, value: BeatValue, lead: f64) -> Heard {
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
        lead,
    }
}

fn places(strikes: &[Strike], beats: &Beats, beat: u64) -> Vec<Place> {
    let place = |s: &Strike| {
        let (number, period) = beats.place(s.down);
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
            at: s.down,
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
