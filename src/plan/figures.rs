//! How winds play the figures of each passage, and the reading that the voicing works from: where a
//! figure's chord is held, its tones sound until its harmony changes.

use super::apart::Apart;
use super::closed::weight;
use super::fit::{ChanceCosts, fit};
use super::line::{Lines, OneLine};
use super::solve::PassagePlan;
use crate::band::{Band, Choir, Exposure, Level, Part, PartId, shared_players};
use crate::music::{TempoMap, Tick};
use crate::score::{Closed, Passage, Role};
use crate::sketch::{Figure, FigureWay, Held, Line, ReadNote, Reading, cut_slices};
use std::collections::BTreeMap;

/// How many notes of a figure a second the weakest player of a part keeps up with (common
/// practice, no source for the numbers).
const fn most_notes(level: Level) -> f64 {
    match level {
        Level::FirstYear => 1.5,
        Level::SecondYear => 2.5,
        Level::Intermediate => 4.5,
        Level::Advanced => 6.5,
        Level::AllState => 9.0,
    }
}

/// So much quicker may a figure be that two parts play in turn, resting every other bar (ours).
const SHARED_QUICKER: f64 = 1.5;
/// A part keeps a figure if it has nearly all of its notes,
const LEAST_SHARE: f64 = 0.95;
/// and plays them at least so clean on average (`-ln` of the clean chance 0.8).
const MOST_COST: f64 = 0.223;

/// More parts than this would make a kept figure thick (ours).
pub(super) const MOST_CARRIERS: usize = 2;

/// How the figures of a passage are played.
#[derive(Clone, PartialEq, Debug)]
pub struct FigurePlan {
    /// The way.
    pub way: FigureWay,
    /// Why this way, in one short phrase.
    pub why: String,
    /// Notes a second of the figure; 0 where it is not kept in question.
    pub rate: f64,
    /// Who plays the figure, where it is kept or shared: the first choice first.
    pub carriers: Vec<PartId>,
}

/// The way of each passage's figures; `None` where it has none. `wanted` overrides the choice for
/// some passages, by index; a way that no part can carry out is not taken.
#[must_use]
pub fn figure_plans(
    band: &Band,
    reading: &Reading,
    passages: &[Passage],
    tempo: &TempoMap,
    wanted: &BTreeMap<usize, FigureWay>,
) -> Vec<Option<FigurePlan>> {
    let keep = |_: Tick| Some(FigureWay::Kept);
    let figure = Lines::of(&played(reading, keep), tempo).figure.unhurried();
    let costs = ChanceCosts::of_band(band);
    let of_passage = |(i, passage): (usize, &Passage)| {
        let wish = wanted.get(&i).copied();
        let size = |f: &&Figure| members(reading, f, passage);
        let here = reading.figures.iter().filter(|f| !f.kind.ways().is_empty());
        let most = here
            .filter(|f| f.start < passage.end && f.end > passage.start)
            .filter(|f| f.kind.is_held() || f.kind.ways() == [FigureWay::OffBeats])
            .map(|f| (size(&f), f))
            .filter(|(n, _)| *n > 0)
            .max_by(|a, b| a.0.cmp(&b.0).then(b.1.start.cmp(&a.1.start)))?
            .1;
        Some(choose(
            band, &costs, &figure, most, reading, passage, tempo, wish,
        ))
    };
    passages.iter().enumerate().map(of_passage).collect()
}

/// How many notes of a figure begin in a passage.
fn members(reading: &Reading, figure: &Figure, passage: &Passage) -> usize {
    let onset = |i: &usize| reading.notes.get(*i).map_or(Tick::ZERO, |n| n.onset);
    let from = figure.notes.partition_point(|i| onset(i) < passage.start);
    let to = figure.notes.partition_point(|i| onset(i) < passage.end);
    to.saturating_sub(from)
}

#[allow(clippy::too_many_arguments)]
fn choose(
    band: &Band,
    costs: &[ChanceCosts],
    line: &OneLine,
    figure: &Figure,
    reading: &Reading,
    passage: &Passage,
    tempo: &TempoMap,
    wish: Option<FigureWay>,
) -> FigurePlan {
    let plain = |way, why: &str| FigurePlan {
        way,
        why: why.to_owned(),
        rate: 0.0,
        carriers: Vec::new(),
    };
    let ways = figure.kind.ways();
    if !ways.contains(&FigureWay::Kept) {
        return match ways.first() {
            Some(FigureWay::OffBeats) => plain(
                FigureWay::OffBeats,
                "chords are struck where the sketch strikes them",
            ),
            _ => plain(
                FigureWay::Sustained,
                "winds hold the chord of such a figure",
            ),
        };
    }
    if wish == Some(FigureWay::Sustained) {
        return plain(FigureWay::Sustained, "wanted so");
    }
    let rate = rate(reading, figure, passage, tempo);
    let range = line.within(passage.start, passage.end);
    let able = |quicker: f64| -> Vec<PartId> {
        let mut found: Vec<(f64, PartId)> = Vec::new();
        for ((id, part), costs) in band.ids().zip(costs) {
            let level = part.players.weakest();
            let quick = level.is_some_and(|l| rate <= most_notes(l) * quicker);
            if !is_agile(part) || !quick {
                continue;
            }
            let fit = fit(&Apart::of(part, tempo), costs, line, &range);
            if fit.share >= LEAST_SHARE && fit.mean_cost <= MOST_COST {
                found.push((fit.mean_cost, id));
            }
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        found.into_iter().map(|f| f.1).collect()
    };
    let alone = able(1.0);
    if !alone.is_empty() && wish != Some(FigureWay::Shared) {
        return FigurePlan {
            way: FigureWay::Kept,
            why: format!("{rate:.1} notes a second are not too many for one part"),
            rate,
            carriers: alone,
        };
    }
    let turns = able(SHARED_QUICKER);
    if turns.len() >= 2 {
        return FigurePlan {
            way: FigureWay::Shared,
            why: format!("{rate:.1} notes a second are too many for one part without a rest"),
            rate,
            carriers: turns,
        };
    }
    let why = format!("no agile part plays its {rate:.1} notes a second clean");
    plain(FigureWay::Sustained, &why)
}

/// Notes a second of a figure in a passage, struck together counted once.
fn rate(reading: &Reading, figure: &Figure, passage: &Passage, tempo: &TempoMap) -> f64 {
    let notes = figure.notes.iter().filter_map(|i| reading.notes.get(*i));
    let mut onsets: Vec<Tick> = notes
        .map(|n| n.onset)
        .filter(|t| passage.contains(*t))
        .collect();
    onsets.dedup();
    let (Some(first), Some(last)) = (onsets.first(), onsets.last()) else {
        return 0.0;
    };
    let mut gaps: Vec<f64> = onsets
        .windows(2)
        .map(|p| tempo.seconds(p[1]) - tempo.seconds(p[0]))
        .collect();
    if first == last || gaps.is_empty() {
        return 0.0;
    }
    // The middle gap: a figure that pauses is no slower for it.
    gaps.sort_by(f64::total_cmp);
    1.0 / gaps[gaps.len() / 2].max(1e-3)
}

/// Whether an instrument plays figures: flutes, clarinets, the higher saxophones, mallets.
fn is_agile(part: &Part) -> bool {
    let choir = part.instrument.choir;
    let high = matches!(part.instrument.id.as_str(), "sax_alto" | "sax_soprano");
    let named = matches!(choir, Choir::Flutes | Choir::Clarinets) || high;
    named || choir == Choir::Mallets && part.instrument.id != "timpani"
}

/// Gives the figure to parts that can carry it, once the roles of a passage are chosen: those that
/// the way of scoring names, else the best of those who are free. The others fill the chord.
pub(super) fn give_figure(band: &Band, closed: &Closed, planned: &mut PassagePlan) {
    let passage = planned.passage;
    let busy = busy_elsewhere(band, planned);
    let Some(figure) = &mut planned.figure else {
        return;
    };
    let is = |planned: &[super::solve::PartRole], id: PartId, role| planned[id.0].role == role;
    let free = |id: &PartId| {
        is(&planned.roles, *id, Role::Figure)
            || is(&planned.roles, *id, Role::Harmony)
            || is(&planned.roles, *id, Role::Rest)
    };
    let open = |id: &PartId| !closed.meets(*id, passage.start, passage.end) && !busy.contains(id);
    let never = |id: &PartId| band.part(*id).remarks.exposure == Exposure::Never;
    let mut able: Vec<PartId> = figure.carriers.iter().copied().filter(free).collect();
    able.retain(open);
    able.sort_by_key(|id| (never(id), !is(&planned.roles, *id, Role::Figure)));
    // Who is never heard alone keeps a figure only together with another, and takes no turns.
    if figure.way == FigureWay::Shared || able.first().is_some_and(never) {
        able.retain(|id| !never(id));
    }
    let named = able
        .iter()
        .filter(|id| is(&planned.roles, **id, Role::Figure))
        .count();
    able.truncate(match figure.way {
        FigureWay::Kept => named.clamp(1, MOST_CARRIERS),
        FigureWay::Shared => 2,
        _ => 0,
    });
    let wanting = matches!(figure.way, FigureWay::Kept | FigureWay::Shared);
    if wanting && (able.is_empty() || figure.way == FigureWay::Shared && able.len() < 2) {
        figure.way = FigureWay::Sustained;
        "those who could play it carry other lines".clone_into(&mut figure.why);
        able.clear();
    }
    for (id, part) in band.ids() {
        let role = &mut planned.roles[id.0].role;
        if able.contains(&id) {
            *role = Role::Figure;
        } else if *role == Role::Figure && wanting {
            *role = if part.instrument.wind {
                Role::Harmony
            } else {
                Role::Rest
            };
        }
    }
    figure.carriers = able;
}

/// Parts whose players carry a line on another instrument in the passage.
fn busy_elsewhere(band: &Band, planned: &PassagePlan) -> Vec<PartId> {
    let role = |id: PartId| planned.roles.get(id.0).map_or(Role::Rest, |r| r.role);
    let busy = |id: PartId| weight(role(id)) > weight(Role::Figure);
    let pairs = shared_players(band).into_iter();
    pairs
        .flat_map(|(a, b)| [(a, b), (b, a)])
        .filter(|(_, other)| busy(*other))
        .map(|(own, _)| own)
        .collect()
}

/// Lets turns go on over the end of a passage: who played the even bars plays them again.
pub(super) fn keep_turns(passages: &mut [PassagePlan]) {
    let mut before: Vec<PartId> = Vec::new();
    for planned in passages {
        let shared = planned
            .figure
            .as_mut()
            .filter(|f| f.way == FigureWay::Shared);
        let Some(figure) = shared else {
            before.clear();
            continue;
        };
        let place = |id: &PartId| before.iter().position(|b| b == id);
        let crossed = |(i, id): (usize, &PartId)| place(id).is_some_and(|p| p != i);
        if figure.carriers.iter().enumerate().any(crossed) {
            figure.carriers.reverse();
        }
        before.clone_from(&figure.carriers);
    }
}

/// The reading as it is played: the chords of figures sound until they change. `way` tells how the
/// figure is played at a tick. Where it is not kept its own notes are gone.
#[must_use]
pub fn played(reading: &Reading, way: impl Fn(Tick) -> Option<FigureWay>) -> Reading {
    let mut changed = reading.clone();
    let mut gone = vec![false; reading.notes.len()];
    let mut added = Vec::new();
    for figure in reading.figures.iter().filter(|f| f.kind.is_held()) {
        let mut members = figure.notes.as_slice();
        for held in &figure.harmony {
            let onset = |i: &usize| reading.notes.get(*i).map_or(Tick::ZERO, |n| n.onset);
            let from = members.partition_point(|i| onset(i) < held.start);
            let to = members.partition_point(|i| onset(i) < held.end).max(from);
            let here = &members[from..to];
            members = &members[to..];
            let Some(way) = way(held.start) else { continue };
            let kept = matches!(way, FigureWay::Kept | FigureWay::Shared);
            for i in here {
                let Some(note) = changed.notes.get_mut(*i) else {
                    continue;
                };
                match note.line {
                    Line::Bass => {
                        note.sounds_until = note.sounds_until.max(held.end);
                        if kept {
                            let own = &reading.notes[*i];
                            added.push(ReadNote {
                                tag: None,
                                line: Line::Figure,
                                ..*own
                            });
                        }
                    }
                    Line::Figure | Line::Harmony => gone[*i] |= !kept,
                    _ => {}
                }
            }
            added.extend(pads(reading, here, held));
        }
    }
    let mut flags = gone.into_iter();
    changed.notes.retain(|_| !flags.next().unwrap_or(false));
    changed.notes.extend(added);
    changed.notes.sort_by_key(|n| (n.onset, n.pitch, n.track));
    changed.slices = cut_slices(&changed.notes);
    for slice in &mut changed.slices {
        let next = reading.chords.partition_point(|c| c.start <= slice.start);
        slice.chord = next
            .checked_sub(1)
            .filter(|c| slice.start < reading.chords[*c].end);
    }
    // Its indices are of the notes as read.
    changed.figures.clear();
    changed
}

/// The held tones of a chord, but those that only the bass has.
fn pads(reading: &Reading, members: &[usize], held: &Held) -> Vec<ReadNote> {
    let notes: Vec<&ReadNote> = members
        .iter()
        .filter_map(|i| reading.notes.get(*i))
        .filter(|n| matches!(n.line, Line::Figure | Line::Harmony))
        .collect();
    let Some(first) = notes.first() else {
        return Vec::new();
    };
    let loud: u32 = notes.iter().map(|n| u32::from(n.velocity)).sum();
    let velocity = (loud / notes.len() as u32).clamp(1, 127) as u8;
    let mut pitches: Vec<_> = notes.iter().map(|n| n.pitch).collect();
    pitches.sort_unstable();
    pitches.dedup();
    let pad = |pitch| ReadNote {
        tag: None,
        onset: held.start,
        duration: held.end.since(held.start),
        sounds_until: held.end,
        pitch,
        velocity,
        line: Line::Harmony,
        ..**first
    };
    let all = pitches.into_iter().filter(|p| held.pitches.contains(p));
    if held.end > held.start {
        all.map(pad).collect()
    } else {
        Vec::new()
    }
}
