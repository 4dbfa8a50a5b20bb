//! What goes on around an attack: how dense, how regular, how chordal.

use super::attacks::{Attack, Attacks, highest};
use crate::music::{MeterMap, Tick};

/// How far attacks may be from a regular pulse, in quarters.
const EVEN: f64 = 0.07;
/// The slowest pulse that counts as a running figure, in quarters.
const RUNNING: f64 = 0.55;
/// How many quarters on either side tell how chordal the music is.
const CHORDAL: f64 = 8.0;

/// What goes on around an attack.
#[derive(Clone, Copy, Debug)]
pub(super) struct Context {
    /// The length of its bar, in quarters.
    pub(super) bar: f64,
    /// Attacks within a quarter on either side.
    pub(super) density: usize,
    /// How many equal steps follow one another around it, if they run fast.
    pub(super) motor: usize,
    /// The length of such a step, in quarters; 0 where nothing runs.
    pub(super) step: f64,
    /// Of the places half a bar and a bar away, the share without an attack.
    pub(super) free: f64,
    /// Whether it is on a beat.
    pub(super) on_beat: bool,
    /// Whether it is neither on a beat nor on half of one.
    pub(super) off_grid: bool,
    /// Of the attacks near, the share that strike three pitches or more, 0 to 1.
    pub(super) chordal: f64,
    /// How far the highest pitches of the attacks near leap on average, in semitones, at most 12.
    pub(super) leaps: f64,
    /// Of the attacks near, the share at which as many keys are down as is most usual there.
    pub(super) steady: f64,
    /// Median of the highest sounding pitches near.
    pub(super) centre: f64,
}

/// The context of each attack.
pub(super) fn contexts(attacks: &Attacks, meters: &MeterMap) -> Vec<Context> {
    let runs = runs(&attacks.list);
    let leaps = leaps(&attacks.list);
    let steady = steady(&attacks.list);
    let centres = centres(&attacks.list);
    let mut chords = 0_usize;
    let mut near = 0..0;
    let full = |a: &Attack| usize::from(a.pitches >= 3);
    attacks
        .list
        .iter()
        .enumerate()
        .map(|(k, attack)| {
            while let Some(a) = attacks
                .list
                .get(near.end)
                .filter(|a| a.at <= attack.at + CHORDAL)
            {
                chords += full(a);
                near.end += 1;
            }
            while attacks.list[near.start].at < attack.at - CHORDAL {
                chords -= full(&attacks.list[near.start]);
                near.start += 1;
            }
            let bar = bar_quarters(meters, attack.tick);
            let lags = [-bar, -bar / 2.0, bar / 2.0, bar];
            let empty = lags
                .iter()
                .filter(|l| attacks.near(attack.at + **l).is_none())
                .count();
            let (on_beat, off_grid) = place(meters, attack.tick);
            Context {
                bar,
                density: attacks.around(k, 1.0, 1.0).len(),
                motor: runs[k].0,
                step: runs[k].1,
                free: empty as f64 / 4.0,
                on_beat,
                off_grid,
                chordal: chords as f64 / near.len().max(1) as f64,
                leaps: leaps[k],
                steady: steady[k],
                centre: centres[k],
            }
        })
        .collect()
}

fn bar_quarters(meters: &MeterMap, at: Tick) -> f64 {
    let quarter = meters.quarter();
    quarter.beats(meters.meter(at).bar(quarter)).0
}

/// Whether a tick is on a beat, and whether it is off both beats and their halves.
fn place(meters: &MeterMap, at: Tick) -> (bool, bool) {
    let quarter = meters.quarter();
    let beat = quarter.beats(meters.meter(at).beat(quarter)).0.max(0.125);
    let from = quarter.beats(at.since(meters.bar_start(meters.bar(at)))).0;
    let away = |step: f64| {
        let rest = from % step;
        rest.min(step - rest)
    };
    let on_beat = away(beat) <= EVEN;
    let half = if beat > 1.3 { 0.5 } else { beat / 2.0 };
    (on_beat, away(half) > EVEN)
}

/// For each attack how many equal fast steps lie around it, at most 16, and how long they are.
fn runs(list: &[Attack]) -> Vec<(usize, f64)> {
    let steps: Vec<f64> = list.windows(2).map(|p| p[1].at - p[0].at).collect();
    let mut runs = vec![(0, 0.0); list.len()];
    let mut start = 0;
    for run in steps.chunk_by(|a, b| (a - b).abs() <= EVEN && *b <= RUNNING) {
        if run[0] <= RUNNING {
            let found = (run.len().min(16), run[0]);
            for place in &mut runs[start..=start + run.len()] {
                if found.0 > place.0 {
                    *place = found;
                }
            }
        }
        start += run.len();
    }
    runs
}

/// For each attack how far the tops of the attacks near it leap on average.
fn leaps(list: &[Attack]) -> Vec<f64> {
    let leap = |k: usize| match k.checked_sub(1) {
        Some(before) => u32::from(
            highest(list[before].new)
                .abs_diff(highest(list[k].new))
                .min(12),
        ),
        None => 0,
    };
    let (mut near, mut sum) = (0..0, 0);
    list.iter()
        .map(|attack| {
            while list
                .get(near.end)
                .is_some_and(|a| a.at <= attack.at + CHORDAL)
            {
                sum += leap(near.end);
                near.end += 1;
            }
            while list[near.start].at < attack.at - CHORDAL {
                sum -= leap(near.start);
                near.start += 1;
            }
            f64::from(sum) / near.len().max(1) as f64
        })
        .collect()
}

/// For each attack, how steadily the same number of keys is down around it.
fn steady(list: &[Attack]) -> Vec<f64> {
    let mut counts = [0_u32; 129];
    let mut near = 0..0;
    list.iter()
        .map(|attack| {
            while let Some(a) = list.get(near.end).filter(|a| a.at <= attack.at + CHORDAL) {
                counts[a.down.count_ones() as usize] += 1;
                near.end += 1;
            }
            while list[near.start].at < attack.at - CHORDAL {
                counts[list[near.start].down.count_ones() as usize] -= 1;
                near.start += 1;
            }
            let most = counts.iter().max().copied().unwrap_or(0);
            f64::from(most) / near.len().max(1) as f64
        })
        .collect()
}

/// Median of the tops of the attacks within eight quarters.
fn centres(list: &[Attack]) -> Vec<f64> {
    let mut counts = [0_u32; 128];
    let (mut lo, mut hi) = (0, 0);
    list.iter()
        .map(|attack| {
            while let Some(a) = list.get(hi).filter(|a| a.at <= attack.at + CHORDAL) {
                counts[usize::from(highest(a.new))] += 1;
                hi += 1;
            }
            while list[lo].at < attack.at - CHORDAL {
                counts[usize::from(highest(list[lo].new))] -= 1;
                lo += 1;
            }
            median(&counts).unwrap_or(60.0)
        })
        .collect()
}

/// The median of counted pitches.
pub(super) fn median(counts: &[u32; 128]) -> Option<f64> {
    let total: u32 = counts.iter().sum();
    let mut sum = 0;
    let at = counts.iter().position(|c| {
        sum += c;
        2 * sum > total
    })?;
    Some(at as f64)
}
