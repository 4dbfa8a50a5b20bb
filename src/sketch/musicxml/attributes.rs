//! What an `attributes` element says: divisions, key, time, transposition.

use super::measure::{MarkKind, Signature};
use super::part::PartReader;
use super::tree::{child, child_text, children, name, number, text, whole};
use crate::music::{KeySignature, Meter, Mode};
use roxmltree::Node;

/// Most staves of one part that may sound at pitches of their own.
const MOST_STAVES: usize = 16;

/// How written pitch becomes sounding pitch.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) struct Shift {
    /// Semitones, octaves counted in.
    pub(super) semitones: i32,
    /// Places on the line of fifths.
    pub(super) places: i32,
    /// What also sounds: an octave up or down.
    pub(super) doubled: Option<i32>,
}

/// Reads an `attributes` element.
pub(super) fn read_attributes(reader: &mut PartReader<'_>, node: Node<'_, '_>) {
    for element in children(node) {
        match name(element) {
            "divisions" => match number(text(element)).filter(|n| *n > 0.0 && *n <= 1e9) {
                Some(divisions) => reader.divisions = divisions,
                None => reader.odd("divisions that are no number over 0 were passed over"),
            },
            "transpose" => read_transpose(reader, element),
            "time" => read_time(reader, element),
            "measure-style" => read_style(reader, element),
            "key" | "staves" | "part-symbol" | "instruments" | "clef" | "staff-details"
            | "for-part" | "directive" | "footnote" | "level" => {}
            other => reader.unknown(other, "attributes"),
        }
    }
    // A key is written for the transposition that stands after it.
    for element in children(node).filter(|n| name(*n) == "key") {
        read_key(reader, element);
    }
}

fn read_style(reader: &mut PartReader<'_>, node: Node<'_, '_>) {
    for element in children(node) {
        match name(element) {
            "measure-repeat" | "beat-repeat" => {
                reader.odd("signs that repeat the measure or beat before are not played; measures are read as they stand");
            }
            "slash" => reader.odd("slashes are not played; measures are read as they stand"),
            _ => {}
        }
    }
}

/// Sounding minus written: chromatic semitones and octaves (MusicXML 4.0, `transpose`). Where the
/// diatonic steps are missing, the interval has its usual name.
fn read_transpose(reader: &mut PartReader<'_>, node: Node<'_, '_>) {
    let value = |element| child_text(node, element).and_then(number);
    let Some(chromatic) = value("chromatic").filter(|c| c.abs() <= 120.0) else {
        reader.odd("a transposition without semitones was passed over");
        return;
    };
    if chromatic.fract() != 0.0 {
        reader.odd("a transposition by less than a semitone was rounded");
    }
    let chromatic = chromatic.round() as i32;
    let octaves = value("octave-change").map_or(0.0, |o| o.clamp(-10.0, 10.0)) as i32;
    let usual = (7 * chromatic + 5).rem_euclid(12) - 5;
    let places = match value("diatonic") {
        Some(steps) => {
            let told = 7 * chromatic - 12 * steps.clamp(-70.0, 70.0) as i32;
            if told.abs() <= 12 { told } else { usual }
        }
        None => usual,
    };
    let doubled = child(node, "double").map(|d| {
        if d.attribute("above") == Some("yes") {
            12
        } else {
            -12
        }
    });
    let shift = Shift {
        semitones: chromatic + 12 * octaves,
        places,
        doubled,
    };
    reader.transposes(shift);
    let staff = node.attribute("number").and_then(whole);
    match staff
        .and_then(|s| usize::try_from(s).ok())
        .filter(|s| (1..=MOST_STAVES).contains(s))
    {
        None => reader.shifts = vec![shift],
        Some(staff) => {
            let first = reader.shifts.first().copied().unwrap_or_default();
            if reader.shifts.len() <= staff {
                reader.shifts.resize(staff + 1, first);
            }
            if let Some(own) = reader.shifts.get_mut(staff) {
                *own = shift;
            }
        }
    }
}

impl PartReader<'_> {
    /// How written pitch becomes sounding pitch on a staff.
    pub(super) fn shift(&self, staff: u8) -> Shift {
        let own = self.shifts.get(usize::from(staff)).copied();
        own.or_else(|| self.shifts.first().copied())
            .unwrap_or_default()
    }
}

/// A key at concert pitch.
fn read_key(reader: &mut PartReader<'_>, node: Node<'_, '_>) {
    let staff = node.attribute("number").and_then(whole).unwrap_or(1);
    if staff > 1 {
        return;
    }
    let Some(fifths) = child_text(node, "fifths").and_then(whole) else {
        reader.odd("a key without a number of sharps or flats was passed over");
        return;
    };
    let mode = match child_text(node, "mode") {
        Some("minor" | "aeolian") => Mode::Minor,
        _ => Mode::Major,
    };
    if fifths.abs() > 7 {
        reader.odd("a key beyond seven sharps or flats was passed over");
        return;
    }
    let mut concert = fifths + reader.shift(1).places;
    if concert.abs() > 7 {
        concert -= 12 * concert.signum();
    }
    let signature = i8::try_from(concert)
        .ok()
        .and_then(|f| KeySignature::new(f, mode));
    match signature {
        Some(key) => reader.mark(reader.now, MarkKind::Key(key)),
        None => reader.odd("a key beyond seven sharps or flats was passed over"),
    }
}

fn read_time(reader: &mut PartReader<'_>, node: Node<'_, '_>) {
    let staff = node.attribute("number").and_then(whole).unwrap_or(1);
    if staff > 1 {
        return;
    }
    let signature = if child(node, "senza-misura").is_some() {
        reader.odd("without a meter (senza misura): each measure is as long as what it holds");
        Signature::Free
    } else {
        match meter(node) {
            Some(meter) => Signature::Meter(meter),
            None => {
                reader.odd("a time signature that is none was passed over");
                return;
            }
        }
    };
    if reader.now > 0 {
        reader.odd("a time signature inside a measure counts for all of it");
    }
    reader.measure.signature = Some(signature);
}

/// The meter of a time signature; of a composite one (3+2, 2/4 + 3/8) the sum.
fn meter(node: Node<'_, '_>) -> Option<Meter> {
    let mut pairs: Vec<(u32, u32)> = Vec::new();
    let mut beats = None;
    for element in children(node) {
        match name(element) {
            "beats" => {
                let parts = text(element).split('+').take(100);
                beats = parts
                    .map(|b| u32::try_from(whole(b)?).ok())
                    .sum::<Option<u32>>();
            }
            "beat-type" => pairs.push((beats.take()?, u32::try_from(whole(text(element))?).ok()?)),
            _ => {}
        }
    }
    let unit = pairs.iter().map(|p| p.1).max()?;
    if pairs.iter().any(|p| !p.1.is_power_of_two()) {
        return None;
    }
    let sum: u64 = (pairs.iter())
        .map(|(beats, own)| u64::from(*beats) * u64::from(unit / own))
        .sum();
    Meter::new(u8::try_from(sum).ok()?, u8::try_from(unit.ilog2()).ok()?)
}
