//! Beat tracking: the best-scored way through a stretch of music by beats of a period that may
//! change slowly.
//!
//! Dynamic programming over the salience of onsets (Ellis, Beat Tracking by Dynamic Programming,
//! 2007), with the period as a second coordinate, so that rubato is followed.

use super::strikes::Attack;

/// Length of a frame, in seconds.
const FRAME: f64 = 0.01;
/// Steps of the period, as a ratio.
const STEP: f64 = 1.03;
/// Steps each way from the period that was asked for.
const STEPS: usize = 14;
/// Largest change from beat to beat, in steps.
const TURN: usize = 3;
/// What a change of so many steps costs: `TURN_COST` times its square. Chosen by trial.
const TURN_COST: f64 = 0.22;
/// What being so many steps from the asked period costs. Chosen by trial.
const AWAY_COST: f64 = 0.008;
/// Half the width of an attack in the salience, in frames.
const HALF: usize = 5;
/// A silence of so many periods ends a stretch.
const SILENCE: f64 = 10.0;

/// Beat times of each stretch of music; long silences part stretches.
pub(super) fn track(attacks: &[Attack], period: f64) -> Vec<Vec<f64>> {
    let mut stretches = Vec::new();
    let mut start = 0;
    for i in 0..attacks.len() {
        let after = attacks.get(i + 1).map(|next| next.at - attacks[i].at);
        if after.is_none_or(|a| a > SILENCE * period) {
            stretches.push(track_stretch(&attacks[start..=i], period));
            start = i + 1;
        }
    }
    stretches
}

fn track_stretch(attacks: &[Attack], period: f64) -> Vec<f64> {
    let (Some(first), Some(last)) = (attacks.first(), attacks.last()) else {
        return Vec::new();
    };
    let origin = first.at - 4.0 * FRAME;
    let salience = salience(attacks, origin, last.at + 4.0 * FRAME);
    let lengths: Vec<usize> = (0..=2 * STEPS)
        .map(|k| {
            (period * STEP.powi(k as i32 - STEPS as i32) / FRAME)
                .round()
                .max(2.0) as usize
        })
        .collect();
    let frames = best_frames(&salience, &lengths);
    frames
        .into_iter()
        .map(|f| origin + f as f64 * FRAME)
        .collect()
}

/// How much each frame stands out, in units of its deviation.
fn salience(attacks: &[Attack], origin: f64, end: f64) -> Vec<f64> {
    let count = ((end - origin) / FRAME).ceil().max(1.0) as usize + 1;
    let mut values = vec![0.0; count];
    for attack in attacks {
        let centre = ((attack.at - origin) / FRAME).round() as usize;
        for frame in centre.saturating_sub(HALF)..=centre + HALF {
            let off = frame.abs_diff(centre) as f64 / 2.5;
            if let Some(value) = values.get_mut(frame) {
                *value += attack.weight / (1.0 + off * off);
            }
        }
    }
    let mean = values.iter().sum::<f64>() / count as f64;
    let square = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / count as f64;
    let deviation = square.sqrt().max(1e-6);
    values
        .iter_mut()
        .for_each(|v| *v = (*v - mean).min(4.0 * deviation) / deviation);
    values
}

/// The frames of the best path of beats.
fn best_frames(salience: &[f64], lengths: &[usize]) -> Vec<usize> {
    let bins = lengths.len();
    let longest = lengths.last().copied().unwrap_or(1) + 1;
    // Scores of the last frames only; the way back of all.
    let mut ring = vec![f64::NEG_INFINITY; longest * bins];
    let mut from = vec![u8::MAX; salience.len() * bins];
    let mut best_end = (f64::NEG_INFINITY, 0, 0);
    let last = salience
        .len()
        .saturating_sub(lengths.get(STEPS).copied().unwrap_or(1));
    for (t, own) in salience.iter().enumerate() {
        for k in 0..bins {
            let away = k.abs_diff(STEPS) as f64;
            let mut choice = (0.0, u8::MAX);
            if let Some(before) = t.checked_sub(lengths[k]) {
                let row = (before % longest) * bins;
                choice.0 = f64::NEG_INFINITY;
                for j in k.saturating_sub(TURN)..=(k + TURN).min(bins - 1) {
                    let turn = k.abs_diff(j) as f64;
                    let score = ring[row + j] - TURN_COST * turn * turn;
                    if score > choice.0 {
                        choice = (score, j as u8);
                    }
                }
            }
            let score = choice.0 + own - AWAY_COST * away * away;
            ring[(t % longest) * bins + k] = score;
            from[t * bins + k] = choice.1;
            if t >= last && score > best_end.0 {
                best_end = (score, t, k);
            }
        }
    }
    let (_, mut t, mut k) = best_end;
    let mut frames = vec![t];
    while let Some(before) = from.get(t * bins + k).copied().filter(|j| *j != u8::MAX) {
        let Some(earlier) = t.checked_sub(lengths[k]) else {
            break;
        };
        t = earlier;
        k = usize::from(before);
        frames.push(t);
    }
    frames.reverse();
    frames
}
