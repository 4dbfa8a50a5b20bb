//! What is neither melody nor bass: harmony, figures, and the rare second tune.

use super::counterline::mark_counterline;
use super::onsets::Onset;
use super::reading::{Line, ReadNote};
use crate::music::TicksPerQuarter;

/// Sorts the notes that have no line yet (`free`) into harmony, figure and counterline.
/// Their confidence is how sure they are not bass. `upper` tells of notes known to be the upper part of a broken chord how sure that is.
pub(super) fn sort_filling(
    notes: &mut [ReadNote],
    onsets: &[Onset],
    free: &[bool],
    upper: &[Option<f32>],
    quarter: TicksPerQuarter,
) {
    let mut single: Vec<usize> = Vec::new();
    for onset in onsets {
        let here: Vec<usize> = onset.notes.clone().filter(|i| free[*i]).collect();
        for i in &here {
            let figure = upper[*i];
            notes[*i].line = figure.map_or(Line::Harmony, |_| Line::Figure);
            if let Some(sure) = figure {
                notes[*i].confidence = sure;
            }
        }
        let copy = |i: usize| {
            onset.notes.clone().any(|m| {
                notes[m].line == Line::Melody && notes[m].pitch.distance(notes[i].pitch) == 12
            })
        };
        if let [only] = here.as_slice()
            && !copy(*only)
        {
            single.push(*only);
        }
    }
    mark_figures(notes, &single, upper, quarter);
    mark_counterline(notes, onsets, u64::from(quarter.get()));
}

fn mark_figures(
    notes: &mut [ReadNote],
    single: &[usize],
    upper: &[Option<f32>],
    quarter: TicksPerQuarter,
) {
    let beat = u64::from(quarter.get());
    for k in 0..single.len() {
        let i = single[k];
        let n = notes[i];
        if 2 * n.duration.0 > beat && upper[i].is_none() {
            continue;
        }
        let figure_like = |other: Option<&usize>| {
            other.is_some_and(|o| {
                let o = &notes[*o];
                let apart = o.onset.since(n.onset).0 + n.onset.since(o.onset).0;
                let leap = n.pitch.distance(o.pitch);
                apart <= beat && (leap == 0 || leap > 2)
            })
        };
        let before = figure_like(k.checked_sub(1).and_then(|b| single.get(b)));
        let after = figure_like(single.get(k + 1));
        let goes_on = before && notes[single[k - 1]].line == Line::Figure;
        if upper[i].is_some() || before && after || goes_on {
            notes[i].line = Line::Figure;
            notes[i].confidence = match upper[i] {
                Some(sure) => sure,
                None if goes_on && !after => 0.6,
                None => 0.85,
            };
        }
    }
}
