//! Setting a whole line for a part: the octave of every breath.

use super::Problem;
use super::part_notes::PartNotes;
use crate::band::PartId;
use crate::music::{Interval, Tick};
use crate::plan::fit::{ChanceCosts, OCTAVES, before, moved_cost};
use crate::plan::line::{LineNote, OneLine};
use crate::plan::{Apart, PassagePlan};
use crate::score::{DraftNote, Role};
use crate::sketch::FigureWay;

/// Weights of setting a line, in thousandths of a point (ours; no source).
mod weight {
    /// A note that the part leaves out.
    pub const REST: i64 = 2_500;
    /// A hole: some notes in the middle of a breath that are out of reach and left to others.
    pub const HOLE: i64 = 4_000;
    /// A note an octave from where the plan wishes it.
    pub const OCTAVE: i64 = 250;
    /// Changing the octave between two breaths.
    pub const CHANGE: i64 = 2_000;
    /// A semitone over an octave in the leap between two breaths.
    pub const LEAP: i64 = 300;
}

/// Some notes of one breath that a part is free to play.
struct Piece {
    notes: Vec<LineNote>,
    wish: i16,
}

/// Sets every line that the plan gives a part, around what it has already.
pub fn set_lines(problem: &Problem<'_>, part: PartId, costs: &ChanceCosts, has: &mut PartNotes) {
    let mut set = Vec::new();
    let apart = Apart::of(problem.band.part(part), problem.tempo);
    for role in [Role::Melody, Role::Counterline, Role::Bass, Role::Figure] {
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

/// The breaths of a line that fall to the part, cut at passages and locks. A breath of the tune that
/// meets a stretch closed to the part is not torn: it is left to others whole.
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
            let wish = planned.roles[part.0].octave;
            let turn = turn_of(planned, part, role);
            for breath in line.breaths_in(&range) {
                let notes = &line.notes[breath];
                if role == Role::Melody && meets_closed(problem, part, notes) {
                    continue;
                }
                for own in own_bars(problem, notes, turn) {
                    cut_at_locks(own, last.passage.end, wish, has, &mut pieces);
                }
            }
        }
    }
    pieces
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

fn cut_at_locks(
    notes: &[LineNote],
    end: Tick,
    wish: i16,
    has: &PartNotes,
    pieces: &mut Vec<Piece>,
) {
    let mut open: Vec<LineNote> = Vec::new();
    let mut close = |open: &mut Vec<LineNote>| {
        if !open.is_empty() {
            pieces.push(Piece {
                notes: std::mem::take(open),
                wish,
            });
        }
    };
    for note in notes {
        match free(*note, end, has) {
            Some(note) => open.push(note),
            None => close(&mut open),
        }
    }
    close(&mut open);
}

/// A note shortened to where the part is free; `None` where it is not free at its onset.
#[must_use]
pub fn free(note: LineNote, end: Tick, has: &PartNotes) -> Option<LineNote> {
    let until = note.end.min(end).min(has.next_shut(note.onset));
    // A locked note may sound over from a locked bar into this one.
    let taken = has.is_shut(note.onset) || has.sounding(note.onset).is_some_and(|n| n.locked);
    (!taken && until > note.onset).then_some(LineNote { end: until, ..note })
}

/// The octave of every piece, or `None` to leave it out: the cheapest choice along the line.
fn best_octaves(apart: &Apart<'_>, costs: &ChanceCosts, pieces: &[Piece]) -> Vec<Option<i16>> {
    let choices: Vec<Option<i16>> = std::iter::once(None).chain(OCTAVES.map(Some)).collect();
    let mut best: Vec<i64> = vec![0; choices.len()];
    let mut back: Vec<Vec<usize>> = Vec::with_capacity(pieces.len());
    for (i, piece) in pieces.iter().enumerate() {
        let before = i.checked_sub(1).map(|b| &pieces[b]);
        let (mut now, mut from) = (Vec::new(), Vec::new());
        for choice in &choices {
            let own = piece_cost(apart, costs, piece, *choice);
            let arrive = choices.iter().zip(&best).map(|(b, cost)| {
                cost + before.map_or(0, |before| {
                    joint_cost(apart, costs, before, *b, piece, *choice)
                })
            });
            let (at, cost) = arrive
                .enumerate()
                .min_by_key(|(i, c)| (*c, *i))
                .unwrap_or((0, 0));
            now.push((own + cost).min(IMPOSSIBLE));
            from.push(at);
        }
        best = now;
        back.push(from);
    }
    let mut at = best
        .iter()
        .enumerate()
        .min_by_key(|(i, c)| (**c, *i))
        .map_or(0, |(i, _)| i);
    let mut path = Vec::with_capacity(pieces.len());
    for from in back.iter().rev() {
        path.push(choices[at]);
        at = from[at];
    }
    path.reverse();
    path
}

/// What `-ln(clean chance)` counts for.
const CLEAN: i64 = 3;

const IMPOSSIBLE: i64 = i64::MAX / 4;

fn piece_cost(apart: &Apart<'_>, costs: &ChanceCosts, piece: &Piece, choice: Option<i16>) -> i64 {
    let count = piece.notes.len() as i64;
    let Some(octave) = choice else {
        return weight::REST * count;
    };
    if !apart.holds_in(&piece.notes) {
        return IMPOSSIBLE;
    }
    let away = i64::from((octave - piece.wish).unsigned_abs());
    let clean = match moved_cost(costs, &piece.notes, octave) {
        Some(cost) => CLEAN * cost,
        // Where the director limits leaps, holes could open greater ones.
        None if apart.most_leap().is_some() => return IMPOSSIBLE,
        None => cost_with_holes(costs, &piece.notes, octave),
    };
    clean + weight::OCTAVE * away * count
}

/// The cost of what of a breath is in reach at an octave, the rest left out.
fn cost_with_holes(costs: &ChanceCosts, notes: &[LineNote], octave: i16) -> i64 {
    let mut cost = 0;
    let mut hole = false;
    let mut from = None;
    for note in notes {
        let pitch = note.pitch.up(Interval::octaves(octave));
        let reached = pitch.and_then(|p| costs.cost(p, &note.moment, before(note, from)));
        from = reached.and(pitch);
        cost += match reached {
            Some(clean) => CLEAN * i64::from(clean),
            None if hole => weight::REST,
            None => weight::REST + weight::HOLE,
        };
        hole = reached.is_none();
    }
    cost
}

fn joint_cost(
    apart: &Apart<'_>,
    costs: &ChanceCosts,
    before: &Piece,
    a: Option<i16>,
    now: &Piece,
    b: Option<i16>,
) -> i64 {
    let (Some(a), Some(b)) = (a, b) else { return 0 };
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
    let leap = from.to(to).size();
    if !apart.may_follow((then, from), (here, to)) {
        return IMPOSSIBLE;
    }
    let change = if a == b { 0 } else { weight::CHANGE };
    let way = if first.moment.flow.near {
        CLEAN * i64::from(costs.way_cost(from, to, &first.moment))
    } else {
        0
    };
    change + way + weight::LEAP * i64::from(leap.saturating_sub(12))
}
