//! Handing over: what nobody carries of the tune and the bass goes to a part that can.

use super::Problem;
use super::company::{Company, struck};
use super::hand_over::{Asked, Asking, Taken};
use super::line_terms as terms;
use super::octave_rule::open_octaves;
use super::part_notes::PartNotes;
use super::set_line::{free, moved};
use crate::band::PartId;
use crate::music::{PitchClass, Tick};
use crate::plan::Apart;
use crate::plan::fit::{ChanceCosts, OCTAVES};
use crate::plan::line::{LineNote, OneLine};
use crate::score::{DraftNote, MelodyChange, Role};
use std::ops::Range;

/// Hands every uncovered note of the tune, then of the bass, to a part that can play it, at ends of
/// phrases where that can be (see [`hand_over`](super::hand_over)). Parts that are never to be heard
/// alone are asked last, and in pairs; where one of them, or one weak player, has a line alone,
/// another part goes along if one can.
pub fn cover(problem: &Problem<'_>, costs: &[ChanceCosts], has: &mut [PartNotes]) {
    for (role, line) in [
        (Role::Melody, &problem.lines.melody),
        (Role::Bass, &problem.lines.bass),
    ] {
        cover_line(problem, costs, has, (role, line), |_| true);
        for breath in line.breaths_in(&(0..line.notes.len())) {
            cover_by_doubles(problem, costs, has, (role, line), &breath);
        }
    }
}

/// Where a breath has notes that nobody plays, although somebody doubles others of its notes in another
/// octave: the one whose leaving off lets most of them be played takes up the breath anew.
fn cover_by_doubles(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    has: &mut [PartNotes],
    (role, line): (Role, &OneLine),
    breath: &Range<usize>,
) {
    let notes = line.notes.get(breath.clone()).unwrap_or_default();
    let in_breath = |at: Tick| notes.binary_search_by_key(&at, |l| l.onset).is_ok();
    let of_line = |n: &DraftNote| in_breath(n.onset) && n.role == role && !n.locked;
    let lost = |has: &[PartNotes]| {
        let bare = notes.iter().filter(|n| {
            let mut all = has.iter().flat_map(|h| h.struck(n.onset));
            !all.any(|own| own.role == role && own.pitch.class() == n.pitch.class())
        });
        bare.count()
    };
    let before = lost(has);
    if before == 0 {
        return;
    }
    let carriers = has.iter().enumerate();
    let carriers = carriers.filter(|(_, h)| h.notes.iter().any(of_line));
    let without = |(part, _): (usize, &PartNotes)| {
        let mut other = has.to_vec();
        other[part].notes.retain(|n| !of_line(n));
        if leaps_more(problem, part, &has[part], &other[part]) {
            return None;
        }
        cover_line(problem, costs, &mut other, (role, line), |n| {
            in_breath(n.onset)
        });
        Some((lost(&other), other))
    };
    let best = carriers.filter_map(without).min_by_key(|w| w.0);
    if let Some((left, other)) = best
        && left < before
    {
        has.clone_from_slice(&other);
    }
}

/// Hands over the notes of the tune that stay as written, whatever the plan wants of who takes them:
/// before other lines are set.
pub fn cover_as_written(problem: &Problem<'_>, costs: &[ChanceCosts], has: &mut [PartNotes]) {
    if problem.tune.as_written.0.is_empty() {
        return;
    }
    let line = &problem.lines.melody;
    cover_line(problem, costs, has, (Role::Melody, line), |n| {
        problem.tune.is_as_written(n.onset, problem.meters)
    });
}

fn cover_line(
    problem: &Problem<'_>,
    costs: &[ChanceCosts],
    has: &mut [PartNotes],
    (role, line): (Role, &OneLine),
    only: impl Fn(&LineNote) -> bool,
) {
    let company: Vec<Company> = problem.band.parts.iter().map(Company::of).collect();
    for order in Order::ALL {
        let asked: Vec<Asked> = line
            .notes
            .iter()
            .map(|n| order.asks(carried(problem, (role, n), has, &company), only(n)))
            .collect();
        if !asked.iter().any(|a| a.wanted) {
            continue;
        }
        let pool = order.pool(problem, &company);
        for breaths in Asking::stretches(line, &asked) {
            let asking = Asking {
                problem,
                costs,
                has,
                role,
                line,
                asked: &asked,
                pool: &pool,
            };
            for taken in asking.taken(breaths).0 {
                take(line, role, &taken, &mut has[taken.part.0]);
            }
        }
    }
}

/// Whether what is left of a part's notes leaps too far, or comes too fast, where it did not before.
fn leaps_more(problem: &Problem<'_>, part: usize, before: &PartNotes, left: &PartNotes) -> bool {
    let apart = Apart::of(problem.band.part(PartId(part)), problem.tempo);
    left.too_far(&apart).count() > before.too_far(&apart).count()
}

fn take(line: &OneLine, role: Role, taken: &Taken, has: &mut PartNotes) {
    let notes = line.notes.get(taken.notes.clone()).unwrap_or_default();
    let free: Vec<LineNote> = notes
        .iter()
        .filter_map(|n| free(*n, Tick(u64::MAX), has))
        .collect();
    has.add(moved(&free, taken.octave, role).collect::<Vec<_>>());
}

/// The notes of the tune that nobody plays, each with why.
#[must_use]
pub fn not_carried(problem: &Problem<'_>, has: &[PartNotes]) -> Vec<MelodyChange> {
    let line = &problem.lines.melody;
    let lost = |n: &&LineNote| !has.iter().any(|h| plays(h, n.onset, n.pitch.class()));
    line.notes
        .iter()
        .filter(lost)
        .map(|n| MelodyChange::not_carried(n.onset, n.pitch, why_nobody(problem, has, n)))
        .collect()
}

fn why_nobody(problem: &Problem<'_>, has: &[PartNotes], note: &LineNote) -> String {
    let line = &problem.lines.melody;
    let breath = line.breath_of(note.onset);
    let as_written = problem.tune.is_as_written(note.onset, problem.meters);
    let free = problem.band.ids().filter(|(id, _)| {
        let has = &has[id.0];
        !has.is_shut(note.onset) && has.sounding(note.onset).is_none()
    });
    let mut elsewhere = free.filter(|(id, part)| {
        let open = open_octaves(problem, Role::Melody, breath, &has[id.0]);
        OCTAVES.filter(|k| !open.has(*k)).any(|k| {
            let pitch = note.pitch.up(crate::music::Interval::octaves(k));
            pitch.is_some_and(|p| part.limits.range.contains(p))
        })
    });
    let why = match (as_written, elsewhere.next()) {
        (true, _) => "it stays as written, and no free part can play it in the sketch's octave",
        (false, Some(_)) => "no free part can play it without changing its octave inside a breath",
        (false, None) => "no free part can play it in any octave",
    };
    why.to_owned()
}

/// In which order parts are asked to take over, and for which notes.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Order {
    /// Whoever may be heard alone, for what nobody plays or only one part that may not be alone.
    First,
    /// Parts that may not be heard alone, for what still nobody plays.
    Shy,
    /// Company for one that may not be heard alone.
    Companion,
    /// Company for one weak player, among those who may be heard alone.
    Help,
}

impl Order {
    const ALL: [Self; 4] = [Self::First, Self::Shy, Self::Companion, Self::Help];

    /// What is asked of a note that is carried so, if it may be asked for.
    fn asks(self, carried: Carried, may: bool) -> Asked {
        let (wanted, bare, carrier) = match carried {
            Carried::Nobody => (matches!(self, Self::First | Self::Shy), true, None),
            Carried::Alone(part, needed) => {
                let asked = match self {
                    Self::First | Self::Companion => needed,
                    Self::Help => !needed,
                    Self::Shy => false,
                };
                (asked, false, Some(part))
            }
            Carried::Well => (false, false, None),
        };
        Asked {
            wanted: wanted && may,
            bare,
            carrier,
        }
    }

    /// The parts that are asked, with what a note costs more that they would have alone.
    fn pool(self, problem: &Problem<'_>, company: &[Company]) -> Vec<(PartId, terms::Milli)> {
        let winds = problem.band.ids().zip(company);
        let asked = winds.filter(|((_, part), company)| {
            part.instrument.id != "timpani"
                && match self {
                    Self::First => **company != Company::Needed,
                    Self::Shy => **company == Company::Needed,
                    Self::Companion => true,
                    Self::Help => **company == Company::Free,
                }
        });
        let alone = |company| i64::from(company == Company::Wished);
        asked
            .map(|((id, _), company)| (id, terms::WEAK_ALONE.of(alone(*company))))
            .collect()
    }
}

/// How a note of a line is carried.
#[derive(Clone, Copy)]
enum Carried {
    /// By nobody.
    Nobody,
    /// By one part that should not be heard alone; whether it must not.
    Alone(usize, bool),
    /// By one that may, by several, or by a lock.
    Well,
}

fn carried(
    problem: &Problem<'_>,
    (role, note): (Role, &LineNote),
    has: &[PartNotes],
    company: &[Company],
) -> Carried {
    let rules = problem.tune;
    let exactly = role == Role::Melody && rules.is_as_written(note.onset, problem.meters);
    let mut alone = None;
    for (part, h) in has.iter().enumerate() {
        let mut own = h.struck(note.onset).filter(|own| {
            let same = own.pitch.class() == note.pitch.class();
            // A locked chord that happens to have the tone does not carry the line.
            same && own.role == role && (!exactly || own.pitch == note.pitch)
        });
        let Some(own) = own.next() else {
            continue;
        };
        let company = company.get(part).copied().unwrap_or(Company::Free);
        if own.locked || company == Company::Free || alone.is_some() {
            return Carried::Well;
        }
        alone = Some(Carried::Alone(part, company == Company::Needed));
    }
    alone.unwrap_or(Carried::Nobody)
}

/// Whether a part strikes a pitch class at a tick.
#[must_use]
pub fn plays(has: &PartNotes, onset: Tick, class: PitchClass) -> bool {
    struck(has, onset, class).is_some()
}
