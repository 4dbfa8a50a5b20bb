//! The path of scales: which stretch of the line of fifths names the notes of each half note.

use crate::music::{PitchClass, Tick, TicksPerQuarter};
use crate::sketch::reading::{KeySpan, ReadNote};

/// A scale is told by the place of its major tonic, as a key signature is. From -9 to 9, so
/// that a piece in seven flats can still lean to its subdominant.
const SCALES: i32 = 19;
/// The lowest of them.
const LOWEST: i32 = -9;
/// How long one scale holds at the least, in quarters. Chosen by trial; 1 and 4 do as well.
const WINDOW_QUARTERS: u64 = 2;
/// What a change of scale costs, and what each place further costs. Chosen by trial, as all that
/// follow; the unit is that of [`cost`].
const CHANGE: f64 = 1.2;
const STEP: f64 = 1.0;
/// What a window costs for each place off the file's key signature.
const OFF_SIGNATURE: f64 = 0.35;
/// What each sharp or flat costs where no signature is given: at the start, and in each window.
const ACCIDENTALS_FIRST: f64 = 0.3;
const ACCIDENTALS: f64 = 0.02;

/// What a name costs by its place above the scale's major tonic: 0 for the scale's own tones,
/// more for chromatic ones; about the negative logarithm of how seldom they are. The raised
/// fifth (8) is the leading tone of the relative minor.
fn cost(above: i32) -> f64 {
    match above {
        0..=4 => 0.0,
        -1 | 5 => 0.2,
        8 => 0.9,
        6 => 1.0,
        -2 => 1.8,
        7 => 1.9,
        9 => 2.4,
        -3 => 2.8,
        10 => 3.2,
        -4 => 3.3,
        -5 => 4.5,
        11 => 5.0,
        -6 => 6.0,
        _ => 8.0 + f64::from((above - 2).abs()),
    }
}

/// The cheapest name of a pitch class in a scale, with its cost.
fn cheapest(class: PitchClass, scale: i32) -> f64 {
    let place = nearest(class, scale + 2);
    [place - 12, place, place + 12]
        .into_iter()
        .map(|p| cost(p - scale))
        .fold(f64::INFINITY, f64::min)
}

/// The place of a pitch class on the line of fifths that is nearest to another place; of two as
/// near the lower.
pub(super) fn nearest(class: PitchClass, to: i32) -> i32 {
    let one = i32::from(class.number()) * 7;
    // Up to six places below the goal, up to five above.
    to + (one - to + 6).rem_euclid(12) - 6
}

/// Half notes of the piece that notes begin in.
struct Window {
    start: Tick,
    weights: [f64; 12],
}

/// For each note the place of its scale's major tonic.
pub(super) fn find_scales(
    notes: &[ReadNote],
    keys: &[KeySpan],
    quarter: TicksPerQuarter,
) -> Vec<i32> {
    let (windows, of_note) = windows(notes, quarter);
    let path = best_path(&windows, keys);
    let scale = |w: &usize| path.get(*w).copied().unwrap_or(0);
    of_note.iter().map(scale).collect()
}

fn windows(notes: &[ReadNote], quarter: TicksPerQuarter) -> (Vec<Window>, Vec<usize>) {
    let length = WINDOW_QUARTERS * u64::from(quarter.get());
    let mut windows: Vec<Window> = Vec::new();
    let mut of_note = Vec::with_capacity(notes.len());
    for note in notes {
        let start = Tick(note.onset.0 / length * length);
        if windows.last().is_none_or(|w| w.start != start) {
            let weights = [0.0; 12];
            windows.push(Window { start, weights });
        }
        if let Some(window) = windows.last_mut() {
            let quarters = quarter.beats(note.duration).0.min(2.0);
            window.weights[usize::from(note.pitch.class().number())] += 0.5 + 0.5 * quarters;
        }
        of_note.push(windows.len() - 1);
    }
    (windows, of_note)
}

fn best_path(windows: &[Window], keys: &[KeySpan]) -> Vec<i32> {
    let scales: Vec<i32> = (LOWEST..LOWEST + SCALES).collect();
    let costs: Vec<[f64; 12]> = scales
        .iter()
        .map(|s| std::array::from_fn(|c| cheapest(PitchClass::of(c as i32), *s)))
        .collect();
    let mut total = vec![0.0; scales.len()];
    let mut from: Vec<Vec<usize>> = Vec::with_capacity(windows.len());
    for (w, window) in windows.iter().enumerate() {
        let given = given_signature(keys, window.start);
        let mut next = Vec::with_capacity(scales.len());
        let mut back = Vec::with_capacity(scales.len());
        for (s, scale) in scales.iter().enumerate() {
            let (before, cost_before) = cheapest_before(&total, s);
            let names: f64 = window
                .weights
                .iter()
                .zip(&costs[s])
                .map(|(w, c)| w * c)
                .sum();
            let signs = f64::from(scale.abs());
            let far = match given {
                Some(fifths) => OFF_SIGNATURE * f64::from((scale - fifths).abs()),
                None if w == 0 => (ACCIDENTALS_FIRST + ACCIDENTALS) * signs,
                None => ACCIDENTALS * signs,
            };
            next.push(cost_before + names + far);
            back.push(before);
        }
        total = next;
        from.push(back);
    }
    let mut at = least(&total);
    let mut path = Vec::with_capacity(windows.len());
    for back in from.iter().rev() {
        path.push(scales[at]);
        at = back[at];
    }
    path.reverse();
    path
}

/// The scale before that leads to scale `s` most cheaply, with the cost until then.
fn cheapest_before(total: &[f64], s: usize) -> (usize, f64) {
    let mut best = (s, total[s]);
    for (b, before) in total.iter().enumerate() {
        let cost = before + CHANGE + STEP * b.abs_diff(s) as f64;
        if b != s && cost < best.1 {
            best = (b, cost);
        }
    }
    best
}

fn least(values: &[f64]) -> usize {
    let better = |best: usize, i: usize| if values[i] < values[best] { i } else { best };
    (0..values.len()).fold(0, better)
}

/// Sharps of the signature that the file gives at a tick.
fn given_signature(keys: &[KeySpan], at: Tick) -> Option<i32> {
    let next = keys.partition_point(|k| k.start <= at);
    let span = keys.get(next.saturating_sub(1))?;
    span.given.then(|| i32::from(span.signature.fifths()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_place_is_within_half_the_circle() {
        for class in PitchClass::all() {
            for to in -20..20 {
                let place = nearest(class, to);
                assert!((-6..6).contains(&(place - to)));
                assert_eq!((place * 7).rem_euclid(12), i32::from(class.number()));
            }
        }
    }
}
