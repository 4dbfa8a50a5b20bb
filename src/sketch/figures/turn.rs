//! One turn of a pattern: a bass note with what belongs to it.

use super::figure::{Figure, FigureKind, Held};
use crate::music::{Sounding, Tick};
use crate::sketch::reading::ReadNote;

/// A turn of a pattern, as the bass finder tells it.
#[derive(Clone, Debug)]
pub(in crate::sketch) struct Turn {
    /// Indices of its low notes, in order; the first is its bass.
    pub(in crate::sketch) low: Vec<usize>,
    /// Indices of all its notes, chords included, in order.
    pub(in crate::sketch) notes: Vec<usize>,
    /// Whether chords answer the bass.
    pub(in crate::sketch) answered: bool,
    /// Whether its tones are all of one chord.
    pub(in crate::sketch) chordal: bool,
}

/// The figures that turns make: neighbours of one kind are one figure.
pub(super) fn figures_of(turns: &[Turn], notes: &[ReadNote], quarter: u64) -> Vec<Figure> {
    let mut found: Vec<Figure> = Vec::new();
    // Of the kinds of a family: how often the first one, how often the other.
    let (mut first, mut counts) = (FigureKind::BrokenChord, [0_usize; 2]);
    for turn in turns {
        let (Some(start), Some(end)) = (start(turn, notes), end(turn, notes)) else {
            continue;
        };
        let kind = kind(turn, notes, quarter);
        let held = Held {
            start,
            end,
            pitches: pitches(turn, notes),
        };
        match found.last_mut() {
            Some(last) if family(last.kind) == family(kind) && start.0 <= last.end.0 + quarter => {
                join(last, turn, held);
                let same = kind == first;
                counts[usize::from(!same)] += 1;
                if counts[1] > counts[0] && !same {
                    last.kind = kind;
                }
            }
            _ => {
                first = kind;
                counts = [1, 0];
                found.push(Figure {
                    kind,
                    start,
                    end,
                    notes: turn.notes.clone(),
                    harmony: if turn.chordal { vec![held] } else { Vec::new() },
                });
            }
        }
    }
    for figure in &mut found {
        figure.notes.sort_unstable();
        figure.notes.dedup();
        strike_in_time(figure, notes);
    }
    found.retain(|f| f.notes.len() >= 3);
    found
}

/// Kinds that pass into one another from turn to turn.
fn family(kind: FigureKind) -> FigureKind {
    match kind {
        FigureKind::Stride => FigureKind::OomPah,
        FigureKind::Alberti => FigureKind::BrokenChord,
        other => other,
    }
}

/// Leaves to every chord the pitches that the figure strikes in its time: turns of a pattern over a
/// held bass may run into one another.
fn strike_in_time(figure: &mut Figure, notes: &[ReadNote]) {
    let onset = |i: &usize| notes.get(*i).map_or(Tick::ZERO, |n| n.onset);
    let from = |at: Tick| figure.notes.partition_point(|i| onset(i) < at);
    for held in &mut figure.harmony {
        let (first, end) = (from(held.start), from(held.end));
        let here = figure.notes.get(first..end).unwrap_or_default();
        held.pitches = here.iter().map(|i| notes[*i].pitch).collect();
        held.pitches.sort_unstable();
        held.pitches.dedup();
    }
    figure.harmony.retain(|h| !h.pitches.is_empty());
}

/// Adds a turn to a figure. A chord goes on until the next turn begins, over a short gap too.
fn join(figure: &mut Figure, turn: &Turn, held: Held) {
    figure.notes.extend(&turn.notes);
    figure.end = figure.end.max(held.end);
    if let Some(last) = figure.harmony.last_mut() {
        last.end = held.start;
    }
    figure.harmony.retain(|h| h.end > h.start);
    match figure.harmony.last_mut() {
        Some(last) if turn.chordal && last.pitches == held.pitches => last.end = held.end,
        _ if turn.chordal => figure.harmony.push(held),
        _ => {}
    }
}

fn start(turn: &Turn, notes: &[ReadNote]) -> Option<Tick> {
    turn.notes.iter().map(|i| notes[*i].onset).min()
}

fn end(turn: &Turn, notes: &[ReadNote]) -> Option<Tick> {
    turn.notes.iter().map(|i| notes[*i].end()).max()
}

fn pitches(turn: &Turn, notes: &[ReadNote]) -> Vec<Sounding> {
    let mut all: Vec<Sounding> = turn.notes.iter().map(|i| notes[*i].pitch).collect();
    all.sort_unstable();
    all.dedup();
    all
}

fn kind(turn: &Turn, notes: &[ReadNote], quarter: u64) -> FigureKind {
    let low: Vec<&ReadNote> = turn.low.iter().map(|i| &notes[*i]).collect();
    let gaps = low.windows(2).map(|p| p[1].onset.since(p[0].onset).0);
    let quick = gaps.max().is_some_and(|g| 10 * g <= 3 * quarter);
    let pitch = |k: usize| low.get(k).map(|n| n.pitch);
    let two = {
        let mut all: Vec<Sounding> = low.iter().map(|n| n.pitch).collect();
        all.sort_unstable();
        all.dedup();
        all.len() == 2
    };
    if quick && two && low.len() >= 4 && low.windows(2).all(|p| p[0].pitch != p[1].pitch) {
        return FigureKind::Tremolo;
    }
    if turn.answered {
        let leap = pitch(1).zip(pitch(0)).map_or(0, |(a, b)| a.distance(b));
        return if leap >= 12 {
            FigureKind::Stride
        } else {
            FigureKind::OomPah
        };
    }
    let alberti = low.len() >= 4
        && pitch(1) == pitch(3)
        && pitch(2) < pitch(1)
        && pitch(0) < pitch(2)
        && pitch(1)
            .zip(pitch(0))
            .is_some_and(|(a, b)| a.distance(b) <= 12);
    if alberti {
        FigureKind::Alberti
    } else {
        FigureKind::BrokenChord
    }
}
