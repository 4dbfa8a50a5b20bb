//! Chord labels: the best-scored way to cut the piece into stretches of one chord each.

use super::chord_templates::best_template;
use super::reading::{ChordSpan, Line, ReadNote, Slice};
use crate::music::{Chord, MeterMap, PitchClass, Tick};

/// A chord covers at most so many minimal segments of half a beat before it must be named anew
/// (equal neighbours are joined), which keeps the search linear.
const LONGEST: usize = 8;
/// What the lowest class adds to a chord on that root. Chosen by trial.
const BASS_BONUS: f64 = 1.0;

/// A minimal segment: about half a beat.
struct Cell {
    start: Tick,
    end: Tick,
    weights: [f64; 12],
    /// Lowest pitch, of the bass line if that sounds.
    low: Option<u8>,
    /// What a chord that begins here costs.
    change: f64,
}

/// Labels the chords, and writes each slice's chord into it.
pub(super) fn find_chords(
    notes: &[ReadNote],
    slices: &mut [Slice],
    meters: &MeterMap,
) -> Vec<ChordSpan> {
    let cells = cells(notes, slices, meters);
    let chords = join(shortest_path(&cells));
    let mut next = 0;
    for slice in slices {
        while chords.get(next).is_some_and(|c| c.end <= slice.start) {
            next += 1;
        }
        let over = chords.get(next).filter(|c| c.start <= slice.start);
        slice.chord = over.filter(|_| !slice.sounding.is_empty()).map(|_| next);
    }
    chords
}

fn cells(notes: &[ReadNote], slices: &[Slice], meters: &MeterMap) -> Vec<Cell> {
    let mut cells: Vec<Cell> = Vec::new();
    let mut last = None;
    for slice in slices {
        let bar = meters.bar_start(meters.bar(slice.start));
        let beat = meters.meter(slice.start).beat(meters.quarter()).0;
        let half = (beat / 2).max(1);
        let inside = slice.start.since(bar).0;
        let place = (bar, inside / half);
        let silent = slice.sounding.is_empty();
        if last != Some((place, silent)) {
            let change = match inside {
                0 => 0.5,
                i if i.is_multiple_of(beat) => 1.5,
                _ => 3.0,
            };
            cells.push(Cell {
                start: slice.start,
                end: slice.end,
                weights: [0.0; 12],
                low: None,
                change,
            });
            last = Some((place, silent));
        }
        if let Some(cell) = cells.last_mut() {
            add(cell, slice, notes, half);
        }
    }
    cells
}

fn add(cell: &mut Cell, slice: &Slice, notes: &[ReadNote], half: u64) {
    cell.end = slice.end;
    // Long slices weigh by length, but one held chord must not outweigh the rest of the piece.
    let weight = (slice.end.since(slice.start).0 as f64 / half as f64).min(4.0);
    let mut seen = [false; 128];
    for i in &slice.sounding {
        let note = &notes[*i];
        let pitch = usize::from(note.pitch.midi());
        if !std::mem::replace(&mut seen[pitch], true) {
            cell.weights[pitch % 12] += weight;
        }
        if cell.low.is_none() || note.line == Line::Bass {
            let low = cell.low.unwrap_or(u8::MAX);
            cell.low = Some(low.min(note.pitch.midi()));
        }
    }
}

fn shortest_path(cells: &[Cell]) -> Vec<ChordSpan> {
    let mut best: Vec<(f64, usize, Option<Chord>)> = vec![(0.0, 0, None)];
    for end in 1..=cells.len() {
        let mut choice = (f64::NEG_INFINITY, end - 1, None);
        let mut weights = [0.0; 12];
        for start in (end.saturating_sub(LONGEST)..end).rev() {
            let cell = &cells[start];
            let silent = cell.low.is_none();
            if silent && start + 1 < end {
                break;
            }
            (0..12).for_each(|c| weights[c] += cell.weights[c]);
            let (score, chord) = label(&weights, cell);
            let total = best[start].0 + score;
            if total > choice.0 {
                choice = (total, start, chord);
            }
            if silent {
                break;
            }
        }
        best.push(choice);
    }
    trace(cells, &best)
}

fn label(weights: &[f64; 12], first: &Cell) -> (f64, Option<Chord>) {
    let bass = first.low.map(|p| PitchClass::of(i32::from(p)));
    let Some((root, quality, score)) = best_template(weights, bass, BASS_BONUS) else {
        return (0.0, None);
    };
    let bass = bass.unwrap_or(root);
    let chord = Chord {
        root,
        quality,
        bass,
    };
    (score - first.change, Some(chord))
}

fn trace(cells: &[Cell], best: &[(f64, usize, Option<Chord>)]) -> Vec<ChordSpan> {
    let mut spans = Vec::new();
    let mut end = cells.len();
    while end > 0 {
        let (_, start, chord) = best[end];
        if let Some(chord) = chord {
            spans.push(ChordSpan {
                start: cells[start].start,
                end: cells[end - 1].end,
                chord,
            });
        }
        end = start;
    }
    spans.reverse();
    spans
}

/// Joins equal chords that follow one another.
fn join(spans: Vec<ChordSpan>) -> Vec<ChordSpan> {
    let mut joined: Vec<ChordSpan> = Vec::with_capacity(spans.len());
    for span in spans {
        match joined.last_mut() {
            Some(last) if last.end == span.start && last.chord == span.chord => last.end = span.end,
            _ => joined.push(span),
        }
    }
    joined
}
