//! The best-scored way to cut the piece into stretches of one chord each: a shortest path over
//! segments, each with its few best labels.

use super::cells::Cell;
use super::context::{key_value, progression};
use super::labels::{Label, labels};
use super::segment::{BassRow, ChordScore, Segment, bass_row};
use super::weights::Weights;
use crate::music::{Chord, Key, Tick};

/// A chord covers at most so many cells before it must be named anew (equal neighbours are
/// joined), which keeps the search linear.
const LONGEST: usize = 16;
/// Labels kept of each stretch.
const KEPT: usize = 6;
/// Ways kept at each place.
const WAYS: usize = 10;
/// The least that a change of kind over the same root costs, in slots. Chosen by trial.
const SAME_ROOT: f64 = -0.4;
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
    bass: Vec<BassRow>,
    /// By key, then label.
    key_values: Vec<Vec<f64>>,
}

/// A way to reach a place: its last chord, where that began, and the way before.
#[derive(Clone, Copy)]
struct Way {
    score: f64,
    label: Option<usize>,
    start: usize,
    before: usize,
}

impl<'a> Search<'a> {
    pub(super) fn new(cells: &'a [Cell], keys: &'a [usize], w: &'a Weights) -> Self {
        let labels = labels();
        let chord = |l: &Label| Chord::new(l.root, l.quality);
        let bass = labels.iter().map(|l| bass_row(chord(l), w)).collect();
        let values = |k: Key| labels.iter().map(|l| w.key * key_value(k, l)).collect();
        let key_values = Key::all().map(values).collect();
        Self {
            cells,
            keys,
            w,
            labels,
            bass,
            key_values,
        }
    }

    /// The chords in order; silent stretches have none.
    pub(super) fn chords(&self) -> Vec<Found> {
        let mut ways: Vec<Vec<Way>> = Vec::with_capacity(self.cells.len() + 1);
        ways.push(vec![Way {
            score: 0.0,
            label: None,
            start: 0,
            before: 0,
        }]);
        for end in 1..=self.cells.len() {
            let mut here: Vec<Way> = Vec::new();
            let mut segment = Segment::default();
            for start in (end.saturating_sub(LONGEST)..end).rev() {
                let silent = self.cells[start].low.is_none();
                if silent && start + 1 < end {
                    break;
                }
                segment.add_before(&self.cells[start]);
                if silent {
                    self.rest(&mut here, &ways, start);
                    break;
                }
                for (label, score) in self.best_labels(&segment, start, KEPT) {
                    self.extend(&mut here, &ways[start], start, label, score);
                }
            }
            here.sort_by(|a, b| b.score.total_cmp(&a.score));
            here.truncate(WAYS);
            ways.push(here);
        }
        self.trace(&ways)
    }

    fn rest(&self, here: &mut Vec<Way>, ways: &[Vec<Way>], start: usize) {
        if let Some(best) = ways[start].first() {
            here.push(Way {
                score: best.score,
                label: None,
                start,
                before: 0,
            });
        }
    }

    fn best_labels(&self, segment: &Segment, start: usize, most: usize) -> Vec<(usize, f64)> {
        let values = &self.key_values[self.keys[start]];
        let sums = segment.sums(self.w);
        let mut best: Vec<(usize, f64)> = Vec::with_capacity(most + 1);
        for (i, label) in self.labels.iter().enumerate() {
            if !segment.may_be(label) {
                continue;
            }
            let score = segment.score(label, &sums, &self.bass[i], self.w) + values[i];
            if best.len() == most && best.last().is_some_and(|l| l.1 >= score) {
                continue;
            }
            let at = best.partition_point(|b| b.1 >= score);
            best.insert(at, (i, score));
            best.truncate(most);
        }
        best
    }

    fn extend(&self, here: &mut Vec<Way>, before: &[Way], start: usize, label: usize, score: f64) {
        let mut best: Option<(f64, usize)> = None;
        for (b, way) in before.iter().enumerate() {
            let change = match way.label {
                Some(l) if l == label => self.labels[label].entry * self.w.entry,
                Some(l) if self.labels[l].root == self.labels[label].root => {
                    // Where chords usually change, a new kind over the old root is no gain.
                    self.lead(l, label) - self.cells[start].change.max(SAME_ROOT)
                }
                Some(l) => self.lead(l, label) - self.cells[start].change,
                None => -self.cells[start].change,
            };
            let total = way.score + change + score;
            if best.is_none_or(|x| total > x.0) {
                best = Some((total, b));
            }
        }
        let Some((score, before)) = best else {
            return;
        };
        let way = Way {
            score,
            label: Some(label),
            start,
            before,
        };
        match here.iter_mut().find(|w| w.label == way.label) {
            Some(old) if old.score < score => *old = way,
            Some(_) => {}
            None => here.push(way),
        }
    }

    fn lead(&self, from: usize, to: usize) -> f64 {
        let (from, to) = (&self.labels[from], &self.labels[to]);
        progression(from, to, self.w)
    }

    fn trace(&self, ways: &[Vec<Way>]) -> Vec<Found> {
        let mut found: Vec<Found> = Vec::new();
        let (mut end, mut index) = (self.cells.len(), 0);
        while end > 0 {
            let Some(way) = ways[end].get(index) else {
                break;
            };
            if let Some(label) = way.label {
                found.push(self.found(way.start, end, label));
            }
            end = way.start;
            index = way.before;
        }
        found.reverse();
        found
    }

    fn found(&self, start: usize, end: usize, label: usize) -> Found {
        let mut segment = Segment::default();
        for cell in self.cells[start..end].iter().rev() {
            segment.add_before(cell);
        }
        let chord = segment.chord(&self.labels[label]);
        let key = self.key_values[self.keys[start]][label];
        let mut rivals = [None; RIVALS];
        let others = self.best_labels(&segment, start, RIVALS + 1);
        let others = others.into_iter().filter(|(l, _)| *l != label);
        for (place, (other, score)) in rivals.iter_mut().zip(others) {
            *place = Some((segment.chord(&self.labels[other]), score as f32));
        }
        Found {
            start: self.cells[start].start,
            end: self.cells[end - 1].end,
            chord,
            lacks: segment.lacks(self.labels[label].mask),
            score: segment.parts(&self.labels[label], &self.bass[label], key, self.w),
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
