//! Patterns of single lines: octaves, quick runs, a bar of low notes again and again.

use super::figure::{Figure, FigureKind};
use crate::music::MeterMap;
use crate::sketch::onsets::Onset;
use crate::sketch::reading::{Line, ReadNote};

/// The fewest notes of a line in octaves.
const OCTAVES: usize = 4;
/// The fewest notes of a run.
const RUN: usize = 6;
/// The fewest bars of an ostinato, and its fewest and most notes a bar.
const BARS: usize = 4;
const FEWEST_A_BAR: usize = 3;
const MOST_A_BAR: usize = 64;

/// Stretches of tune or bass of which every note is doubled an octave away by a note that is of no
/// line of its own.
pub(super) fn octaves(notes: &[ReadNote], onsets: &[Onset]) -> Vec<Figure> {
    let mut found = Vec::new();
    for line in [Line::Melody, Line::Bass] {
        let mut run: Vec<usize> = Vec::new();
        let mut count = 0;
        for onset in onsets {
            let Some(own) = onset.notes.clone().find(|i| notes[*i].line == line) else {
                continue;
            };
            let double = onset.notes.clone().find(|i| {
                let other = &notes[*i];
                !matches!(other.line, Line::Melody | Line::Bass)
                    && other.pitch.distance(notes[own].pitch) == 12
            });
            if let Some(double) = double {
                run.extend([own, double]);
                count += 1;
            } else {
                close(notes, &mut run, &mut count, &mut found);
            }
        }
        close(notes, &mut run, &mut count, &mut found);
    }
    found.sort_by_key(|f| f.start);
    found
}

fn close(notes: &[ReadNote], run: &mut Vec<usize>, count: &mut usize, found: &mut Vec<Figure>) {
    let members = std::mem::take(run);
    if std::mem::take(count) >= OCTAVES {
        found.extend(figure(notes, FigureKind::Octaves, members));
    }
}

/// Quick steps in one direction, in equal notes of one line and track.
pub(super) fn runs(notes: &[ReadNote], quarter: u64) -> Vec<Figure> {
    let mut found = Vec::new();
    for line in [Line::Melody, Line::Counterline, Line::Bass, Line::Figure] {
        let own: Vec<usize> = (0..notes.len())
            .filter(|i| notes[*i].line == line)
            .collect();
        let mut from = 0;
        for k in 0..own.len() {
            let steps = |a: usize, b: usize| {
                i16::from(notes[own[b]].pitch.midi()) - i16::from(notes[own[a]].pitch.midi())
            };
            let gap = |a: usize| notes[own[a + 1]].onset.since(notes[own[a]].onset).0;
            let goes_on = k + 1 < own.len()
                && (1..=2).contains(&steps(k, k + 1).abs())
                && gap(k) > 0
                && 2 * gap(k) <= quarter
                && notes[own[k]].track == notes[own[k + 1]].track
                && (k == from
                    || steps(k - 1, k).signum() == steps(k, k + 1).signum()
                        && 16 * gap(k).abs_diff(gap(k - 1)) <= quarter);
            if goes_on {
                continue;
            }
            if k + 1 - from >= RUN {
                found.extend(figure(notes, FigureKind::ScalarRun, own[from..=k].to_vec()));
            }
            // The last note of a run may be the first of one that turns back.
            let turns = k > from && k + 1 < own.len();
            from = if turns && k + 1 - from < RUN {
                k
            } else {
                k + 1
            };
            if turns && from == k {
                let again = (1..=2).contains(&steps(k, k + 1).abs())
                    && gap(k) > 0
                    && 2 * gap(k) <= quarter
                    && notes[own[k]].track == notes[own[k + 1]].track;
                if !again {
                    from = k + 1;
                }
            }
        }
    }
    found.sort_by_key(|f| f.start);
    found
}

/// Bars of bass and figure that are the same four times and more.
pub(super) fn ostinatos(notes: &[ReadNote], meters: &MeterMap) -> Vec<Figure> {
    let low: Vec<usize> = (0..notes.len())
        .filter(|i| matches!(notes[*i].line, Line::Bass | Line::Figure))
        .collect();
    let bar_of = |i: &usize| meters.bar(notes[*i].onset);
    let bars: Vec<&[usize]> = low.chunk_by(|a, b| bar_of(a) == bar_of(b)).collect();
    let mut found = Vec::new();
    for alike in bars.chunk_by(|a, b| is_same(notes, meters, a, b)) {
        let first = alike.first().copied().unwrap_or_default();
        let moves = first
            .iter()
            .any(|i| notes[*i].pitch != notes[first[0]].pitch);
        if alike.len() >= BARS && first.len() >= FEWEST_A_BAR && moves {
            found.extend(figure(notes, FigureKind::Ostinato, alike.concat()));
        }
    }
    found
}

fn is_same(notes: &[ReadNote], meters: &MeterMap, a: &[usize], b: &[usize]) -> bool {
    let (Some(x), Some(y)) = (a.first(), b.first()) else {
        return false;
    };
    let (x, y) = (meters.bar(notes[*x].onset), meters.bar(notes[*y].onset));
    let (start, other) = (meters.bar_start(x), meters.bar_start(y));
    let same = |(i, j): (&usize, &usize)| {
        notes[*i].pitch == notes[*j].pitch
            && notes[*i].onset.since(start) == notes[*j].onset.since(other)
    };
    a.len() == b.len() && a.len() <= MOST_A_BAR && y.0 == x.0 + 1 && a.iter().zip(b).all(same)
}

fn figure(notes: &[ReadNote], kind: FigureKind, mut members: Vec<usize>) -> Option<Figure> {
    members.sort_unstable();
    members.dedup();
    let start = notes.get(*members.first()?)?.onset;
    let end = members.iter().map(|i| notes[*i].end()).max()?;
    Some(Figure {
        kind,
        start,
        end,
        notes: members,
        harmony: Vec::new(),
    })
}
