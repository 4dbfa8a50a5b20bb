//! Setting a whole line for a part: the octave of every breath.

use super::Problem;
use super::line_terms::{self as terms, IMPOSSIBLE, Milli};
use super::octave_rule::{Octaves, open_octaves};
use super::part_notes::PartNotes;
use crate::band::PartId;
use crate::music::{Interval, Tick, Ticks};
use crate::plan::fit::{ChanceCosts, before, moved_cost};
use crate::plan::line::{LineNote, OneLine};
use crate::plan::{Apart, PassagePlan};
use crate::score::{DraftNote, Role};
use crate::sketch::FigureWay;

/// Some notes of one breath that a part is free to play.
struct Piece {
    /// The breath's place in the line.
    breath: usize,
    notes: Vec<LineNote>,
    wish: i16,
    /// Octaves that the rest of the breath leaves open.
    open: Octaves,
    /// Whether the notes stay as written: all of them are played, or nothing of the breath is.
    as_written: bool,
    /// What the part plays before and after, where that is fixed and nothing of the line between.
    beside: [Option<Beside>; 2],
}

/// A fixed note beside a piece.
#[derive(Clone, Copy)]
struct Beside {
    note: DraftNote,
    /// Its octave over the line, where it is the line's.
    octave: Option<i16>,
    /// Whether it is so near that the way between counts.
    near: bool,
}

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

/// What is done with a piece.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Choice {
    /// Nothing of its breath is played.
    Out,
    /// It is left out of a breath that is played in an octave.
    Left(i16),
    /// It is played in an octave.
    Played(i16),
}

impl Choice {
    fn all() -> Vec<Self> {
        let octaves = || Octaves::ALL.iter();
        let out = std::iter::once(Self::Out);
        out.chain(octaves().map(Self::Left))
            .chain(octaves().map(Self::Played))
            .collect()
    }

    /// The octave of the breath.
    const fn octave(self) -> Option<i16> {
        match self {
            Self::Out => None,
            Self::Left(octave) | Self::Played(octave) => Some(octave),
        }
    }

    const fn played(self) -> Option<i16> {
        match self {
            Self::Played(octave) => Some(octave),
            _ => None,
        }
    }
}

/// The octave of every piece, or `None` to leave it out: the cheapest choice along the line in which
/// all that is played of a breath is in one octave.
fn best_octaves(apart: &Apart<'_>, costs: &ChanceCosts, pieces: &[Piece]) -> Vec<Option<i16>> {
    let choices = Choice::all();
    let mut best: Vec<Milli> = vec![0; choices.len()];
    let mut back: Vec<Vec<usize>> = Vec::with_capacity(pieces.len());
    for (i, piece) in pieces.iter().enumerate() {
        let before = i.checked_sub(1).map(|b| &pieces[b]);
        let (mut now, mut from) = (Vec::new(), Vec::new());
        for choice in &choices {
            let own = piece_cost(apart, costs, piece, *choice);
            let arrive = choices.iter().zip(&best).map(|(b, cost)| {
                let joint =
                    before.map_or(0, |p| joint_cost(apart, costs, (p, *b), (piece, *choice)));
                cost.saturating_add(joint)
            });
            let (at, cost) = arrive
                .enumerate()
                .min_by_key(|(i, c)| (*c, *i))
                .unwrap_or((0, 0));
            now.push(own.saturating_add(cost).min(IMPOSSIBLE));
            from.push(at);
        }
        best = now;
        back.push(from);
    }
    let least = best.iter().enumerate().min_by_key(|(i, c)| (**c, *i));
    let mut at = least.map_or(0, |(i, _)| i);
    let mut path = Vec::with_capacity(pieces.len());
    for from in back.iter().rev() {
        path.push(choices[at].played());
        at = from[at];
    }
    path.reverse();
    path
}

fn piece_cost(apart: &Apart<'_>, costs: &ChanceCosts, piece: &Piece, choice: Choice) -> Milli {
    let count = piece.notes.len() as Milli;
    if choice.octave().is_some_and(|k| !piece.open.has(k)) {
        return IMPOSSIBLE;
    }
    let octave = match choice {
        Choice::Left(_) if piece.as_written => return IMPOSSIBLE,
        Choice::Out | Choice::Left(_) => return terms::LEFT.of(count),
        Choice::Played(octave) => octave,
    };
    if !apart.holds_in(&piece.notes) {
        return IMPOSSIBLE;
    }
    let away = i64::from((octave - piece.wish).unsigned_abs());
    let clean = match moved_cost(costs, &piece.notes, octave) {
        Some(cost) => terms::CLEAN.of(cost),
        // Where the director limits leaps, holes could open greater ones.
        None if piece.as_written || apart.most_leap().is_some() => return IMPOSSIBLE,
        None => cost_with_holes(costs, &piece.notes, octave),
    };
    let lead = lead_cost(apart, costs, piece, octave);
    clean + lead + terms::OCTAVE.of(away * count)
}

/// The cost of what of a breath is in reach at an octave, the rest left out.
fn cost_with_holes(costs: &ChanceCosts, notes: &[LineNote], octave: i16) -> Milli {
    let mut cost = 0;
    let mut hole = false;
    let mut from = None;
    for note in notes {
        let pitch = note.pitch.up(Interval::octaves(octave));
        let reached = pitch.and_then(|p| costs.cost(p, &note.moment, before(note, from)));
        from = reached.and(pitch);
        cost += match reached {
            Some(clean) => terms::CLEAN.of(clean),
            None if hole => terms::LEFT.of(1),
            None => terms::LEFT.of(1) + terms::HOLE.of(1),
        };
        hole = reached.is_none();
    }
    cost
}

/// What it costs to come out of the fixed note before a piece and to lead into the one after it.
fn lead_cost(apart: &Apart<'_>, costs: &ChanceCosts, piece: &Piece, octave: i16) -> Milli {
    let at = |n: &LineNote| Some((n.onset, n.pitch.up(Interval::octaves(octave))?));
    let (Some(first), Some(last)) = (piece.notes.first(), piece.notes.last()) else {
        return 0;
    };
    let (Some(from), Some(to)) = (at(first), at(last)) else {
        return IMPOSSIBLE;
    };
    let mut cost = 0;
    for (beside, leads_in) in piece.beside.iter().zip([false, true]) {
        let Some(beside) = beside else { continue };
        let fixed = (beside.note.onset, beside.note.pitch);
        let (a, b) = if leads_in { (to, fixed) } else { (fixed, from) };
        if !apart.may_follow(a, b) {
            // A note will have to go.
            cost += terms::LEFT.of(1) + terms::HOLE.of(1);
        }
        if !beside.near {
            continue;
        }
        let leap = i64::from(a.1.to(b.1).size());
        cost += terms::LEAP.of((leap - 12).max(0));
        cost += terms::LEAD.of((leap.min(12) - 7).max(0));
        if !leads_in && first.moment.flow.near {
            cost += terms::CLEAN.of(costs.way_cost(a.1, b.1, &first.moment));
        }
        if beside.octave.is_some_and(|k| k != octave) {
            cost += terms::CHANGE.of(1);
        }
    }
    cost
}

/// What it costs that one piece follows another.
fn joint_cost(
    apart: &Apart<'_>,
    costs: &ChanceCosts,
    (before, a): (&Piece, Choice),
    (now, b): (&Piece, Choice),
) -> Milli {
    if before.breath == now.breath && a.octave() != b.octave() {
        return IMPOSSIBLE;
    }
    let (Some(a), Some(b)) = (a.played(), b.played()) else {
        return 0;
    };
    let change = terms::CHANGE.of(i64::from(a != b));
    if now.beside[0].is_some() {
        // What is fixed between them is led into, and out of.
        return change;
    }
    let (Some(from), Some(first)) = (before.notes.last(), now.notes.first()) else {
        return 0;
    };
    let (then, here) = (from.onset, first.onset);
    let (Some(from), Some(to)) = (
        from.pitch.up(Interval::octaves(a)),
        first.pitch.up(Interval::octaves(b)),
    ) else {
        return IMPOSSIBLE;
    };
    let leap = i64::from(from.to(to).size());
    if !apart.may_follow((then, from), (here, to)) {
        return IMPOSSIBLE;
    }
    let way = if first.moment.flow.near {
        terms::CLEAN.of(costs.way_cost(from, to, &first.moment))
    } else {
        0
    };
    change + way + terms::LEAP.of((leap - 12).max(0))
}
