//! Where the bars begin on beats that were found by ear.

use super::listen::{BeatValue, Heard, QUARTER};
use super::strikes::Strike;
use crate::music::Meter;
use std::collections::BTreeMap;

/// Bars on found beats.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Bars {
    /// The meter.
    pub(super) meter: Meter,
    /// How many beats later the count begins, so that bars begin with their downbeats.
    pub(super) lead: u64,
    /// Beats of a bar.
    pub(super) beats: u64,
    /// How clear the downbeat is, 0 to 1.
    pub(super) clear: f64,
}

/// How much clearer three beats a bar must be than four. Chosen by trial.
const THREE_LEAD: f64 = 1.15;

/// How much the first attack's place in the bar counts as a downbeat, as a share of what a beat
/// of the bar has on average: most music begins with a bar, if not with a pickup (common practice,
/// no source).
const FIRST: f64 = 0.25;

/// The bars: in the file's meter where it names one, else in three or four, by where strong beats
/// recur. Strong is what is low, long and full (Temperley 2001, ch. 2, names length and
/// harmony; from memory).
pub(super) fn bars(heard: &Heard, strikes: &[Strike], given: Option<Meter>) -> Bars {
    let strengths = strengths(heard, strikes);
    if let Some(meter) = given {
        let Some(beats) = beats_of(meter, heard.value) else {
            return Bars {
                meter,
                lead: 0,
                beats: 1,
                clear: 0.0,
            };
        };
        return with(&strengths, meter, beats);
    }
    let of = |numerator| {
        Meter::new(numerator, if heard.value.compound { 3 } else { 2 }).unwrap_or(Meter::COMMON)
    };
    if heard.value.compound {
        return with(&strengths, of(6), 2);
    }
    let (three, four) = (with(&strengths, of(3), 3), with(&strengths, of(4), 4));
    if three.clear > THREE_LEAD * four.clear + 0.05 {
        three
    } else {
        four
    }
}

/// Beats of a bar, if a bar has a whole number of them.
fn beats_of(meter: Meter, value: BeatValue) -> Option<u64> {
    let bar = 4 * QUARTER * u64::from(meter.numerator()) / u64::from(meter.denominator());
    (bar > 0 && bar.is_multiple_of(value.ticks)).then_some(bar / value.ticks)
}

/// How strong each beat is.
fn strengths(heard: &Heard, strikes: &[Strike]) -> BTreeMap<u64, f64> {
    let mut found: BTreeMap<u64, f64> = BTreeMap::new();
    let mut lowest: BTreeMap<u64, u8> = BTreeMap::new();
    let period = heard.beats.period();
    for (strike, spot) in strikes.iter().zip(&heard.fitted.spots) {
        let Some(spot) = spot.filter(|s| s.point == 0) else {
            continue;
        };
        let number = spot.cell.start / heard.value.ticks.max(1);
        let long = (strike.held() / period).min(4.0);
        *found.entry(number).or_insert(0.0) +=
            0.4 + 0.5 * long + 0.3 * f64::from(strike.velocity) / 127.0;
        let low = lowest.entry(number).or_insert(strike.pitch);
        *low = (*low).min(strike.pitch);
    }
    for (number, low) in lowest {
        if let Some(strength) = found.get_mut(&number) {
            *strength += 1.5 * (f64::from(72_u8.saturating_sub(low)) / 12.0).min(3.0);
        }
    }
    found
}

fn with(strengths: &BTreeMap<u64, f64>, meter: Meter, beats: u64) -> Bars {
    let beats = beats.max(1);
    let mut sums = vec![0.0; beats as usize];
    let mut bars: f64 = 1.0;
    for (number, strength) in strengths {
        sums[(number % beats) as usize] += strength;
        bars = bars.max(
            (number / beats) as f64 - strengths.keys().next().map_or(0, |n| n / beats) as f64 + 1.0,
        );
    }
    let mean = sums.iter().sum::<f64>() / beats as f64;
    if let Some(first) = strengths.keys().next() {
        sums[(first % beats) as usize] += FIRST * mean;
    }
    let best = (0..sums.len()).fold(0, |b, i| if sums[i] > sums[b] { i } else { b });
    let clear = if mean > 0.0 && beats > 1 {
        (sums[best] / mean - 1.0).clamp(0.0, 1.0)
    } else {
        0.0
    };
    Bars {
        meter,
        lead: (beats - best as u64) % beats,
        beats,
        clear,
    }
}
