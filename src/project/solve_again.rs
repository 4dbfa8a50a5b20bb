//! Some of a draft solved again.

use super::given::{DraftAgain, DraftBefore};
use crate::review::with_roles;
use crate::score::{Draft, PartLine, Role, own_passages, whole_tracks};
use crate::sketch::Song;
use crate::voicing::resolve::with_lost_notes;
use crate::voicing::{Again, Effort, Kept, Problem, Progress, Resolved, Scope, resolve};

/// Solves some of a draft again.
#[must_use]
pub fn solve_again(
    problem: &Problem<'_>,
    again: &DraftAgain<'_>,
    kept: &mut Kept,
    effort: &Effort<'_>,
    progress: &mut dyn FnMut(Progress),
) -> Resolved {
    let draft = match again.draft {
        DraftBefore::Song(song) => with_lost_notes(problem, drafted(problem, song)),
        DraftBefore::Draft(draft) => draft.clone(),
    };
    let parts = problem.band.parts.len();
    let scope = Scope::bars(problem.meters, parts, &again.bars, &again.parts);
    let asked = Again {
        draft: &draft,
        scope: &scope,
        stay: again.stay,
    };
    let mut found = resolve(problem, &asked, kept, effort, progress);
    let lines = found.voiced.lines.clone();
    let played = Problem {
        lines: &lines,
        ..*problem
    };
    found.voiced = found.voiced.with_choices(&played);
    found
}

/// The draft that a song holds in tracks named like the parts.
fn drafted(problem: &Problem<'_>, song: &Song) -> Draft {
    let (band, meters) = (problem.band, problem.meters);
    let tracks = own_passages(&whole_tracks(song), band, (meters, problem.quarter));
    let lines = tracks.locks.lines(band);
    let mut lines = with_roles(&lines, problem.reading, meters);
    lines
        .iter_mut()
        .for_each(|l| take_planned_roles(problem, l));
    Draft {
        lines,
        melody_changes: Vec::new(),
    }
}

/// Notes of a line that the plan gives the part are that line's.
fn take_planned_roles(problem: &Problem<'_>, line: &mut PartLine) {
    for note in line.notes.iter_mut().filter(|n| n.role == Role::Harmony) {
        let passage = problem.plan.passage(note.onset);
        let role = passage
            .and_then(|p| p.roles.get(line.part.0))
            .map(|r| r.role);
        let Some((role, planned)) = role.and_then(|r| Some((r, problem.lines.of_role(r)?))) else {
            continue;
        };
        let here = planned.at(note.onset).filter(|n| n.onset == note.onset);
        if here.is_some_and(|n| n.pitch.class() == note.pitch.class()) {
            note.role = role;
        }
    }
}
