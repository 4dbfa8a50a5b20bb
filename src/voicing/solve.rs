//! The whole voicing, in order: lines, hand-overs, then chords choir by choir.

use super::chords::{Chords, Solution};
use super::company::{keep_company, leave_lines_alone};
use super::cover::{cover, cover_as_written, not_carried};
use super::drums::{is_drums, set_drums};
use super::held::harmony_notes;
use super::melody_change::change_tune;
use super::part_notes::PartNotes;
use super::price_book::PriceBook;
use super::resolve::Kept;
use super::set_line::set_lines;
use super::{Effort, Problem, Progress, Voiced};
use crate::band::PartId;
use crate::music::Tick;
use crate::plan::fit::ChanceCosts;
use crate::plan::{Apart, Lines};
use crate::score::{Draft, MelodyChange, PartLine, Role};

/// Voices a sketch for a band with the usual effort; see [`voice_with`].
pub fn voice(problem: &Problem<'_>, progress: &mut dyn FnMut(Progress)) -> Voiced {
    voice_with(problem, &Effort::default(), progress)
}

/// Voices a sketch for a band. Every hard limit holds in the answer: ranges, remarks, locks, one
/// note at a time, and stretches that remarks close to a part. `progress` is told the share that is done, 0 to 1.
pub fn voice_with(
    problem: &Problem<'_>,
    effort: &Effort<'_>,
    progress: &mut dyn FnMut(Progress),
) -> Voiced {
    voice_ready(problem, Ready::of(problem), effort, (None, progress)).0
}

/// Voices a sketch and keeps what makes a re-solve quick; see [`resolve`](super::resolve()).
pub fn voice_kept(
    problem: &Problem<'_>,
    effort: &Effort<'_>,
    progress: &mut dyn FnMut(Progress),
) -> (Voiced, Kept) {
    let mut prices = PriceBook::default();
    let ready = Ready::of(problem);
    let (voiced, costs) = voice_ready(problem, ready, effort, (Some(&mut prices), progress));
    (voiced, Kept { costs, prices })
}

fn voice_ready(
    problem: &Problem<'_>,
    ready: Ready,
    effort: &Effort<'_>,
    (prices, progress): (Option<&mut PriceBook>, &mut dyn FnMut(Progress)),
) -> (Voiced, Vec<ChanceCosts>) {
    let around = ready.around(problem);
    let chords = ready.chords(&around);
    let all = 0..chords.steps.len();
    let Solution {
        chosen,
        cost,
        bound,
        status,
    } = chords.solve_keeping(all, effort, prices, progress);
    let steps = chords.steps;
    let Ready {
        mut has,
        changes,
        lost,
        costs,
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
    set_drums(problem, &mut has);
    keep_company(problem, &mut has);
    let melody_changes = all_changes(problem, &has, changes, &lost);
    let line = |(i, notes): (usize, PartNotes)| PartLine {
        part: PartId(i),
        notes: notes.notes,
    };
    let lines = has.into_iter().enumerate().map(line).collect();
    let voiced = Voiced {
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
        conflicts: Vec::new(),
    };
    let all = (Tick::ZERO, Tick(u64::MAX));
    (voiced.with_conflicts(problem, all), costs)
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
        let ids = problem.band.ids();
        let mut has: Vec<PartNotes> = ids.map(|(id, _)| PartNotes::locked(problem, id)).collect();
        let changes = set_all_lines(problem, &costs, &mut has, &|_| true);
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

/// Sets lines for some parts around what all have already, hands over what nobody carries, and changes
/// notes of the tune where that is allowed; gives these changes. First the tune (what stays as written
/// before all else), then the other lines.
pub(super) fn set_all_lines(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    has: &mut [PartNotes],
    sets: &dyn Fn(PartId) -> bool,
) -> Vec<MelodyChange> {
    let set = |roles: &[Role], has: &mut [PartNotes]| {
        let ids = problem.band.ids();
        for (id, part) in ids.filter(|(id, p)| sets(*id) && !is_drums(p)) {
            set_lines(problem, id, &costs[id.0], roles, &mut has[id.0]);
            has[id.0].keep_apart(&Apart::of(part, problem.tempo), |n| !n.locked);
        }
    };
    set(&[Role::Melody], has);
    cover_as_written(problem, costs, has);
    set(&[Role::Counterline, Role::Bass, Role::Figure], has);
    cover(problem, costs, has);
    change_tune(problem, costs, has)
}

/// The lines with the tune as it is played.
pub(super) fn with_changes(lines: &Lines, changes: &[MelodyChange]) -> Lines {
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
pub(super) fn all_changes(
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
