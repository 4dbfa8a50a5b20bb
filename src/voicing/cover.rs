//! Handing over: what nobody carries of the tune and the bass goes to a part that can.

use super::Problem;
use super::company::{Company, struck};
use super::part_notes::PartNotes;
use super::set_line::{free, moved};
use crate::band::{Part, PartId};
use crate::music::{Interval, PitchClass, Tick};
use crate::plan::Apart;
use crate::plan::fit::{ChanceCosts, OCTAVES, moved_cost};
use crate::plan::line::{LineNote, OneLine};
use crate::score::{DraftNote, MelodyChange, Role};

/// Hands every uncovered note of the tune, then of the bass, to a part that can play it, as much
/// as possible of a breath to one part. Parts that are never to be heard alone are asked last, and
/// in pairs; where one of them, or one weak player, has a line alone, another part goes along if one
/// can. Gives the notes of the tune that nobody can play.
pub fn cover(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    has: &mut [PartNotes],
) -> Vec<MelodyChange> {
    let mut changes = Vec::new();
    let company: Vec<Company> = problem.band.parts.iter().map(Company::of).collect();
    for (role, line) in [
        (Role::Melody, &problem.lines.melody),
        (Role::Bass, &problem.lines.bass),
    ] {
        for asking in Asking::ALL {
            for (run, carrier) in asking.runs(line, has, &company) {
                let pool = Pool {
                    asking,
                    carrier,
                    company: &company,
                };
                hand_over(problem, costs, has, role, &run, &pool);
            }
        }
        if role == Role::Melody {
            changes.extend(nobody_plays(line, has));
        }
    }
    changes
}

/// The notes of a line that nobody plays, as changes of the tune.
fn nobody_plays(line: &OneLine, has: &[PartNotes]) -> Vec<MelodyChange> {
    let lost = line
        .notes
        .iter()
        .filter(|n| !has.iter().any(|h| plays(h, n.onset, n.pitch.class())));
    lost.map(|note| MelodyChange {
        onset: note.onset,
        sketch: note.pitch,
        reason: "no free part can play it in any octave".to_owned(),
    })
    .collect()
}

/// In which order parts are asked to take over, and for which notes.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Asking {
    /// Whoever may be heard alone, for what nobody plays or only one part that may not be alone.
    First,
    /// Parts that may not be heard alone, for what still nobody plays.
    Shy,
    /// Company for one that may not be heard alone.
    Companion,
    /// Company for one weak player, among those who may be heard alone.
    Help,
}

impl Asking {
    const ALL: [Self; 4] = [Self::First, Self::Shy, Self::Companion, Self::Help];

    /// Runs of notes, breath by breath, for which parts are asked, each with the part that plays
    /// them already, if one does.
    fn runs(
        self,
        line: &OneLine,
        has: &[PartNotes],
        company: &[Company],
    ) -> Vec<(Vec<LineNote>, Option<usize>)> {
        let asks = |c| match self {
            Self::Shy => c == Company::Needed,
            Self::Companion => c == Company::Needed,
            Self::Help => c == Company::Wished,
            Self::First => true,
        };
        if !company.iter().any(|c| asks(*c)) {
            return Vec::new();
        }
        let wanted = |note: &LineNote| match carried(has, company, note) {
            Carried::Nobody => matches!(self, Self::First | Self::Shy).then_some(None),
            Carried::Alone(part) => {
                let needed = company.get(part) == Some(&Company::Needed);
                let asked = match self {
                    Self::First | Self::Companion => needed,
                    Self::Help => !needed,
                    Self::Shy => false,
                };
                asked.then_some(Some(part))
            }
            Carried::Well => None,
        };
        let mut runs = Vec::new();
        for breath in &line.breaths {
            let notes = line.notes[breath.clone()].iter();
            let told: Vec<_> = notes.map(|n| (*n, wanted(n))).collect();
            for run in told.chunk_by(|a, b| a.1 == b.1) {
                if let Some((_, Some(carrier))) = run.first() {
                    runs.push((run.iter().map(|r| r.0).collect(), *carrier));
                }
            }
        }
        runs
    }
}

/// How a note of a line is carried.
enum Carried {
    /// By nobody.
    Nobody,
    /// By one part that should not be heard alone.
    Alone(usize),
    /// By one that may, by several, or by a lock.
    Well,
}

fn carried(has: &[PartNotes], company: &[Company], note: &LineNote) -> Carried {
    let mut alone = None;
    for (part, h) in has.iter().enumerate() {
        let Some(own) = struck(h, note.onset, note.pitch.class()) else {
            continue;
        };
        let free = company.get(part).is_none_or(|c| *c == Company::Free);
        if own.locked || free || alone.is_some() {
            return Carried::Well;
        }
        alone = Some(part);
    }
    alone.map_or(Carried::Nobody, Carried::Alone)
}

/// Who is asked to take some notes over.
struct Pool<'a> {
    asking: Asking,
    /// The part that plays them already.
    carrier: Option<usize>,
    company: &'a [Company],
}

impl Pool<'_> {
    fn has(&self, part: PartId) -> bool {
        let company = self.company.get(part.0).copied();
        let asked = match self.asking {
            Asking::First => company != Some(Company::Needed),
            Asking::Shy => company == Some(Company::Needed),
            Asking::Companion => true,
            Asking::Help => company == Some(Company::Free),
        };
        asked && self.carrier != Some(part.0)
    }

    /// What it costs that a weak player is asked who would be alone.
    fn cost(&self, part: PartId) -> i64 {
        let weak = self.company.get(part.0) == Some(&Company::Wished);
        if weak && self.carrier.is_none() {
            WEAK_ALONE
        } else {
            0
        }
    }
}

/// Whether a part strikes a pitch class at a tick.
#[must_use]
pub fn plays(has: &PartNotes, onset: Tick, class: PitchClass) -> bool {
    struck(has, onset, class).is_some()
}

fn hand_over(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    has: &mut [PartNotes],
    role: Role,
    run: &[LineNote],
    pool: &Pool<'_>,
) {
    if let Some((part, octave)) = best_taker(problem, costs, has, role, run, pool) {
        let notes: Vec<LineNote> = run
            .iter()
            .filter_map(|n| free(*n, Tick(u64::MAX), &has[part.0]))
            .collect();
        let cut = cut_before_next(&notes, &has[part.0]);
        has[part.0].add(moved(&cut, octave, role).collect::<Vec<_>>());
    } else if run.len() > 1 {
        let (left, right) = run.split_at(widest_cut(run));
        hand_over(problem, costs, has, role, left, pool);
        hand_over(problem, costs, has, role, right, pool);
    }
}

/// The last note may not run into what the part plays next.
fn cut_before_next(notes: &[LineNote], has: &PartNotes) -> Vec<LineNote> {
    let until = |n: &LineNote| {
        has.first_from(n.onset)
            .map_or(n.end, |next| n.end.min(next.onset))
    };
    notes
        .iter()
        .map(|n| LineNote {
            end: until(n),
            ..*n
        })
        .filter(|n| n.end > n.onset)
        .collect()
}

/// Where to cut a run that no part can play whole: after its longest note, near the middle.
fn widest_cut(run: &[LineNote]) -> usize {
    let middle = run.len() / 2;
    let length = |i: usize| run[i].onset.since(run[i - 1].onset).0;
    (1..run.len())
        .max_by_key(|i| (length(*i), usize::MAX - i.abs_diff(middle)))
        .unwrap_or(middle)
}

fn best_taker(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    has: &[PartNotes],
    role: Role,
    run: &[LineNote],
    pool: &Pool<'_>,
) -> Option<(PartId, i16)> {
    let mut best: Option<(i64, PartId, i16)> = None;
    for (id, part) in problem.band.ids() {
        if part.instrument.id == "timpani" || !pool.has(id) || !is_free(&has[id.0], run) {
            continue;
        }
        let apart = Apart::of(part, problem.tempo);
        if !apart.holds_in(run) {
            continue;
        }
        for octave in OCTAVES {
            let Some(cost) = taker_cost(part, &apart, &costs[id.0], &has[id.0], role, run, octave)
            else {
                continue;
            };
            let broken = breaks_octave(problem, &has[id.0], role, run, octave);
            let broken = if broken { OCTAVE_BROKEN } else { 0 };
            let cost = cost + role_cost(problem, id, run) + broken + pool.cost(id);
            if best.is_none_or(|b| cost < b.0) {
                best = Some((cost, id, octave));
            }
        }
    }
    best.map(|(_, id, octave)| (id, octave))
}

/// A note of the bass an octave above the sketch's, in thousandths of a point (ours): chords that
/// stand below it are turned over, so that a slower low part is better than a nimble high one.
const BASS_RAISED: i64 = 1_000;

/// A part that changes its octave inside a breath comes last of all who could take over.
const OCTAVE_BROKEN: i64 = 50_000;
/// Weak players who would have the line alone come after all who may (ours).
const WEAK_ALONE: i64 = 20_000;

/// Whether the part plays the same breath of the line in another octave already.
fn breaks_octave(
    problem: &Problem<'_>,
    has: &PartNotes,
    role: Role,
    run: &[LineNote],
    octave: i16,
) -> bool {
    let (Some(line), Some(first)) = (problem.lines.of_role(role), run.first()) else {
        return false;
    };
    line.breath_of(first.onset).iter().any(|n| {
        let own = has.first_from(n.onset).filter(|own| own.onset == n.onset);
        own.is_some_and(|own| !own.locked && n.pitch.to(own.pitch) != Interval::octaves(octave))
    })
}

fn is_free(has: &PartNotes, run: &[LineNote]) -> bool {
    run.iter()
        .all(|n| !has.is_shut(n.onset) && has.sounding(n.onset).is_none())
}

fn taker_cost(
    part: &Part,
    apart: &Apart<'_>,
    costs: &ChanceCosts,
    has: &PartNotes,
    role: Role,
    run: &[LineNote],
    octave: i16,
) -> Option<i64> {
    let clean = moved_cost(costs, run, octave)?;
    if !joins(apart, has, run, octave) {
        return None;
    }
    let octave_cost = match role {
        Role::Bass if octave > 0 => BASS_RAISED,
        _ => 300,
    };
    let away = i64::from(octave.unsigned_abs()) * octave_cost * run.len() as i64;
    // The tune likes the top of the band, the bass its bottom.
    let middle = i64::from(part.limits.comfortable.low.midi())
        + i64::from(part.limits.comfortable.high.midi());
    let place = match role {
        Role::Bass => middle * 10,
        _ => (254 - middle) * 4,
    };
    Some(3 * clean + away + place)
}

/// Whether the part's own notes around the run, and between its notes, are within its greatest
/// leap and speed.
fn joins(apart: &Apart<'_>, has: &PartNotes, run: &[LineNote], octave: i16) -> bool {
    if apart.is_any() {
        return true;
    }
    let at = |n: &DraftNote| (n.onset, n.pitch);
    run.iter().enumerate().all(|(i, note)| {
        let from = i.checked_sub(1).map_or(Tick::ZERO, |b| run[b].onset);
        let to = run.get(i + 1).map_or(Tick(u64::MAX), |n| n.onset);
        let before = has.last_before(note.onset).filter(|n| n.onset >= from);
        let after = has.first_from(note.onset).filter(|n| n.onset < to);
        let Some(pitch) = note.pitch.up(Interval::octaves(octave)) else {
            return false;
        };
        let here = (note.onset, pitch);
        before.is_none_or(|b| apart.may_follow(at(b), here))
            && after.is_none_or(|a| apart.may_follow(here, at(a)))
    })
}

/// Parts that rest are asked before parts that fill the chord.
fn role_cost(problem: &Problem<'_>, part: PartId, run: &[LineNote]) -> i64 {
    let at = run.first().map_or(Tick::ZERO, |n| n.onset);
    let passage = problem.plan.passage(at);
    match passage.map(|p| p.roles[part.0].role) {
        Some(Role::Melody | Role::Bass) | None => 0,
        Some(Role::Harmony) => 300,
        _ => 600,
    }
}
