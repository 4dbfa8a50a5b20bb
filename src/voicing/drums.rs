//! Timpani strike with the bass.

use super::Problem;
use super::company::struck;
use super::part_notes::PartNotes;
use crate::band::Part;
use crate::plan::Apart;
use crate::plan::drums::{DrumMusic, Drums, runs};
use crate::plan::line::LineNote;
use crate::score::{DraftNote, Role};

/// Whether a part has drums that are tuned, and so carries no line.
#[must_use]
pub fn is_drums(part: &Part) -> bool {
    part.instrument.id == "timpani"
}

/// Sets the strokes of timpani where the plan gives them the bass: on tuned drums, and only together with
/// another part that strikes the same note of the bass. Locks and closed stretches stay as they are.
pub fn set_drums(problem: &Problem<'_>, has: &mut [PartNotes]) {
    let music = DrumMusic {
        reading: problem.reading,
        lines: problem.lines,
        meters: problem.meters,
    };
    for (id, part) in problem.band.ids().filter(|(_, p)| is_drums(p)) {
        let mut strokes = Vec::new();
        for (start, end) in runs(&problem.plan.passages, id.0) {
            let drums = Drums::of(&music, part, start, end);
            strokes.extend(drums.strokes.iter().filter_map(|n| stroke(n, id.0, has)));
        }
        has[id.0].add(strokes);
        has[id.0].keep_apart(&Apart::of(part, problem.tempo), |n| !n.locked);
    }
}

/// A stroke, where the part is free and in company.
fn stroke(note: &LineNote, drums: usize, has: &[PartNotes]) -> Option<DraftNote> {
    let own = &has[drums];
    let until = note.end.min(own.next_shut(note.onset));
    let taken = own.is_shut(note.onset) || own.sounding(note.onset).is_some();
    let class = note.pitch.class();
    let others = has.iter().enumerate().filter(|(i, _)| *i != drums);
    let company = others
        .into_iter()
        .any(|(_, h)| struck(h, note.onset, class).is_some());
    (!taken && company && until > note.onset).then_some(DraftNote {
        onset: note.onset,
        pitch: note.pitch,
        duration: until.since(note.onset),
        velocity: note.velocity,
        role: Role::Bass,
        locked: false,
    })
}
