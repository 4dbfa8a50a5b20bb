//! The notes before and after each note in its own line, and how freely a note may therefore be
//! foreign to its chord.

use super::weights::Weights;
use crate::music::{MeterMap, Tick};
use crate::sketch::reading::{Line, ReadNote};

/// At most so many notes are looked at on each side of a note of no single line.
const REACH: usize = 24;

/// The notes before and after a note in its line, as indices.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(crate) struct Neighbours {
    /// The note before.
    pub(crate) before: Option<usize>,
    /// The note after.
    pub(crate) after: Option<usize>,
}

/// The neighbours of every note: for tune, second tune and bass the line's own, for the rest the
/// nearest in pitch that ends or begins where the note begins or ends.
pub(crate) fn neighbours(notes: &[ReadNote], meters: &MeterMap) -> Vec<Neighbours> {
    let quarter = u64::from(meters.quarter().get());
    let mut found = vec![Neighbours::default(); notes.len()];
    for line in [Line::Melody, Line::Counterline, Line::Bass] {
        let mut last: Option<usize> = None;
        for i in (0..notes.len()).filter(|i| notes[*i].line == line) {
            if let Some(l) = last {
                let gap = notes[i].onset.since(notes[l].end()).0;
                if notes[l].onset < notes[i].onset && gap <= quarter {
                    found[l].after = Some(i);
                    found[i].before = Some(l);
                }
            }
            last = Some(i);
        }
    }
    let join = (quarter / 8).max(1);
    let mut by_end: Vec<usize> = (0..notes.len()).collect();
    by_end.sort_by_key(|i| (notes[*i].end(), *i));
    for i in 0..notes.len() {
        let note = &notes[i];
        if found[i].after.is_none() {
            found[i].after = nearest_after(notes, i, join);
        }
        if found[i].before.is_none() {
            let from = by_end.partition_point(|j| notes[*j].end().0 + join < note.onset.0);
            let near = by_end[from..].iter().take(REACH).copied();
            found[i].before = near
                .take_while(|j| notes[*j].end().0 <= note.onset.0 + join)
                .filter(|j| notes[*j].onset < note.onset)
                .min_by_key(|j| (notes[*j].pitch.distance(note.pitch), *j));
        }
    }
    found
}

fn nearest_after(notes: &[ReadNote], i: usize, join: u64) -> Option<usize> {
    let note = &notes[i];
    let from = notes.partition_point(|n| n.onset.0 + join < note.end().0);
    let near = notes.get(from..)?.iter().take(REACH).enumerate();
    near.take_while(|(_, n)| n.onset.0 <= note.end().0 + join)
        .filter(|(_, n)| n.onset > note.onset)
        .min_by_key(|(k, n)| (n.pitch.distance(note.pitch), *k))
        .map(|(k, _)| from + k)
}

/// How a note counts: for chords that hold it, and against those that do not.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Share {
    pub(super) inside: f64,
    pub(super) outside: f64,
    /// Whether it is a note of the tune that moves by itself.
    pub(super) free: bool,
}

/// How every note counts, by its steps and its place.
pub(super) fn shares(
    notes: &[ReadNote],
    around: &[Neighbours],
    meters: &MeterMap,
    w: &Weights,
) -> Vec<Share> {
    let mut shares = Vec::with_capacity(notes.len());
    let mut from = 0;
    for together in notes.chunk_by(|a, b| a.onset == b.onset) {
        let near = around.iter().skip(from);
        for (note, near) in together.iter().zip(near) {
            let mut share = share(notes, note, *near, meters, w);
            share.free = note.line == Line::Melody && !is_of_chord(together, note, meters);
            shares.push(share);
        }
        from += together.len();
    }
    shares
}

/// Whether a note of the tune is held for two beats, or struck and left with two others.
fn is_of_chord(together: &[ReadNote], note: &ReadNote, meters: &MeterMap) -> bool {
    let beat = meters.meter(note.onset).beat(meters.quarter()).0;
    let with = |n: &&ReadNote| n.end() == note.end() && n.pitch != note.pitch;
    note.duration.0 >= 2 * beat || together.iter().filter(with).nth(1).is_some()
}

fn share(
    notes: &[ReadNote],
    note: &ReadNote,
    near: Neighbours,
    meters: &MeterMap,
    w: &Weights,
) -> Share {
    let line = match note.line {
        Line::Melody => w.melody,
        Line::Bass => w.bass,
        _ => 1.0,
    };
    let interval = |i: Option<usize>| {
        let other = notes.get(i?)?;
        Some(i32::from(note.pitch.midi()) - i32::from(other.pitch.midi()))
    };
    let (from, to) = (interval(near.before), interval(near.after).map(|t| -t));
    let step = |x: Option<i32>| matches!(x, Some(1 | 2 | -1 | -2));
    let beat = meters.meter(note.onset).beat(meters.quarter());
    let short = note.duration <= beat;
    let weak = !is_on_beat(meters, note.onset);
    let (inside, outside) = match (from, to) {
        _ if step(from) && step(to) && short && weak => (w.passing_in, w.passing_out),
        _ if step(from) && step(to) && short => (1.0, w.accented_out),
        (Some(0), _) if step(to) => (1.0, w.suspension_out),
        _ if step(to) => (1.0, w.leaning_out),
        (_, Some(0)) if short && weak => (1.0, w.leaving_out),
        _ if step(from) && short && weak => (1.0, w.leaving_out),
        _ => (1.0, 1.0),
    };
    Share {
        inside: line * inside,
        outside: line * outside,
        free: false,
    }
}

/// Whether a tick lies on a felt beat.
pub(crate) fn is_on_beat(meters: &MeterMap, at: Tick) -> bool {
    let beat = meters.meter(at).beat(meters.quarter()).0;
    let inside = at.since(meters.bar_start(meters.bar(at))).0;
    (inside % beat).min(beat - inside % beat) * 12 <= beat
}
