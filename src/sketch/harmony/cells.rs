//! Cells: the shortest stretches that a chord may cover, an eighth note each.

use super::neighbours::Share;
use super::weights::Weights;
use crate::music::{MeterMap, Tick};
use crate::sketch::reading::{Line, ReadNote, Slice};

/// Long cells weigh by length, but one held chord must not outweigh the rest of the piece.
const MOST_SLOTS: f64 = 4.0;

/// A minimal stretch.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub(super) start: Tick,
    pub(super) end: Tick,
    /// What each class counts for chords that hold it, in slots.
    pub(super) inside: [f64; 12],
    /// What each class counts against chords that do not.
    pub(super) outside: [f64; 12],
    /// The tune's part of both.
    pub(super) tune: [f64; 12],
    /// The classes that sound, C in the lowest bit.
    pub(super) sounding: u16,
    /// The classes that are struck by others than a tune that moves by itself.
    pub(super) struck: u16,
    /// Lowest pitch, of the bass line if that sounds.
    pub(super) low: Option<u8>,
    /// How long in slots.
    pub(super) slots: f64,
    /// What a chord that begins here costs.
    pub(super) change: f64,
}

/// The cells of the slices; a silent one stands alone.
pub(super) fn cells(
    notes: &[ReadNote],
    slices: &[Slice],
    shares: &[Share],
    meters: &MeterMap,
    w: &Weights,
) -> Vec<Cell> {
    let mut cells: Vec<Cell> = Vec::new();
    let mut last = None;
    for slice in slices {
        let slot = slot(meters, slice.start);
        let bar = meters.bar_start(meters.bar(slice.start));
        let place = (bar, slice.start.since(bar).0 / slot);
        let silent = slice.sounding.is_empty();
        if last != Some((place, silent)) {
            cells.push(Cell {
                start: slice.start,
                end: slice.end,
                inside: [0.0; 12],
                outside: [0.0; 12],
                tune: [0.0; 12],
                sounding: 0,
                struck: 0,
                low: None,
                slots: 0.0,
                change: change(meters, notes, slice, slot, w),
            });
            last = Some((place, silent));
        }
        if let Some(cell) = cells.last_mut() {
            add(cell, slice, notes, shares, slot, w);
        }
    }
    cells
}

/// An eighth note, or the unit of the meter if that is shorter.
fn slot(meters: &MeterMap, at: Tick) -> u64 {
    let quarter = u64::from(meters.quarter().get());
    let denominator = u64::from(meters.meter(at).denominator()).max(8);
    (4 * quarter / denominator).max(1)
}

fn change(meters: &MeterMap, notes: &[ReadNote], slice: &Slice, slot: u64, w: &Weights) -> f64 {
    let meter = meters.meter(slice.start);
    let (bar, beat) = (
        meter.bar(meters.quarter()).0,
        meter.beat(meters.quarter()).0,
    );
    let inside = slice
        .start
        .since(meters.bar_start(meters.bar(slice.start)))
        .0;
    let near = |whole: u64| inside % whole < slot / 2;
    let beats = bar / beat.max(1);
    let place = if inside < slot / 2 {
        w.change_bar
    } else if beats.is_multiple_of(2) && near(bar / 2) {
        w.change_half
    } else if near(beat) {
        w.change_beat
    } else {
        w.change_off
    };
    let struck = slice
        .sounding
        .iter()
        .any(|i| notes[*i].onset == slice.start);
    place + if struck { 0.0 } else { w.change_silent }
}

fn add(
    cell: &mut Cell,
    slice: &Slice,
    notes: &[ReadNote],
    shares: &[Share],
    slot: u64,
    w: &Weights,
) {
    cell.end = slice.end;
    let slots = (slice.end.since(slice.start).0 as f64 / slot as f64).min(MOST_SLOTS);
    cell.slots += slots;
    let mut seen = [false; 12];
    let mut bass = false;
    for i in &slice.sounding {
        let note = &notes[*i];
        let class = usize::from(note.pitch.class().number());
        let again = std::mem::replace(&mut seen[class], true);
        let weight = slots * if again { w.doubling } else { 1.0 };
        cell.inside[class] += weight * shares[*i].inside;
        cell.outside[class] += weight * shares[*i].outside;
        if shares[*i].free {
            cell.tune[class] += weight * (shares[*i].inside + shares[*i].outside);
        }
        cell.sounding |= 1 << class;
        if note.onset == slice.start && !shares[*i].free {
            cell.struck |= 1 << class;
        }
        bass |= note.line == Line::Bass;
    }
    let lowest = slice.sounding.iter().map(|i| &notes[*i]);
    let mut low = lowest.filter(|n| !bass || n.line == Line::Bass);
    if let Some(note) = low.next()
        && cell.low.is_none_or(|l| bass && note.pitch.midi() < l)
    {
        cell.low = Some(note.pitch.midi());
    }
}
