//! Handing over: what nobody carries of the tune and the bass goes to a part that can.

use super::Problem;
use super::part_notes::PartNotes;
use super::set_line::{free, moved};
use crate::band::{Part, PartId};
use crate::music::{Interval, PitchClass, Tick};
use crate::plan::fit::{ChanceCosts, OCTAVES, leaps_allowed, moved_cost};
use crate::plan::line::{LineNote, OneLine};
use crate::score::{MelodyChange, Role};

/// Hands every uncovered note of the tune, then of the bass, to a part that can play it, as much
/// as possible of a breath to one part. Gives the notes of the tune that nobody can play.
pub fn cover(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    has: &mut [PartNotes],
) -> Vec<MelodyChange> {
    let mut changes = Vec::new();
    for (role, line) in [
        (Role::Melody, &problem.lines.melody),
        (Role::Bass, &problem.lines.bass),
    ] {
        for run in uncovered(line, has) {
            hand_over(problem, costs, has, role, &run, &mut changes);
        }
    }
    changes
}

/// Runs of notes, breath by breath, that no part plays at their time and pitch class.
fn uncovered(line: &OneLine, has: &[PartNotes]) -> Vec<Vec<LineNote>> {
    let mut runs = Vec::new();
    for breath in &line.breaths {
        let mut run: Vec<LineNote> = Vec::new();
        for note in &line.notes[breath.clone()] {
            if has.iter().any(|h| plays(h, note.onset, note.pitch.class())) {
                if !run.is_empty() {
                    runs.push(std::mem::take(&mut run));
                }
            } else {
                run.push(*note);
            }
        }
        if !run.is_empty() {
            runs.push(run);
        }
    }
    runs
}

/// Whether a part strikes a pitch class at a tick.
#[must_use]
pub fn plays(has: &PartNotes, onset: Tick, class: PitchClass) -> bool {
    let from = has.notes.partition_point(|n| n.onset < onset);
    let here = has.notes[from..].iter().take_while(|n| n.onset == onset);
    here.into_iter().any(|n| n.pitch.class() == class)
}

fn hand_over(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    has: &mut [PartNotes],
    role: Role,
    run: &[LineNote],
    changes: &mut Vec<MelodyChange>,
) {
    if let Some((part, octave)) = best_taker(problem, costs, has, role, run) {
        let notes: Vec<LineNote> = run
            .iter()
            .filter_map(|n| free(*n, Tick(u64::MAX), &has[part.0]))
            .collect();
        let cut = cut_before_next(&notes, &has[part.0]);
        has[part.0].add(moved(&cut, octave, role).collect::<Vec<_>>());
    } else if run.len() > 1 {
        let (left, right) = run.split_at(widest_cut(run));
        hand_over(problem, costs, has, role, left, changes);
        hand_over(problem, costs, has, role, right, changes);
    } else if let (Role::Melody, Some(note)) = (role, run.first()) {
        let reason = "no free part can play it in any octave".to_owned();
        changes.push(MelodyChange {
            onset: note.onset,
            sketch: note.pitch,
            reason,
        });
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
) -> Option<(PartId, i16)> {
    let mut best: Option<(i64, PartId, i16)> = None;
    for (id, part) in problem.band.ids() {
        if part.instrument.id == "timpani" || !is_free(&has[id.0], run) {
            continue;
        }
        for octave in OCTAVES {
            let Some(cost) = taker_cost(part, &costs[id.0], &has[id.0], role, run, octave) else {
                continue;
            };
            let broken = breaks_octave(problem, &has[id.0], role, run, octave);
            let cost = cost + role_cost(problem, id, run) + if broken { OCTAVE_BROKEN } else { 0 };
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
        .all(|n| !has.is_locked(n.onset) && has.sounding(n.onset).is_none())
}

fn taker_cost(
    part: &Part,
    costs: &ChanceCosts,
    has: &PartNotes,
    role: Role,
    run: &[LineNote],
    octave: i16,
) -> Option<i64> {
    let clean = moved_cost(costs, run, octave)?;
    if !leaps_allowed(part, run) || !joins(part, has, run, octave) {
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
/// leap.
fn joins(part: &Part, has: &PartNotes, run: &[LineNote], octave: i16) -> bool {
    let Some(most) = part.limits.max_leap else {
        return true;
    };
    let near = |own: Option<&crate::score::DraftNote>, note: &LineNote| {
        let pitch = note.pitch.up(Interval::octaves(octave));
        own.zip(pitch)
            .is_none_or(|(own, pitch)| own.pitch.to(pitch).size() <= most.size())
    };
    run.iter().enumerate().all(|(i, note)| {
        let from = i.checked_sub(1).map_or(Tick::ZERO, |b| run[b].onset);
        let to = run.get(i + 1).map_or(Tick(u64::MAX), |n| n.onset);
        let before = has.last_before(note.onset).filter(|n| n.onset >= from);
        let after = has.first_from(note.onset).filter(|n| n.onset < to);
        near(before, note) && near(after, note)
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
