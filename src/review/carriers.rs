//! Who carries the lines of a sketch in a draft that does not say so.

use super::presence::Stretch;
use crate::music::Tick;
use crate::score::{DraftNote, PartLine, Role};
use crate::sketch::{Line, Reading};
use std::collections::BTreeSet;

/// A part carries a line where at least so much of what it plays in a stretch is the line's (ours).
const MOST: f64 = 2.0 / 3.0;

/// The lines with roles: in a stretch in which most of what a part plays is struck with a note of the
/// tune, the counterline or the bass and has its pitch class, these notes are that line; all else is harmony.
#[must_use]
pub fn with_roles(lines: &[PartLine], reading: &Reading, stretches: &[Stretch]) -> Vec<PartLine> {
    let of = |line: Line| -> BTreeSet<(Tick, u8)> {
        let notes = reading.line(line);
        notes.map(|n| (n.onset, n.pitch.class().number())).collect()
    };
    let roles = [
        (Role::Melody, of(Line::Melody)),
        (Role::Counterline, of(Line::Counterline)),
        (Role::Bass, of(Line::Bass)),
    ];
    let mut lines = lines.to_vec();
    for line in &mut lines {
        for note in &mut line.notes {
            note.role = Role::Harmony;
        }
        for stretch in stretches {
            let from = line.notes.partition_point(|n| n.onset < stretch.start);
            let to = line.notes.partition_point(|n| n.onset < stretch.end);
            if let Some(notes) = line.notes.get_mut(from..to) {
                give_role(notes, &roles);
            }
        }
    }
    lines
}

fn give_role(notes: &mut [DraftNote], roles: &[(Role, BTreeSet<(Tick, u8)>); 3]) {
    for (role, of_line) in roles {
        let is = |n: &DraftNote| of_line.contains(&(n.onset, n.pitch.class().number()));
        let count = notes.iter().filter(|n| is(n)).count();
        if count > 0 && count as f64 >= MOST * notes.len() as f64 {
            let carried = notes.iter_mut().filter(|n| is(n));
            carried.for_each(|n| n.role = *role);
            return;
        }
    }
}
