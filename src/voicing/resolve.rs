//! Solving again: some bars of some parts of a draft, the rest as it is.
//!
//! Outside the scope nothing moves, not a tick: a note that sounds over the scope's edge stays whole.
//! What stays is a choice of one, so that the solve leads out of it on the left and into it on the
//! right, and choirs share with it what they share with any other part. Inside, staying as drafted
//! is worth something ([`Stay`]). Lines keep their notes while staying is worth anything and the
//! notes are still allowed; at 0 they are set afresh. Locks are the arranger's and hold everywhere.

use super::again::notes_again;
use super::before::{Before, is_chord_note, may_move};
use super::candidates::Choice;
use super::chords::Chords;
use super::company::keep_company;
use super::cover::not_carried;
use super::part_notes::PartNotes;
use super::price_book::PriceBook;
use super::resolve_lines::{Lined, lines_again, window};
use super::resolve_runs::{Ran, solve_runs};
use super::scope::{Scope, Stay};
use super::solve::{all_changes, with_changes};
use super::{Effort, Problem, Progress, Status, Voiced};
use crate::band::chance::usual_posture;
use crate::band::playing::Posture;
use crate::band::{Band, PartId};
use crate::music::Tick;
use crate::plan::Apart;
use crate::plan::fit::ChanceCosts;
use crate::score::{Draft, DraftNote, MelodyChange, PartLine, joined};

/// So often a scope is narrowed at most, until no limit is broken at what stays.
const MOST_TRIES: usize = 4;

/// What a solve leaves for the next one.
#[derive(Clone, Debug, Default)]
pub struct Kept {
    /// The clean chances of every part.
    pub costs: Vec<ChanceCosts>,
    /// The prices that tied the choirs.
    pub prices: PriceBook,
}

impl Kept {
    /// What follows from the band alone.
    #[must_use]
    pub fn of(band: &Band) -> Self {
        Self {
            costs: ChanceCosts::of_band(band),
            prices: PriceBook::default(),
        }
    }

    /// Works out the clean chances of a part anew, after a change of its players or remarks.
    pub fn renew(&mut self, band: &Band, part: PartId) {
        let posture: Posture = usual_posture(band);
        if let Some(own) = self.costs.get_mut(part.0) {
            *own = ChanceCosts::of(band.part(part), posture);
        }
    }
}

/// What is solved again.
#[derive(Clone, Copy, Debug)]
pub struct Again<'a> {
    /// The draft before.
    pub draft: &'a Draft,
    /// What may change.
    pub scope: &'a Scope,
    /// What staying as drafted is worth.
    pub stay: Stay,
}

/// What came of solving again.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Resolved {
    /// The draft; cost and bound are of the steps that were solved, with the ways into them and out of
    /// them, and with what was charged for moving.
    pub voiced: Voiced,
    /// What the draft before cost in the same steps, where it is still allowed.
    pub before: Option<f64>,
    /// Notes that were not in the draft before.
    pub moved: usize,
    /// What was charged as [`Term::Moved`](super::Term::Moved), in its units.
    pub moved_units: f64,
    /// Rounds of prices that it took.
    pub rounds: usize,
}

/// Solves the scope of a draft again, from what a solve before left. Every hard limit holds in what
/// is new; where something outside would break one (a part that must not be heard alone would be, or
/// would leap too far), those bars are left as they were.
pub fn resolve(
    problem: &Problem<'_>,
    again: &Again<'_>,
    kept: &mut Kept,
    effort: &Effort<'_>,
    progress: &mut dyn FnMut(Progress),
) -> Resolved {
    let weights = again.stay.weigh(problem.weights);
    let problem = Problem {
        weights: &weights,
        ..*problem
    };
    // Notes of the tune that were changed stay so, but where it is set afresh.
    let mut changes = again.draft.melody_changes.clone();
    let afresh = |at: Tick| {
        let ends = again.scope.ends().filter(|_| again.stay == Stay::new(0));
        ends.is_some_and(|(start, end)| start <= at && at < end)
    };
    changes.retain(|c| c.new.is_some() && !afresh(c.onset));
    let played = with_changes(problem.lines, &changes);
    let (written, problem) = (
        problem,
        Problem {
            lines: &played,
            ..problem
        },
    );
    let mut scope = again.scope.clone();
    for _ in 0..MOST_TRIES {
        let tried = Try {
            problem: &problem,
            written: &written,
            changes: &changes,
            draft: again.draft,
            scope: &scope,
            stay: again.stay,
        };
        match tried.go(kept, effort, progress) {
            Ok(resolved) => return resolved,
            Err(alone) => scope = scope.without(&alone),
        }
    }
    let nothing = Scope::default();
    let tried = Try {
        problem: &problem,
        written: &written,
        changes: &changes,
        draft: again.draft,
        scope: &nothing,
        stay: again.stay,
    };
    tried.go(kept, effort, progress).unwrap_or_default()
}

/// Notes with their parts.
type OfParts = Vec<(PartId, DraftNote)>;

/// A try at a scope.
struct Try<'a> {
    /// With the tune as it is played.
    problem: &'a Problem<'a>,
    /// With the tune as it is written.
    written: &'a Problem<'a>,
    /// Notes of the tune that were changed and stay so.
    changes: &'a [MelodyChange],
    draft: &'a Draft,
    scope: &'a Scope,
    stay: Stay,
}

impl Try<'_> {
    /// Solves; or gives the bars in which a part outside the scope would be heard alone, or would not
    /// be led into a note that stays.
    fn go(
        &self,
        kept: &mut Kept,
        effort: &Effort<'_>,
        progress: &mut dyn FnMut(Progress),
    ) -> Result<Resolved, Vec<(Tick, Tick)>> {
        let mut drafted = drafted(self.problem, self.draft);
        let Some(window) = window(self.problem, self.scope) else {
            return Ok(self.answer(drafted, &Ran::default(), &[]));
        };
        let Lined {
            has,
            steps,
            changes,
        } = lines_again(
            self.problem,
            &kept.costs,
            (
                &drafted,
                self.stay == Stay::MOST && self.locks_took(&drafted),
            ),
            (self.scope, self.stay),
            window,
        );
        let before = Before::of(&drafted, &steps, self.scope);
        let played = with_changes(self.problem.lines, &changes);
        let around = Problem {
            lines: &played,
            ..*self.problem
        };
        let chords = Chords::of_steps(&around, &kept.costs, &has, steps).with_before(before);
        let ran = solve_runs(&chords, &drafted, &mut kept.prices, effort, progress);
        let mut now: Vec<PartNotes> = drafted.clone();
        for (id, part) in self.problem.band.ids() {
            let (own, all) = (&has[id.0], &drafted[id.0]);
            let apart = Apart::of(part, self.problem.tempo);
            let moves = |n: &DraftNote| may_move(self.scope, &chords.steps, id, n);
            let stays = |n: &DraftNote| n.locked || !moves(n);
            let mut notes: Vec<DraftNote> =
                all.notes.iter().filter(|n| stays(n)).copied().collect();
            // Lines that stay are among them already.
            let there = |n: &DraftNote| stays(n) && all.notes.binary_search(n).is_ok();
            notes.extend(own.notes.iter().filter(|n| !there(n)).copied());
            notes.extend(notes_again(&chords, &ran.chosen, id, all, &apart));
            now[id.0].notes.clear();
            now[id.0].add(notes);
            now[id.0].keep_apart(&apart, |n| is_chord_note(n) && moves(n));
        }
        let alone = self.left_alone(&mut drafted, &mut now, window, |id, n| {
            may_move(self.scope, &chords.steps, id, n)
        });
        let broken = joined([alone, self.left_far(&drafted, &now)].concat());
        if broken.is_empty() {
            Ok(self.answer(now, &ran, &changes))
        } else {
            Err(broken)
        }
    }

    /// The bars in which a part would leap too far, or play too fast, to a note that stays, where it
    /// did not in the draft before.
    fn left_far(&self, drafted: &[PartNotes], now: &[PartNotes]) -> Vec<(Tick, Tick)> {
        let mut far = Vec::new();
        for (part, (was, is)) in self.problem.band.parts.iter().zip(drafted.iter().zip(now)) {
            let apart = Apart::of(part, self.problem.tempo);
            let at = |n: &DraftNote| (n.onset, n.pitch);
            let free = is.too_far(&apart).filter(|(a, b)| !(a.locked && b.locked));
            let new = free.filter(|(a, b)| {
                let mut before = was.notes.windows(2);
                !before.any(|w| (at(&w[0]), at(&w[1])) == (at(a), at(b)))
            });
            far.extend(new.map(|(a, b)| self.bars_around(a.onset, b.onset)));
        }
        far
    }

    /// All bars from one tick to another.
    fn bars_around(&self, first: Tick, last: Tick) -> (Tick, Tick) {
        let meters = self.problem.meters;
        (
            meters.bar_start(meters.bar(first)),
            meters.bar_end(meters.bar(last)),
        )
    }

    /// Whether notes of the draft are not there any more, or shorter, since the arranger locked other
    /// notes in their place.
    fn locks_took(&self, drafted: &[PartNotes]) -> bool {
        let mut lines = self.draft.lines.iter().zip(drafted);
        lines.any(|(was, is)| was.notes.iter().any(|n| !strikes(&is.notes, n)))
    }

    /// Takes out what parts that are never to be heard alone would be heard alone with, and gives the
    /// bars in which that would be outside the scope, if it was not so in the draft before.
    fn left_alone(
        &self,
        drafted: &mut [PartNotes],
        now: &mut [PartNotes],
        window: (Tick, Tick),
        moves: impl Fn(PartId, &DraftNote) -> bool,
    ) -> Vec<(Tick, Tick)> {
        let (gone_before, _) = self.without_company(drafted, window);
        let (gone, shorter) = self.without_company(now, window);
        let mut alone = Vec::new();
        for (part, note) in &gone {
            if moves(*part, note) {
                let own = &mut now[part.0].notes;
                own.retain(|n| n != note);
                own.extend(
                    shorter
                        .iter()
                        .filter(|(p, n)| p == part && n.onset == note.onset)
                        .map(|s| s.1),
                );
                own.sort();
            } else if !gone_before.contains(&(*part, *note)) {
                let last = Tick(note.end().0.saturating_sub(1));
                alone.push(self.bars_around(note.onset, last));
            }
        }
        joined(alone)
    }

    /// The notes of a window that would be heard alone, and what is left of those that are cut.
    fn without_company(&self, all: &[PartNotes], (from, to): (Tick, Tick)) -> (OfParts, OfParts) {
        use super::company::Company;
        let needs = |p| Company::of(p) == Company::Needed;
        if !self.problem.band.parts.iter().any(needs) {
            return (Vec::new(), Vec::new());
        }
        let inside = |n: &&DraftNote| n.onset < to && from < n.end();
        let cut = |h: &PartNotes| PartNotes {
            notes: h.notes.iter().filter(inside).copied().collect(),
            ..h.clone()
        };
        let before: Vec<PartNotes> = all.iter().map(cut).collect();
        let mut after = before.clone();
        keep_company(self.problem, &mut after);
        let (mut gone, mut shorter) = (Vec::new(), Vec::new());
        for (id, (was, is)) in before.iter().zip(&after).enumerate() {
            let lost = was.notes.iter().filter(|n| !is.notes.contains(n));
            gone.extend(lost.map(|n| (PartId(id), *n)));
            let new = is.notes.iter().filter(|n| !was.notes.contains(n));
            shorter.extend(new.map(|n| (PartId(id), *n)));
        }
        (gone, shorter)
    }

    fn answer(&self, now: Vec<PartNotes>, ran: &Ran, changes: &[MelodyChange]) -> Resolved {
        let mut melody_changes = self.draft.melody_changes.clone();
        if let Some((start, end)) = self.scope.ends() {
            let inside = |c: &MelodyChange| start <= c.onset && c.onset < end;
            melody_changes.retain(|c| !inside(c));
            let lines = self.written.lines.cut(start, end);
            let here = Problem {
                lines: &lines,
                ..*self.written
            };
            let made = self.changes.iter().chain(changes).filter(|c| inside(c));
            let lost: Vec<MelodyChange> = self.draft.melody_changes.clone();
            let lost = [lost, not_carried(&here, &now)].concat();
            melody_changes.extend(all_changes(&here, &now, made.cloned().collect(), &lost));
            melody_changes.sort_by_key(|c| (c.onset, c.sketch));
        }
        let within = window(self.problem, self.scope).unwrap_or_default();
        let line = |(i, notes): (usize, PartNotes)| PartLine {
            part: PartId(i),
            notes: notes.notes,
        };
        let lines: Vec<PartLine> = now.into_iter().enumerate().map(line).collect();
        let new = lines.iter().zip(&self.draft.lines).map(|(now, was)| {
            let is_new = |n: &&DraftNote| !strikes(&was.notes, n);
            now.notes.iter().filter(is_new).count()
        });
        Resolved {
            moved: new.sum(),
            moved_units: ran.moved,
            rounds: ran.rounds,
            before: ran.before.map(|c| c as f64 / 1000.0),
            voiced: Voiced {
                draft: Draft {
                    lines,
                    melody_changes,
                },
                cost: ran.cost as f64 / 1000.0,
                lower_bound: ran.bound as f64 / 1000.0,
                status: if ran.cost == ran.bound {
                    Status::Optimal
                } else {
                    ran.status
                },
                conflicts: Vec::new(),
                lines: self.problem.lines.clone(),
                ..Voiced::default()
            }
            .with_conflicts(self.problem, within),
        }
    }
}

/// Whether some notes, in order, have one with the onset, pitch and length of another.
fn strikes(notes: &[DraftNote], note: &DraftNote) -> bool {
    let from = notes.partition_point(|n| n.onset < note.onset);
    let mut here = notes[from..].iter().take_while(|n| n.onset == note.onset);
    here.any(|n| n.pitch == note.pitch && n.duration == note.duration)
}

/// A draft with the notes of the tune listed that nobody plays in it.
#[must_use]
pub fn with_lost_notes(problem: &Problem<'_>, mut draft: Draft) -> Draft {
    let has = |l: &PartLine| PartNotes {
        notes: l.notes.clone(),
        ..PartNotes::default()
    };
    let has: Vec<PartNotes> = draft.lines.iter().map(has).collect();
    draft.melody_changes = not_carried(problem, &has);
    draft
}

impl Voiced {
    /// The same with what explanations need, told from the notes: what each part has besides chords, and
    /// what it does at every step. `problem` has the tune as it is played.
    #[must_use]
    pub fn with_choices(mut self, problem: &Problem<'_>) -> Self {
        let drafted = drafted(problem, &self.draft);
        let costs = ChanceCosts::of_band(problem.band);
        let without = |left: &dyn Fn(PartId, &DraftNote) -> bool| -> Vec<PartNotes> {
            let line = |(id, h): (usize, &PartNotes)| PartNotes {
                notes: h
                    .notes
                    .iter()
                    .filter(|n| !left(PartId(id), n))
                    .copied()
                    .collect(),
                ..h.clone()
            };
            drafted.iter().enumerate().map(line).collect()
        };
        let lines = without(&|_, n| is_chord_note(n));
        // A note that is not among the choices of a step that it sounds in stands there as a line does: what
        // was too fast for a remark was thinned, and what the arranger set by hand may be any note.
        let chords = Chords::new(problem, &costs, &lines);
        let foreign = |id: PartId, note: &DraftNote| {
            let from = chords.steps.partition_point(|s| s.end <= note.onset);
            let inside = chords.steps[from..].iter().enumerate();
            let mut inside = inside.take_while(|(_, s)| s.start < note.end());
            let size = chords
                .choirs()
                .iter()
                .find(|c| c.contains(&id))
                .map_or(1, Vec::len);
            inside.any(|(i, step)| {
                let all = || chords.choices(id, from + i, size, &[]);
                let heard = step.start >= note.onset;
                heard
                    && chords.is_free(id, from + i)
                    && !all().iter().any(|c| c.sounds == Some(note.pitch))
            })
        };
        self.around = without(&|id, n| is_chord_note(n) && !foreign(id, n));
        self.lines = problem.lines.clone();
        let chords = Chords::new(problem, &costs, &self.around);
        let choice = |s: usize, (id, notes): (usize, &PartNotes)| {
            let id = PartId(id);
            if !chords.is_free(id, s) {
                return chords.fixed(id, s);
            }
            let at = chords.steps.get(s).map(|step| step.start);
            let here = at.and_then(|at| notes.sounding(at)).map(|n| n.pitch);
            Choice::held(here.filter(|p| costs[id.0].reaches(*p)))
        };
        let row = |s| drafted.iter().enumerate().map(|d| choice(s, d)).collect();
        self.chosen = (0..chords.steps.len()).map(row).collect();
        self
    }
}

/// All notes of every part in the draft before, the locks as they are now over them.
fn drafted(problem: &Problem<'_>, draft: &Draft) -> Vec<PartNotes> {
    let of = |(id, _): (PartId, _)| {
        let mut own = PartNotes::locked(problem, id);
        let bars = problem.locks.of(id).map(|l| l.bars.spans(problem.meters));
        let bars = bars.unwrap_or_default();
        let outside = |n: &DraftNote| {
            let next = bars.partition_point(|(_, end)| *end <= n.onset);
            let span = bars.get(next).copied();
            let until = span.map_or(n.end(), |(start, _)| n.end().min(start));
            (until > n.onset).then(|| DraftNote {
                duration: until.since(n.onset),
                locked: false,
                ..*n
            })
        };
        let line = draft.lines.get(id.0).map_or(&[][..], |l| &l.notes);
        let kept: Vec<DraftNote> = line.iter().filter_map(outside).collect();
        own.add(kept);
        own
    };
    problem.band.ids().map(of).collect()
}
