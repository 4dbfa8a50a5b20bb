//! The best-scored way to cut the piece into stretches of one chord each: a shortest path over
//! segments, each with its few best labels.

use super::bound::Bound;
use super::cells::Cell;
use super::change::{Place, most_gained};
use super::context::key_value;
use super::fits::Fits;
use super::labels::{KINDS, Label, labels};
use super::segment::{BassRow, ChordScore, Segment, bass_row};
use super::ways::{Way, Ways};
use super::weights::Weights;
use crate::music::{Chord, Key, Tick};

/// A chord covers at most so many cells before it must be named anew (equal neighbours are
/// joined), which keeps the search linear.
const LONGEST: usize = 16;
/// Labels kept of each stretch.
const KEPT: usize = 6;
/// Sums that differ by less may be equal, in slots.
const ROUNDING: f64 = 1e-6;
/// Rivals shown of each chord.
pub const RIVALS: usize = 3;

/// A chord that was found, with what competed.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) start: Tick,
    pub(super) end: Tick,
    pub(super) chord: Chord,
    /// Classes of the chord that do not sound, C in the lowest bit.
    pub(super) lacks: u16,
    pub(super) score: ChordScore,
    pub(super) rivals: [Option<(Chord, f32)>; RIVALS],
}

/// What the search knows beside the cells.
pub(super) struct Search<'a> {
    cells: &'a [Cell],
    /// For each cell the index of its key.
    keys: &'a [usize],
    w: &'a Weights,
    labels: Vec<Label>,
    /// By kind, in their order.
    bass: Vec<BassRow>,
    /// By key, then label.
    key_values: Vec<Vec<f64>>,
    bound: Bound,
}

impl<'a> Search<'a> {
    pub(super) fn new(cells: &'a [Cell], keys: &'a [usize], w: &'a Weights) -> Self {
        let labels = labels();
        let chord = |l: &Label| Chord::new(l.root, l.quality);
        let kinds = labels.iter().take(KINDS.len());
        let bass: Vec<BassRow> = kinds.map(|l| bass_row(chord(l), w)).collect();
        let values = |k: Key| labels.iter().map(|l| w.key * key_value(k, l)).collect();
        let key_values: Vec<Vec<f64>> = Key::all().map(values).collect();
        let bound = Bound::of(&labels, &bass, &key_values);
        Self {
            cells,
            keys,
            w,
            labels,
            bass,
            key_values,
            bound,
        }
    }

    /// The chords in order; silent stretches have none.
    pub(super) fn chords(&self) -> Vec<Found> {
        let mut fits = Fits::default();
        let mut ways: Vec<Ways> = Vec::with_capacity(self.cells.len() + 1);
        ways.push(Ways::first());
        for end in 1..=self.cells.len() {
            let mut here = Ways::default();
            let mut segment = Segment::default();
            for start in (end.saturating_sub(LONGEST)..end).rev() {
                let silent = self.cells[start].low.is_none();
                if silent && start + 1 < end {
                    break;
                }
                segment.add_before(&self.cells[start]);
                if silent {
                    here.rest(&ways[start], start);
                    break;
                }
                self.extend(&mut here, &ways[start], start, &segment, &mut fits);
            }
            ways.push(here);
        }
        self.trace(&ways, &mut fits)
    }

    /// Adds the ways that end with this stretch, as far as they can be among the best.
    fn extend(
        &self,
        here: &mut Ways,
        before: &Ways,
        start: usize,
        segment: &Segment,
        fits: &mut Fits,
    ) {
        let Some(best) = before.best() else {
            return;
        };
        let gain = most_gained(self.cells[start].change, self.bound.entry, self.w);
        let most = best.score + gain + ROUNDING;
        let least = here.least() - most;
        if segment.most(&self.bound, self.w) < least {
            return;
        }
        for (label, score) in self.best_labels(segment, start, KEPT, least, fits) {
            if score + most < here.least() {
                break;
            }
            let to = Place {
                label: &self.labels[label],
                struck: segment.struck(),
                change: self.cells[start].change,
            };
            let mut reached: Option<(f64, usize)> = None;
            for (b, way) in before.iter().enumerate() {
                let enough = reached.map_or(here.least(), |r| r.0);
                if way.score + gain + score + ROUNDING < enough {
                    break;
                }
                let from = way.label.map(|l| (&self.labels[l], way.struck));
                let sum = way.score + to.gain(from, self.w) + score;
                if reached.is_none_or(|r| sum > r.0) {
                    reached = Some((sum, b));
                }
            }
            if let Some((score, before)) = reached {
                here.keep(Way {
                    score,
                    label: Some(label),
                    start,
                    before,
                    struck: to.struck,
                });
            }
        }
    }

    /// The best labels of a stretch, with at least so good a score.
    fn best_labels(
        &self,
        segment: &Segment,
        start: usize,
        most: usize,
        least: f64,
        fits: &mut Fits,
    ) -> Vec<(usize, f64)> {
        let values = &self.key_values[self.keys[start]];
        let sums = segment.sums(self.w);
        let mut best: Vec<(usize, f64)> = Vec::with_capacity(most + 1);
        let mut least = least;
        for i in fits.of(segment, &self.labels) {
            let i = usize::from(*i);
            let label = &self.labels[i];
            let rough = Segment::rough_score(label, &sums, self.w) + values[i];
            if rough + self.bound.bass + ROUNDING < least {
                continue;
            }
            let row = &self.bass[i % KINDS.len()];
            let score = rough + segment.rest_of_score(label, &sums, row, self.w);
            if score < least || (best.len() == most && score == least) {
                continue;
            }
            let at = best.partition_point(|b| b.1 >= score);
            best.insert(at, (i, score));
            best.truncate(most);
            if let Some(last) = best.get(most - 1) {
                least = last.1;
            }
        }
        best
    }

    fn trace(&self, ways: &[Ways], fits: &mut Fits) -> Vec<Found> {
        let mut found: Vec<Found> = Vec::new();
        let (mut end, mut index) = (self.cells.len(), 0);
        while end > 0 {
            let Some(way) = ways[end].get(index) else {
                break;
            };
            if let Some(label) = way.label {
                found.push(self.found(way.start, end, label, fits));
            }
            end = way.start;
            index = way.before;
        }
        found.reverse();
        found
    }

    fn found(&self, start: usize, end: usize, label: usize, fits: &mut Fits) -> Found {
        let mut segment = Segment::default();
        for cell in self.cells[start..end].iter().rev() {
            segment.add_before(cell);
        }
        let chord = segment.chord(&self.labels[label]);
        let key = self.key_values[self.keys[start]][label];
        let mut rivals = [None; RIVALS];
        let others = self.best_labels(&segment, start, RIVALS + 1, f64::NEG_INFINITY, fits);
        let others = others.into_iter().filter(|(l, _)| *l != label);
        for (place, (other, score)) in rivals.iter_mut().zip(others) {
            *place = Some((segment.chord(&self.labels[other]), score as f32));
        }
        Found {
            start: self.cells[start].start,
            end: self.cells[end - 1].end,
            chord,
            lacks: segment.lacks(self.labels[label].mask),
            score: segment.parts(
                &self.labels[label],
                &self.bass[label % KINDS.len()],
                key,
                self.w,
            ),
            rivals,
        }
    }
}

/// Joins chords of one root and kind that follow one another.
pub(super) fn join(found: Vec<Found>) -> Vec<Found> {
    let mut joined: Vec<Found> = Vec::with_capacity(found.len());
    for next in found {
        match joined.last_mut() {
            Some(last) if last.end == next.start && is_same(last.chord, next.chord) => {
                last.end = next.end;
                last.lacks &= next.lacks;
            }
            _ => joined.push(next),
        }
    }
    joined
}

fn is_same(a: Chord, b: Chord) -> bool {
    a.root == b.root && a.quality == b.quality
}
