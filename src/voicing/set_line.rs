//! Setting a whole line for a part: the octave of every breath.

use super::Problem;
use super::octave_path::{Beside, Piece, best_octaves};
use super::octave_rule::{Octaves, open_octaves};
use super::part_notes::PartNotes;
use crate::band::PartId;
use crate::music::{Interval, Tick, Ticks};
use crate::plan::fit::ChanceCosts;
use crate::plan::line::{LineNote, OneLine};
use crate::plan::{Apart, PassagePlan};
use crate::score::{DraftNote, Role};
use crate::sketch::FigureWay;

/// Sets the lines that the plan gives a part in some roles, around what it has already.
pub fn set_lines(
    problem: &Problem<'_>,
    part: PartId,
    costs: &ChanceCosts,
    roles: &[Role],
    has: &mut PartNotes,
) {
    let mut set = Vec::new();
    let apart = Apart::of(problem.band.part(part), problem.tempo);
    for role in roles.iter().copied() {
        let Some(line) = problem.lines.of_role(role) else {
            continue;
        };
        let pieces = pieces(problem, part, role, line, has);
        let octaves = best_octaves(&apart, costs, &pieces);
        for (piece, octave) in pieces.iter().zip(octaves) {
            if let Some(octave) = octave {
                set.extend(moved(&piece.notes, octave, role).filter(|n| costs.reaches(n.pitch)));
            }
        }
    }
    has.add(set);
}

/// Notes of a line moved by whole octaves, as draft notes.
pub fn moved(notes: &[LineNote], octaves: i16, role: Role) -> impl Iterator<Item = DraftNote> {
    notes.iter().filter_map(move |n| {
        Some(DraftNote {
            onset: n.onset,
            pitch: n.pitch.up(Interval::octaves(octaves))?,
            duration: n.end.since(n.onset),
            velocity: n.velocity,
            role,
            locked: false,
        })
    })
}

/// The breaths of a line that fall to the part, cut at passages, at locks, and where the tune begins
/// or ceases to stay as written. A breath of the tune that meets a stretch closed to the part is not
/// torn: it is left to others whole.
fn pieces(
    problem: &Problem<'_>,
    part: PartId,
    role: Role,
    line: &OneLine,
    has: &PartNotes,
) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let passages = &problem.plan.passages;
    for stretch in passages.chunk_by(|a, b| a.roles[part.0].role == b.roles[part.0].role) {
        let (Some(first), Some(last)) = (stretch.first(), stretch.last()) else {
            continue;
        };
        if first.roles[part.0].role != role {
            continue;
        }
        let stretch_from = pieces.len();
        for planned in stretch {
            let range = line.within(planned.passage.start, planned.passage.end);
            let turn = turn_of(planned, part, role);
            for own in line.breaths_in(&range) {
                let breath = line.breaths.partition_point(|b| b.end <= own.start);
                let whole = line.breaths.get(breath).cloned().unwrap_or_default();
                let notes = &line.notes[own];
                if role == Role::Melody && meets_closed(problem, part, notes) {
                    continue;
                }
                let cut = Cut {
                    problem,
                    role,
                    has,
                    end: last.passage.end,
                    breath,
                    wish: planned.roles[part.0].octave,
                    open: open_octaves(problem, role, &line.notes[whole], has),
                };
                for own in own_bars(problem, notes, turn) {
                    cut.pieces(own, &mut pieces);
                }
            }
        }
        if let Some(piece) = pieces.get_mut(stretch_from) {
            piece.begins = true;
        }
    }
    set_beside(problem, has, &mut pieces);
    pieces
}

/// How a breath is cut into pieces.
struct Cut<'a> {
    problem: &'a Problem<'a>,
    role: Role,
    has: &'a PartNotes,
    /// Where the part does something else.
    end: Tick,
    breath: usize,
    wish: i16,
    open: Octaves,
}

impl Cut<'_> {
    fn pieces(&self, notes: &[LineNote], pieces: &mut Vec<Piece>) {
        let mut open: Vec<LineNote> = Vec::new();
        let mut held = false;
        for note in notes {
            let as_written = self.is_as_written(note);
            // What stays as written is held to its end.
            let end = if as_written { Tick(u64::MAX) } else { self.end };
            let own = free(*note, end, self.has);
            if own.is_none() || as_written != held {
                self.close(&mut open, held, pieces);
            }
            held = as_written;
            open.extend(own);
        }
        self.close(&mut open, held, pieces);
    }

    fn close(&self, open: &mut Vec<LineNote>, as_written: bool, pieces: &mut Vec<Piece>) {
        if !open.is_empty() {
            // A figure is no line to be sung: it may change its octave wherever it is cut.
            let own = self.role == Role::Figure;
            pieces.push(Piece {
                breath: if own { pieces.len() } else { self.breath },
                notes: std::mem::take(open),
                begins: false,
                wish: self.wish,
                open: self.open,
                as_written,
                beside: [None; 2],
            });
        }
    }

    fn is_as_written(&self, note: &LineNote) -> bool {
        let rules = self.problem.tune;
        self.role == Role::Melody && rules.is_as_written(note.onset, self.problem.meters)
    }
}

/// So far, in quarter notes of rest, a line leads into a lock or comes out of it (ours).
const LEADS: u64 = 2;

/// Finds the fixed notes beside every piece.
fn set_beside(problem: &Problem<'_>, has: &PartNotes, pieces: &mut [Piece]) {
    let leads = Ticks(LEADS * u64::from(problem.quarter.get()));
    let octave = |note: &DraftNote| {
        let line = problem.lines.of_role(note.role)?.at(note.onset)?;
        let up = line.pitch.to(note.pitch).0;
        (line.onset == note.onset && up % 12 == 0).then_some(up / 12)
    };
    let ends = |p: &Piece| {
        Some((
            p.notes.first()?.onset,
            p.notes.last()?.onset,
            p.notes.last()?.end,
        ))
    };
    let all: Vec<_> = pieces.iter().map(ends).collect();
    for (i, piece) in pieces.iter_mut().enumerate() {
        let Some((first, last, end)) = all[i] else {
            continue;
        };
        let from = i.checked_sub(1).and_then(|b| all[b]).map(|b| b.1);
        let to = all.get(i + 1).copied().flatten().map(|n| n.0);
        let before = has
            .last_before(first)
            .filter(|n| from.is_none_or(|f| n.onset > f));
        let after = has
            .first_from(last)
            .filter(|n| to.is_none_or(|t| n.onset < t));
        piece.beside = [
            before.map(|n| Beside {
                note: *n,
                octave: octave(n),
                near: first.since(n.end()) <= leads,
            }),
            after.map(|n| Beside {
                note: *n,
                octave: octave(n),
                near: n.onset.since(end) <= leads,
            }),
        ];
    }
}

fn meets_closed(problem: &Problem<'_>, part: PartId, notes: &[LineNote]) -> bool {
    let ends = notes.first().zip(notes.last());
    ends.is_some_and(|(first, last)| problem.plan.closed.meets(part, first.onset, last.end))
}

/// Which of how many parts this one is that play a figure in turn; `None`: it plays all of it.
fn turn_of(planned: &PassagePlan, part: PartId, role: Role) -> Option<(usize, usize)> {
    let shared = planned.figure.as_ref();
    let shared = shared.filter(|f| role == Role::Figure && f.way == FigureWay::Shared)?;
    let place = shared.carriers.iter().position(|p| *p == part)?;
    Some((place, shared.carriers.len()))
}

/// The notes of a breath that fall to a part: all, or those of the bars in which it has its turn.
fn own_bars<'a>(
    problem: &Problem<'_>,
    notes: &'a [LineNote],
    turn: Option<(usize, usize)>,
) -> Vec<&'a [LineNote]> {
    let Some((place, parts)) = turn else {
        return vec![notes];
    };
    let bar = |n: &LineNote| problem.meters.bar(n.onset).0 as usize;
    notes
        .chunk_by(|a, b| bar(a) == bar(b))
        .filter(|chunk| chunk.first().is_some_and(|n| bar(n) % parts == place))
        .collect()
}

/// A note shortened to where the part is free; `None` where it is not free at its onset.
#[must_use]
pub fn free(note: LineNote, end: Tick, has: &PartNotes) -> Option<LineNote> {
    let next = has
        .first_from(note.onset)
        .map_or(Tick(u64::MAX), |n| n.onset);
    let until = note.end.min(end).min(has.next_shut(note.onset)).min(next);
    // A locked note may sound over from a locked bar into this one.
    let taken = has.is_shut(note.onset) || has.sounding(note.onset).is_some();
    (!taken && until > note.onset).then_some(LineNote { end: until, ..note })
}
