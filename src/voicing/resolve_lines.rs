//! The lines of a re-solve: what stays of them, what is set and handed over anew, and the steps.

use super::Problem;
use super::before::{is_chord_note, may_move};
use super::company::leave_lines_alone;
use super::part_notes::PartNotes;
use super::scope::{Scope, Stay};
use super::solve::set_all_lines;
use super::steps::{Step, steps_within};
use crate::band::PartId;
use crate::music::Tick;
use crate::plan::fit::ChanceCosts;
use crate::plan::{Apart, ScoringPlan};
use crate::score::{DraftNote, MelodyChange, Role, joined};

/// Passages before the scope that are made ready too: the first step of all knows no speed.
const PASSAGES_BEFORE: usize = 2;
/// And after it: where parts rest, the note that they lead into may be far.
const PASSAGES_AFTER: usize = 2;

/// The time that is made ready around a scope: whole passages. `None` where nothing may change.
#[must_use]
pub fn window(problem: &Problem<'_>, scope: &Scope) -> Option<(Tick, Tick)> {
    let (start, end) = scope.ends()?;
    let passages = &problem.plan.passages;
    let first = passages.partition_point(|p| p.passage.start <= start);
    let from = first
        .checked_sub(1 + PASSAGES_BEFORE)
        .and_then(|i| passages.get(i));
    let past = passages.partition_point(|p| p.passage.start < end);
    let to = passages.get(past + PASSAGES_AFTER);
    Some((
        from.map_or(Tick::ZERO, |p| p.passage.start),
        to.map_or(Tick(u64::MAX), |p| p.passage.start),
    ))
}

/// What parts have besides the chords that are solved, and the steps of a window.
pub(super) struct Lined {
    pub has: Vec<PartNotes>,
    pub steps: Vec<Step>,
    /// Notes of the tune that were changed anew.
    pub changes: Vec<MelodyChange>,
}

/// Sets the lines in a scope anew, around what stays. `locks_took` says whether locks took notes of the
/// draft.
pub(super) fn lines_again(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    (drafted, locks_took): (&[PartNotes], bool),
    (scope, stay): (&Scope, Stay),
    window: (Tick, Tick),
) -> Lined {
    let steps = steps_within(problem, drafted, window);
    let near = |n: &&DraftNote| n.onset < window.1 && window.0 < n.end();
    let mut has: Vec<PartNotes> = Vec::with_capacity(drafted.len());
    let mut sets = Vec::with_capacity(drafted.len());
    let mut went = locks_took;
    for ((id, part), all) in problem.band.ids().zip(drafted) {
        let moves = |n: &DraftNote| !n.locked && may_move(scope, &steps, id, n);
        let allowed = |n: &DraftNote| {
            stay > Stay::new(0)
                && costs[id.0].reaches(n.pitch)
                && !problem.plan.closed.meets(id, n.onset, n.end())
        };
        let line = |n: &&DraftNote| !is_chord_note(n) && (!moves(n) || allowed(n));
        let mut own = PartNotes {
            notes: all
                .notes
                .iter()
                .filter(near)
                .filter(line)
                .copied()
                .collect(),
            ..all.clone()
        };
        own.keep_apart(&Apart::of(part, problem.tempo), moves);
        // A line is set again where something of it had to go, or nothing of it is there.
        let count = |notes: &[DraftNote]| {
            let of_line = notes.iter().filter(near).filter(|n| !is_chord_note(n));
            of_line.filter(|n| moves(n)).count()
        };
        let left = count(&own.notes);
        let some_went = left < count(&all.notes);
        went |= some_went;
        sets.push(left == 0 || some_went);
        // Chord notes that no solve of chords would make stay too, like lines.
        let chords = all.notes.iter().filter(near).filter(|n| is_chord_note(n));
        let odd = chords.filter(|n| !is_of_steps(problem, costs, id, (&steps, &own), n));
        let odd: Vec<DraftNote> = odd
            .filter(|n| !moves(n) || (allowed(n) && !own.is_busy(n.onset, n.end())))
            .copied()
            .collect();
        own.add(odd);
        has.push(own);
    }
    let room = Room {
        problem,
        costs,
        drafted,
        scope,
        steps: &steps,
        window,
    };
    // A draft that is to be left as it is gets no notes of lines but for those that had to go.
    let changes = if went || stay < Stay::MOST {
        room.set_lines(&mut has, &sets)
    } else {
        Vec::new()
    };
    Lined {
        has,
        steps,
        changes,
    }
}

/// Whether a solve of chords could make a note: it begins with a step, and in every step that it
/// sounds in its part is free and it is a chord tone.
fn is_of_steps(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    id: PartId,
    (steps, lines): (&[Step], &PartNotes),
    note: &DraftNote,
) -> bool {
    let first = steps.partition_point(|s| s.start < note.onset);
    let past = steps.partition_point(|s| s.start < note.end());
    let own = steps.get(first..past).unwrap_or(&[]);
    let free = |s: &Step| {
        let role = problem
            .plan
            .passage(s.start)
            .and_then(|p| p.roles.get(id.0));
        role.is_some_and(|r| r.role == Role::Harmony)
            && s.tones.contains(note.pitch.class())
            && !lines.is_busy(s.start, s.end)
    };
    own.first().is_some_and(|s| s.start == note.onset)
        && own.iter().all(free)
        && costs[id.0].reaches(note.pitch)
}

/// Where the scope leaves room for lines: everything else is shut.
struct Room<'a> {
    problem: &'a Problem<'a>,
    costs: &'a [ChanceCosts],
    drafted: &'a [PartNotes],
    scope: &'a Scope,
    steps: &'a [Step],
    window: (Tick, Tick),
}

impl Room<'_> {
    /// Sets the lines of those parts that are told, and hands over what nobody carries.
    fn set_lines(&self, has: &mut [PartNotes], sets: &[bool]) -> Vec<MelodyChange> {
        let (from, to) = self.window;
        let lines = self.problem.lines.cut(from, to);
        let passages = self.problem.plan.passages.iter();
        let inside = passages.filter(|p| p.passage.start < to && from < p.passage.end);
        let plan = ScoringPlan {
            passages: inside.cloned().collect(),
            closed: self.problem.plan.closed.clone(),
            ..ScoringPlan::default()
        };
        let here = Problem {
            lines: &lines,
            plan: &plan,
            ..*self.problem
        };
        let mut now: Vec<PartNotes> = has.to_vec();
        for (id, own) in now.iter_mut().enumerate() {
            self.shut(PartId(id), own);
        }
        let is_set = |id: PartId| sets.get(id.0).copied().unwrap_or(false);
        let changes = set_all_lines(&here, self.costs, &mut now, &is_set);
        leave_lines_alone(&here, &mut now);
        for (own, with) in has.iter_mut().zip(now) {
            let new = with.notes.into_iter().filter(|n| !n.locked);
            let new: Vec<DraftNote> = new.filter(|n| self.keeps_octave(own, n)).collect();
            own.add(new);
        }
        changes
    }

    /// Whether a new note of a line is in the octave in which its part plays the rest of the breath.
    fn keeps_octave(&self, own: &PartNotes, new: &DraftNote) -> bool {
        let Some(line) = self.problem.lines.of_role(new.role) else {
            return true;
        };
        let up = |n: &DraftNote| {
            let here = line.at(n.onset).filter(|l| l.onset == n.onset);
            here.map(|l| l.pitch.to(n.pitch))
        };
        let breath = line.breath_of(new.onset).iter();
        let struck = breath.flat_map(|l| {
            let from = own.notes.partition_point(|n| n.onset < l.onset);
            own.notes[from..].iter().take_while(|n| n.onset == l.onset)
        });
        let mut rest = struck.filter(|n| n.role == new.role && !n.locked);
        rest.all(|n| up(n) == up(new))
    }

    /// Holds all that a part has and the chord notes that stay, and shuts what the scope leaves no room
    /// for. A new note of a line leads into the chord notes that stay as into locks.
    fn shut(&self, id: PartId, own: &mut PartNotes) {
        let (from, to) = self.window;
        let all = self.drafted.get(id.0).map_or(&[][..], |d| &d.notes);
        let held = all.iter().filter(|n| n.onset < to && from < n.end());
        let held = held.filter(|n| is_chord_note(n) && !may_move(self.scope, self.steps, id, n));
        let held: Vec<DraftNote> = held.filter(|n| !own.notes.contains(n)).copied().collect();
        own.add(held);
        for note in &mut own.notes {
            note.locked = true;
        }
        let shut = self.scope.rest_of(id);
        own.shut = joined(own.shut.iter().copied().chain(shut).collect());
    }
}
