//! Who takes over what others leave of a line: a least-cost path over its notes.
//!
//! At every note either nobody more plays, or one part does in one octave. What that costs is in
//! [`line_terms`](super::line_terms). A part that takes over between two breaths pays little, inside
//! a breath less where it joins on a note that another plays too, so that most hand-overs are at
//! phrase ends and the others have a shared note.

use super::Problem;
use super::hand_step::Walk;
use super::line_terms::{self as terms, IMPOSSIBLE, Milli};
use super::octave_rule::{Octaves, open_octaves};
use super::part_notes::PartNotes;
use crate::band::PartId;
use crate::music::{Interval, Sounding, Tick};
use crate::plan::Apart;
use crate::plan::fit::ChanceCosts;
use crate::plan::line::{LineNote, OneLine};
use crate::score::Role;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// When a note is struck, and which.
type Struck = (Tick, Sounding);

/// What is asked of a note of a line.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Asked {
    /// Whether another part is to play it.
    pub wanted: bool,
    /// Whether nobody plays it yet.
    pub bare: bool,
    /// The part that plays it already and is to have company.
    pub carrier: Option<usize>,
}

/// Some parts are asked to take over notes of a line.
pub struct Asking<'a> {
    /// The problem.
    pub problem: &'a Problem<'a>,
    /// What notes cost each part.
    pub costs: &'a [ChanceCosts],
    /// What the parts have already.
    pub has: &'a [PartNotes],
    /// What the line is.
    pub role: Role,
    /// The line.
    pub line: &'a OneLine,
    /// What is asked of each of its notes.
    pub asked: &'a [Asked],
    /// The parts that are asked, with what they cost more a note that they would have alone.
    pub pool: &'a [(PartId, Milli)],
}

/// Notes of a line that a part takes over.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Taken {
    /// Who takes them.
    pub part: PartId,
    /// In which octave against the sketch.
    pub octave: i16,
    /// Which notes of the line, in one breath.
    pub notes: Range<usize>,
}

/// Somebody in an octave, at a note.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Taker {
    /// Its place in the pool.
    pub place: usize,
    pub octave: i16,
}

/// Where a path came from.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Back {
    /// The state at the note before.
    pub from: usize,
    /// Whether the taker plays the note before, too.
    pub shared: bool,
}

/// What was ruled out so far, so that a path holds that did not.
#[derive(Clone, Default)]
pub(super) struct Ruled {
    /// The only octave of a part in a breath.
    pub octave: BTreeMap<(usize, usize), i16>,
    /// Notes that parts do not take.
    pub out: BTreeSet<(usize, usize)>,
}

/// So many paths are tried before one is held to.
const MOST_TRIED: usize = 200;

/// So many times more a path is mended then; what is still wrong is left out.
const MOST_MENDS: usize = 64;

/// A path that was tried, with what was ruled out before.
struct Tried {
    cost: Milli,
    taken: Vec<Taken>,
    ruled: Ruled,
}

impl Asking<'_> {
    /// Breaths in a row in which something is wanted, as ranges of breaths.
    #[must_use]
    pub fn stretches(line: &OneLine, asked: &[Asked]) -> Vec<Range<usize>> {
        let mut all: Vec<Range<usize>> = Vec::new();
        for (i, breath) in line.breaths.iter().enumerate() {
            let asked = asked.get(breath.clone()).unwrap_or_default();
            if !asked.iter().any(|a| a.wanted) {
                continue;
            }
            match all.last_mut() {
                Some(last) if last.end == i => last.end = i + 1,
                _ => all.push(i..i + 1),
            }
        }
        all
    }

    /// The cheapest way to hand over some breaths in a row: what is taken, by whom, along the line, and
    /// what that costs.
    ///
    /// Where a part would come back to a breath in another octave, or too soon or too far for it, the
    /// ways to rule that out are tried, the cheapest first, so that the first path that holds is the
    /// cheapest of all (for a part with a limit of leap or speed: among those tried). After
    /// two hundred paths the cheapest way is gone on with, whatever else there is.
    #[must_use]
    pub fn taken(&self, breaths: Range<usize>) -> (Vec<Taken>, Milli) {
        let valid = self.valid(&breaths);
        let path = |ruled: Ruled| {
            let (taken, cost) = self.path(&breaths, &valid, &ruled);
            Tried { cost, taken, ruled }
        };
        let mut open = vec![path(Ruled::default())];
        for tried in 0..MOST_TRIED + MOST_MENDS {
            let least = open.iter().enumerate().min_by_key(|(i, t)| (t.cost, *i));
            let Some(at) = least.map(|l| l.0) else {
                break;
            };
            let best = open.swap_remove(at);
            let Some(ways) = self.ways_to_mend(&breaths, &best) else {
                return (best.taken, best.cost);
            };
            if tried >= MOST_TRIED {
                open.clear();
            }
            open.extend(ways.into_iter().map(path));
        }
        let mut last = open
            .into_iter()
            .min_by_key(|t| t.cost)
            .map_or_else(Vec::new, |t| t.taken);
        while let Some(wrong) = self.wrong(&breaths, &last) {
            last.remove(wrong.1);
        }
        (last, IMPOSSIBLE)
    }

    /// The first two stretches of a path, by their places, that the same part cannot both take.
    fn wrong(&self, breaths: &Range<usize>, path: &[Taken]) -> Option<(usize, usize)> {
        for (j, now) in path.iter().enumerate() {
            let same = path[..j].iter().enumerate().rev();
            let mut same = same.filter(|(_, t)| t.part == now.part);
            let breath = self.breath_of(breaths, now.notes.start);
            let octave = same
                .clone()
                .take_while(|(_, t)| self.breath_of(breaths, t.notes.start) == breath)
                .find(|(_, t)| t.octave != now.octave);
            if let Some((i, _)) = octave {
                return Some((i, j));
            }
            if let Some((i, before)) = same.next() {
                let apart = self.apart(now.part);
                if !apart.is_any() && !self.may_come_back(&apart, before, now) {
                    return Some((i, j));
                }
            }
        }
        None
    }

    /// Whether a part may take a stretch after another.
    fn may_come_back(&self, apart: &Apart<'_>, before: &Taken, now: &Taken) -> bool {
        let last = before.notes.end.checked_sub(1);
        let last = last.and_then(|i| self.at(i, before.octave));
        let first = self.at(now.notes.start, now.octave);
        let (Some(last), Some(first)) = (last, first) else {
            return false;
        };
        fits_between(&self.has[now.part.0], apart, last, first)
    }

    /// Ways to rule out what is wrong with a path, of which every path that holds keeps to one;
    /// `None`: it holds.
    fn ways_to_mend(&self, breaths: &Range<usize>, tried: &Tried) -> Option<Vec<Ruled>> {
        let (path, ruled) = (&tried.taken, &tried.ruled);
        let (i, j) = self.wrong(breaths, path)?;
        let (a, b) = (path.get(i)?, path.get(j)?);
        let without = |taken: &Taken| {
            let mut less = ruled.clone();
            less.out.extend(taken.notes.clone().map(|n| (n, a.part.0)));
            less
        };
        let breath = self.breath_of(breaths, b.notes.start);
        if a.octave == b.octave || self.breath_of(breaths, a.notes.start) != breath {
            return Some(vec![without(a), without(b)]);
        }
        let only = |octave| {
            let mut less = ruled.clone();
            less.octave.insert((breath, a.part.0), octave);
            less
        };
        Some(Octaves::ALL.iter().map(only).collect())
    }

    fn breath_of(&self, breaths: &Range<usize>, note: usize) -> usize {
        let all = self.line.breaths.get(breaths.clone()).unwrap_or_default();
        breaths.start + all.partition_point(|b| b.end <= note)
    }

    fn apart(&self, part: PartId) -> Apart<'_> {
        Apart::of(self.problem.band.part(part), self.problem.tempo)
    }

    /// Onset and pitch of a note in an octave.
    fn at(&self, note: usize, octave: i16) -> Option<Struck> {
        let note = self.line.notes.get(note)?;
        Some((note.onset, note.pitch.up(Interval::octaves(octave))?))
    }

    /// For each note of some breaths, who can play it, with what that costs.
    fn valid(&self, breaths: &Range<usize>) -> Vec<Vec<(Taker, Milli)>> {
        let mut valid: Vec<Vec<(Taker, Milli)>> = Vec::new();
        for breath in self.line.breaths.get(breaths.clone()).unwrap_or_default() {
            let notes = &self.line.notes[breath.clone()];
            let open = |(part, _): &(PartId, Milli)| {
                open_octaves(self.problem, self.role, notes, &self.has[part.0])
            };
            let open: Vec<Octaves> = self.pool.iter().map(open).collect();
            for (note, asked) in notes.iter().zip(&self.asked[breath.clone()]) {
                let takers = self.pool.iter().zip(&open).enumerate();
                let of = takers.flat_map(|(place, ((part, alone), open))| {
                    self.of_part(place, *part, *alone, *open, note, asked)
                });
                valid.push(of.collect());
            }
        }
        valid
    }

    fn of_part(
        &self,
        place: usize,
        part: PartId,
        alone: Milli,
        open: Octaves,
        note: &LineNote,
        asked: &Asked,
    ) -> Vec<(Taker, Milli)> {
        let has = &self.has[part.0];
        let free = !has.is_shut(note.onset) && has.sounding(note.onset).is_none();
        if !free || asked.carrier == Some(part.0) {
            return Vec::new();
        }
        let costs = &self.costs[part.0];
        let cost = |octave: i16| {
            let pitch = note.pitch.up(Interval::octaves(octave))?;
            let clean = terms::CLEAN.of(costs.cost(pitch, &note.moment, None)?);
            let away = i64::from(octave.unsigned_abs());
            let moved = match self.role {
                Role::Bass if octave > 0 => terms::BASS_RAISED.of(away),
                _ => terms::MOVED.of(away),
            };
            let alone = if asked.bare { alone } else { 0 };
            Some((Taker { place, octave }, clean + moved + alone))
        };
        open.iter().filter_map(cost).collect()
    }

    /// The cheapest path over some breaths, and its cost.
    fn path(
        &self,
        breaths: &Range<usize>,
        valid: &[Vec<(Taker, Milli)>],
        ruled: &Ruled,
    ) -> (Vec<Taken>, Milli) {
        let notes = self.notes_of(breaths);
        let mut best: Vec<Milli> = vec![0];
        let mut before: &[(Taker, Milli)] = &[];
        let mut backs: Vec<Vec<Back>> = Vec::with_capacity(valid.len());
        for (note, now) in notes.clone().zip(valid) {
            let walk = Walk {
                asking: self,
                ruled,
                note,
                breath: self.breath_of(breaths, note),
                first: note == notes.start,
                before,
                best: &best,
            };
            let (costs, back) = walk.step(now);
            best = costs;
            backs.push(back);
            before = now;
        }
        let leave = |(i, cost): (usize, &Milli)| {
            let out = match i.checked_sub(1).and_then(|i| before.get(i)) {
                Some((taker, _)) => self.end_cost(*taker, notes.end.saturating_sub(1)),
                None => 0,
            };
            (cost.saturating_add(out), i)
        };
        let (cost, last) = best.iter().enumerate().map(leave).min().unwrap_or((0, 0));
        (self.read_back(&notes, breaths, valid, &backs, last), cost)
    }

    fn notes_of(&self, breaths: &Range<usize>) -> Range<usize> {
        let all = self.line.breaths.get(breaths.clone()).unwrap_or_default();
        match (all.first(), all.last()) {
            (Some(first), Some(last)) => first.start..last.end,
            _ => 0..0,
        }
    }

    fn read_back(
        &self,
        notes: &Range<usize>,
        breaths: &Range<usize>,
        valid: &[Vec<(Taker, Milli)>],
        backs: &[Vec<Back>],
        last: usize,
    ) -> Vec<Taken> {
        let mut taken: Vec<Taken> = Vec::new();
        let mut state = last;
        for (note, (back, now)) in notes.clone().zip(backs.iter().zip(valid)).rev() {
            let (Some(back), taker) = (
                back.get(state),
                state.checked_sub(1).and_then(|s| now.get(s)),
            ) else {
                break;
            };
            if let Some((taker, _)) = taker {
                let part = self.pool[taker.place].0;
                let start = if back.shared { note - 1 } else { note };
                let breath = self.breath_of(breaths, note);
                match taken.last_mut() {
                    Some(next)
                        if next.part == part
                            && next.octave == taker.octave
                            && next.notes.start == note + 1
                            && self.breath_of(breaths, note + 1) == breath =>
                    {
                        next.notes.start = start;
                    }
                    _ => taken.push(Taken {
                        part,
                        octave: taker.octave,
                        notes: start..note + 1,
                    }),
                }
            }
            state = back.from;
        }
        taken.reverse();
        taken
    }

    /// What it costs that a part begins to take notes over, wherever that is.
    pub(super) fn entry_cost(&self, part: PartId, note: usize) -> Milli {
        let limits = &self.problem.band.part(part).limits.comfortable;
        let middle = i64::from(limits.low.midi()) + i64::from(limits.high.midi());
        let place = match self.role {
            Role::Bass => terms::BASS_PLACE.of(middle),
            _ => terms::TUNE_PLACE.of(254 - middle),
        };
        let at = self.line.notes.get(note).map_or(Tick::ZERO, |n| n.onset);
        let passage = self.problem.plan.passage(at);
        let role = match passage.map(|p| p.roles[part.0].role) {
            Some(Role::Melody | Role::Bass) | None => 0,
            Some(Role::Harmony) => terms::FROM_CHORD.of(1),
            _ => terms::FROM_REST.of(1),
        };
        place + role
    }

    /// What it costs to change hands between a note and the one before it, inside a breath; `shared`:
    /// both play one of them.
    pub(super) fn cut_cost(&self, note: usize, shared: bool) -> Milli {
        if shared {
            return terms::SHARED.of(1);
        }
        let length = |i: usize| {
            Some(
                self.line
                    .notes
                    .get(i + 1)?
                    .onset
                    .since(self.line.notes[i].onset),
            )
        };
        let before = note.checked_sub(1).and_then(length);
        let quarter = u64::from(self.problem.quarter.get());
        let quarters = before.map_or(0, |l| l.0 / quarter).min(4);
        let relief = i64::try_from(quarters).unwrap_or(4);
        terms::COLD.of(1) - terms::AFTER_LONG.of(relief)
    }

    /// What it costs a part that its own notes come after the last that it takes: more than any path
    /// where they must not.
    pub(super) fn end_cost(&self, taker: Taker, note: usize) -> Milli {
        self.join_cost(taker, note, |own, here| {
            let after = own.first_from(Tick(here.0.0.saturating_add(1)))?;
            Some((here, (after.onset, after.pitch)))
        })
    }

    /// The same for its own notes before the first that it takes.
    pub(super) fn begin_cost(&self, taker: Taker, note: usize) -> Milli {
        self.join_cost(taker, note, |own, here| {
            let before = own.last_before(here.0)?;
            Some(((before.onset, before.pitch), here))
        })
    }

    /// What it costs to join a note that is taken to the part's own beside it; `beside` gives the two,
    /// the earlier first.
    fn join_cost(
        &self,
        taker: Taker,
        note: usize,
        beside: impl Fn(&PartNotes, Struck) -> Option<(Struck, Struck)>,
    ) -> Milli {
        let part = self.pool[taker.place].0;
        let apart = self.apart(part);
        if apart.is_any() {
            return 0;
        }
        let Some(here) = self.at(note, taker.octave) else {
            return IMPOSSIBLE;
        };
        match beside(&self.has[part.0], here) {
            Some((from, to)) if !apart.may_follow(from, to) => IMPOSSIBLE,
            _ => 0,
        }
    }

    /// What it costs a part to go on to a note from the one before, besides the note itself.
    pub(super) fn way_cost(&self, taker: Taker, from: i16, note: usize) -> Milli {
        let part = self.pool[taker.place].0;
        let before = note.checked_sub(1).and_then(|b| self.at(b, from));
        let (Some(before), Some(here)) = (before, self.at(note, taker.octave)) else {
            return IMPOSSIBLE;
        };
        let apart = self.apart(part);
        if !apart.is_any() && !fits_between(&self.has[part.0], &apart, before, here) {
            return IMPOSSIBLE;
        }
        let moment = &self.line.notes[note].moment;
        if moment.flow.near {
            terms::CLEAN.of(self.costs[part.0].way_cost(before.1, here.1, moment))
        } else {
            0
        }
    }
}

/// Whether two notes, and what a part has of its own between them, may follow one another.
pub(super) fn fits_between(
    has: &PartNotes,
    apart: &Apart<'_>,
    from: (Tick, Sounding),
    to: (Tick, Sounding),
) -> bool {
    let first = has
        .first_from(Tick(from.0.0.saturating_add(1)))
        .filter(|n| n.onset < to.0);
    let last = has.last_before(to.0).filter(|n| n.onset > from.0);
    match (first, last) {
        (Some(first), Some(last)) => {
            apart.may_follow(from, (first.onset, first.pitch))
                && apart.may_follow((last.onset, last.pitch), to)
        }
        _ => apart.may_follow(from, to),
    }
}
