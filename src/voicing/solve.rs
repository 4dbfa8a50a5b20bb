//! The whole voicing, in order: lines, hand-overs, then chords choir by choir.

use super::chords::{Chords, Solution};
use super::company::{keep_company, leave_lines_alone};
use super::cover::{cover, cover_as_written, not_carried};
use super::held::harmony_notes;
use super::melody_change::change_tune;
use super::part_notes::PartNotes;
use super::set_line::set_lines;
use super::{Effort, Problem, Voiced};
use crate::band::PartId;
use crate::plan::fit::ChanceCosts;
use crate::plan::{Apart, Lines};
use crate::score::{Draft, MelodyChange, PartLine, Role};

/// Voices a sketch for a band with the usual effort; see [`voice_with`].
pub fn voice(problem: &Problem<'_>, progress: &mut dyn FnMut(f64)) -> Voiced {
    voice_with(problem, &Effort::default(), progress)
}

/// Voices a sketch for a band. Every hard limit holds in the answer: ranges, remarks, locks, one
/// note at a time, and stretches that remarks close to a part. `progress` is told the share that is done, 0 to 1.
pub fn voice_with(
    problem: &Problem<'_>,
    effort: &Effort<'_>,
    progress: &mut dyn FnMut(f64),
) -> Voiced {
    let ready = Ready::of(problem);
    let around = ready.around(problem);
    let chords = ready.chords(&around);
    let Solution {
        chosen,
        cost,
        bound,
        status,
    } = chords.solve(0..chords.steps.len(), effort, progress);
    let steps = chords.steps;
    let Ready {
        mut has,
        changes,
        lost,
        lines: changed,
        ..
    } = ready;
    let around = has.clone();
    for (id, notes) in has.iter_mut().enumerate() {
        let apart = Apart::of(&problem.band.parts[id], problem.tempo);
        notes.add(harmony_notes(&steps, &chosen, id, &apart));
        // Around locks and lines that were fixed before, harmony gives way.
        notes.keep_apart(&apart, |n| n.role == Role::Harmony && !n.locked);
    }
    keep_company(problem, &mut has);
    let melody_changes = all_changes(problem, &has, changes, &lost);
    let line = |(i, notes): (usize, PartNotes)| PartLine {
        part: PartId(i),
        notes: notes.notes,
    };
    let lines = has.into_iter().enumerate().map(line).collect();
    Voiced {
        draft: Draft {
            lines,
            melody_changes,
        },
        cost: cost as f64 / 1000.0,
        lower_bound: bound as f64 / 1000.0,
        status,
        lines: changed,
        around,
        chosen,
    }
}

/// What stands before the chords are solved: locks, lines and hand-overs.
pub struct Ready {
    costs: Vec<ChanceCosts>,
    has: Vec<PartNotes>,
    /// Notes of the tune that were changed.
    changes: Vec<MelodyChange>,
    /// Notes of the tune that nobody could be given.
    lost: Vec<MelodyChange>,
    /// The lines with the tune as it is played.
    lines: Lines,
}

impl Ready {
    /// Sets lines around locks, and hands over what nobody carries.
    #[must_use]
    pub fn of(problem: &Problem<'_>) -> Self {
        Self::with_costs(problem, ChanceCosts::of_band(problem.band))
    }

    /// The same with clean chances that are there already.
    #[must_use]
    pub fn with_costs(problem: &Problem<'_>, costs: Vec<ChanceCosts>) -> Self {
        let (mut has, changes) = lines(problem, &costs);
        let lost = not_carried(problem, &has);
        leave_lines_alone(problem, &mut has);
        Self {
            lines: with_changes(problem.lines, &changes),
            costs,
            has,
            changes,
            lost,
        }
    }

    /// The problem with the tune as it is played.
    #[must_use]
    pub fn around<'a>(&'a self, problem: &Problem<'a>) -> Problem<'a> {
        Problem {
            lines: &self.lines,
            ..*problem
        }
    }

    /// The chords around it; `around` is what [`Self::around`] gives.
    #[must_use]
    pub fn chords<'a>(&'a self, around: &'a Problem<'a>) -> Chords<'a> {
        Chords::new(around, &self.costs, &self.has)
    }
}

/// What every part plays besides chords, and the notes of the tune that were changed. First the
/// locks, then the tune (what stays as written before all else), then the other lines.
fn lines(problem: &Problem<'_>, costs: &[ChanceCosts]) -> (Vec<PartNotes>, Vec<MelodyChange>) {
    let ids = || problem.band.ids();
    let mut has: Vec<PartNotes> = ids()
        .map(|(id, _)| PartNotes::locked(problem, id))
        .collect();
    let set = |roles: &[Role], has: &mut [PartNotes]| {
        for (id, part) in ids() {
            set_lines(problem, id, &costs[id.0], roles, &mut has[id.0]);
            has[id.0].keep_apart(&Apart::of(part, problem.tempo), |n| !n.locked);
        }
    };
    set(&[Role::Melody], &mut has);
    cover_as_written(problem, costs, &mut has);
    set(&[Role::Counterline, Role::Bass, Role::Figure], &mut has);
    cover(problem, costs, &mut has);
    let changes = change_tune(problem, costs, &mut has);
    (has, changes)
}

/// The lines with the tune as it is played.
fn with_changes(lines: &Lines, changes: &[MelodyChange]) -> Lines {
    let mut lines = lines.clone();
    for change in changes {
        let at = lines
            .melody
            .notes
            .partition_point(|n| n.onset < change.onset);
        let note = lines.melody.notes.get_mut(at);
        if let (Some(note), Some(new)) = (note.filter(|n| n.onset == change.onset), change.new) {
            note.pitch = new;
        }
    }
    lines
}

/// All changes of the tune: what is played instead, by those who do in the end, and what nobody plays.
fn all_changes(
    problem: &Problem<'_>,
    has: &[PartNotes],
    changes: Vec<MelodyChange>,
    lost: &[MelodyChange],
) -> Vec<MelodyChange> {
    let mut all: Vec<MelodyChange> = changes;
    for change in &mut all {
        let at = change.onset;
        let plays = |part: &PartId, pitch| has[part.0].struck(at).any(|n| n.pitch == pitch);
        change.parts.retain(|(part, pitch)| plays(part, *pitch));
    }
    all.retain(|c| !c.parts.is_empty());
    for mut gone in not_carried(problem, has) {
        let of_note = |c: &&MelodyChange| (c.onset, c.sketch) == (gone.onset, gone.sketch);
        if all.iter().any(|c| of_note(&c)) {
            continue;
        }
        gone.reason = match lost.iter().find(of_note) {
            Some(before) => before.reason.clone(),
            None => "only a part that is never to be heard alone could play it".to_owned(),
        };
        all.push(gone);
    }
    all.sort_by_key(|c| (c.onset, c.sketch));
    all
}
