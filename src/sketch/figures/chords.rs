//! Chords struck again and again, and chords rolled from below.

use super::figure::{Figure, FigureKind, Held};
use crate::music::{Sounding, Tick};
use crate::sketch::onsets::Onset;
use crate::sketch::reading::{Line, ReadNote};

/// The fewest strokes of repeated chords.
const STROKES: usize = 4;
/// The fewest notes of a rolled chord, and the most that two hands roll.
const FEWEST_ROLLED: usize = 3;
const MOST_ROLLED: usize = 12;

/// A chord of the accompaniment where it is struck.
struct Stroke {
    at: Tick,
    end: Tick,
    notes: Vec<usize>,
    pitches: Vec<Sounding>,
}

/// Chords of the accompaniment struck in an even rhythm, most of them more than once. `taken`
/// marks notes of other patterns.
pub(super) fn repeated(
    notes: &[ReadNote],
    onsets: &[Onset],
    taken: &[bool],
    quarter: u64,
) -> Vec<Figure> {
    let strokes: Vec<Stroke> = onsets
        .iter()
        .filter_map(|o| stroke(notes, o, taken))
        .collect();
    let gap = |k: usize| strokes[k + 1].at.since(strokes[k].at).0;
    let mut found = Vec::new();
    let mut from = 0;
    for k in 0..strokes.len() {
        let goes_on = k + 1 < strokes.len()
            && 16 * gap(k) <= 17 * quarter
            && (k == from || 8 * gap(k).abs_diff(gap(k - 1)) <= quarter);
        if !goes_on {
            found.extend(repeated_figure(&strokes[from..=k]));
            from = k + 1;
        }
    }
    found
}

fn stroke(notes: &[ReadNote], onset: &Onset, taken: &[bool]) -> Option<Stroke> {
    let here: Vec<usize> = onset
        .notes
        .clone()
        .filter(|i| notes[*i].line != Line::Melody && !taken[*i])
        .collect();
    let mut pitches: Vec<Sounding> = here.iter().map(|i| notes[*i].pitch).collect();
    pitches.dedup();
    let end = here.iter().map(|i| notes[*i].end()).max()?;
    (pitches.len() >= 2).then_some(Stroke {
        at: onset.at,
        end,
        notes: here,
        pitches,
    })
}

fn repeated_figure(strokes: &[Stroke]) -> Option<Figure> {
    let (first, last) = (strokes.first()?, strokes.last()?);
    let same = strokes
        .windows(2)
        .filter(|p| p[0].pitches == p[1].pitches)
        .count();
    if strokes.len() < STROKES || 2 * same < strokes.len() {
        return None;
    }
    let mut harmony: Vec<Held> = Vec::new();
    for (k, stroke) in strokes.iter().enumerate() {
        let end = strokes.get(k + 1).map_or(stroke.end, |next| next.at);
        match harmony.last_mut() {
            Some(held) if held.pitches == stroke.pitches => held.end = end,
            _ => harmony.push(Held {
                start: stroke.at,
                end,
                pitches: stroke.pitches.clone(),
            }),
        }
    }
    Some(Figure {
        kind: FigureKind::RepeatedChords,
        start: first.at,
        end: last.end.max(first.at),
        notes: strokes.iter().flat_map(|s| s.notes.clone()).collect(),
        harmony,
    })
}

/// Chords whose tones are struck one after the other from below, all within a third of a quarter,
/// and held together.
pub(super) fn rolled(notes: &[ReadNote], onsets: &[Onset], quarter: u64) -> Vec<Figure> {
    let mut found = Vec::new();
    let mut o = 0;
    while o < onsets.len() {
        let (roll, used) = roll_from(notes, onsets, o, quarter);
        if let Some(figure) = rolled_figure(notes, &roll, used) {
            found.push(figure);
            o += used;
        } else {
            o += 1;
        }
    }
    found
}

/// The notes of a roll that begins at an onset, and how many onsets it takes.
fn roll_from(notes: &[ReadNote], onsets: &[Onset], o: usize, quarter: u64) -> (Vec<usize>, usize) {
    let first = onsets[o].at;
    let mut roll: Vec<usize> = Vec::new();
    let mut used = 0;
    for onset in &onsets[o..] {
        let late = 3 * onset.at.since(first).0 > quarter;
        let tune = |i: &usize| notes[*i].line == Line::Melody;
        let mut own = onset.notes.clone().filter(|i| !tune(i)).peekable();
        let rises = own.peek().is_some_and(|i| {
            roll.last()
                .is_none_or(|l| notes[*l].pitch < notes[*i].pitch)
        });
        if late || !rises || roll.len() + onset.notes.len() > MOST_ROLLED {
            break;
        }
        roll.extend(own);
        used += 1;
    }
    (roll, used)
}

fn rolled_figure(notes: &[ReadNote], roll: &[usize], used: usize) -> Option<Figure> {
    let (first, last) = (notes.get(*roll.first()?)?, notes.get(*roll.last()?)?);
    let until = roll.iter().map(|i| notes[*i].end()).min()?;
    let spread = last.onset.since(first.onset).0;
    let held = until.since(last.onset).0 >= 3 * spread.max(1);
    if used < FEWEST_ROLLED || !held {
        return None;
    }
    let mut pitches: Vec<Sounding> = roll.iter().map(|i| notes[*i].pitch).collect();
    pitches.dedup();
    Some(Figure {
        kind: FigureKind::RolledChord,
        start: first.onset,
        end: until,
        notes: roll.to_vec(),
        harmony: vec![Held {
            start: first.onset,
            end: until,
            pitches,
        }],
    })
}
