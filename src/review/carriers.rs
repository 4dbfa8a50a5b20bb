//! Who carries the lines of a sketch in a draft that does not say so.

use crate::music::{BarNumber, MeterMap, Tick};
use crate::score::{DraftNote, PartLine, Role};
use crate::sketch::{Line, Reading};
use std::collections::BTreeSet;

/// A part carries a line in a bar where at least so much of what it plays in that bar and its two
/// neighbours is the line's (ours).
const MOST: f64 = 0.6;

/// The lines with roles: where most of what a part plays is struck with a note of the tune, the
/// counterline or the bass and has its pitch class, these notes are that line; all else is harmony.
#[must_use]
pub fn with_roles(lines: &[PartLine], reading: &Reading, meters: &MeterMap) -> Vec<PartLine> {
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
        let bars: Vec<BarNumber> = line.notes.iter().map(|n| meters.bar(n.onset)).collect();
        for note in &mut line.notes {
            note.role = Role::Harmony;
        }
        let mut from = 0;
        while let Some(bar) = bars.get(from) {
            let to = bars.partition_point(|b| b <= bar);
            let near = bars.partition_point(|b| b.0.saturating_add(1) < bar.0)
                ..bars.partition_point(|b| b.0 <= bar.0.saturating_add(1));
            let role = carried(&line.notes[near], &roles);
            if let Some((role, of_line)) = role {
                let own = line.notes[from..to].iter_mut();
                own.filter(|n| is_of(of_line, n))
                    .for_each(|n| n.role = *role);
            }
            from = to;
        }
    }
    lines
}

type Struck = BTreeSet<(Tick, u8)>;

fn is_of(line: &Struck, note: &DraftNote) -> bool {
    line.contains(&(note.onset, note.pitch.class().number()))
}

/// The first line that most of the notes are of.
fn carried<'a>(notes: &[DraftNote], lines: &'a [(Role, Struck); 3]) -> Option<&'a (Role, Struck)> {
    lines.iter().find(|(_, of_line)| {
        let count = notes.iter().filter(|n| is_of(of_line, n)).count();
        count > 0 && count as f64 >= MOST * notes.len() as f64
    })
}
