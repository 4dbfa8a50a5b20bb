//! Where a tired part could rest, and who could take over: tried by reckoning its load again without those notes.

use super::changes::{listed, suits};
use super::load::timed;
use super::presence::Stretch;
use super::relief_book::Wanted;
use crate::band::load::{
    Conditions, PartLoad, TimedNote, Worked, WorkingLimits, part_load, worked, working_limits,
};
use crate::band::{Band, Part, PartId};
use crate::music::{MeterMap, TempoMap};
use crate::score::{DraftNote, PartLine, Role};
use std::cmp::Reverse;

/// So many stretches are given up at the most, looked for in so many before the place and after it (ours).
const MOST: usize = 3;
const NEAR: usize = 6;
/// So many parts are named as able to take over.
const TAKERS: usize = 2;

/// A draft with what load is reckoned by.
#[derive(Clone, Copy, Debug)]
pub struct LoadSheet<'a> {
    /// Who plays.
    pub band: &'a Band,
    /// The notes.
    pub lines: &'a [PartLine],
    /// Tempos.
    pub tempo: &'a TempoMap,
    /// Meters and bars.
    pub meters: &'a MeterMap,
    /// Under what conditions.
    pub conditions: Conditions,
    /// The passages, or bars looked at together: what a part may be given a rest in.
    pub stretches: &'a [Stretch],
}

impl<'a> LoadSheet<'a> {
    pub(super) fn notes(&self, part: PartId) -> &'a [DraftNote] {
        let line = self.lines.iter().find(|l| l.part == part);
        line.map_or(&[][..], |l| &l.notes)
    }
}

/// Something a part could give up.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct GivenUp {
    /// Where.
    pub stretch: Stretch,
    /// Who takes over; empty where the part only fills the chord and may rest.
    pub takers: Vec<PartId>,
}

/// What would relieve a part.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Relief {
    /// What it gives up.
    pub given_up: Vec<GivenUp>,
    /// Whether that is enough.
    pub enough: bool,
}

/// Whether what lies after a place counts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Later {
    /// Yes.
    Too,
    /// No: a rest after it is no help.
    No,
}

/// What a part is asked for after a change of its notes.
pub(super) struct After<'a> {
    pub part: &'a Part,
    pub notes: &'a [DraftNote],
    pub timed: Vec<TimedNote>,
    pub load: Option<PartLoad>,
    bars: &'a [f64],
    conditions: Conditions,
}

impl After<'_> {
    /// Working limits and what is asked; `None` for other than brass.
    pub(super) fn work(&self) -> Option<(Worked, WorkingLimits)> {
        let level = self.part.players.weakest()?;
        // The built-in table reads; a test shows it.
        let limits = working_limits(level, self.conditions).ok()?;
        let work = worked(self.part, level, &self.timed, self.bars).ok()??;
        Some((work, limits))
    }
}

/// The least that a part could give up of some stretches so that nothing is lacking: one stretch, nearest first,
/// where it only fills before where others take over; else up to three, each the one that helps most. `lacks` is 0
/// where all is well, and less is better.
pub(super) fn relief(
    sheet: &LoadSheet<'_>,
    bars: &[f64],
    (of, notes): (&Part, &[DraftNote]),
    can: &[GivenUp],
    lacks: &dyn Fn(&After<'_>) -> f64,
) -> Relief {
    let without = |given: &[&GivenUp]| {
        let kept = notes.iter().filter(|n| {
            let out = given.iter().any(|g| begins(n, &g.stretch));
            !out
        });
        let kept: Vec<DraftNote> = kept.copied().collect();
        let timed = timed(&kept, sheet.tempo);
        let load = part_load(of, &timed, sheet.conditions).ok().flatten();
        lacks(&After {
            part: of,
            notes: &kept,
            timed,
            load,
            bars,
            conditions: sheet.conditions,
        })
    };
    let rests = can.iter().filter(|c| c.takers.is_empty());
    let hands = can.iter().filter(|c| !c.takers.is_empty());
    let mut open: Vec<&GivenUp> = rests.chain(hands).collect();
    let mut given: Vec<&GivenUp> = Vec::new();
    let mut lack = without(&[]);
    while lack > 0.0 && given.len() < MOST {
        let mut best: Option<(f64, usize)> = None;
        for (index, one) in open.iter().enumerate() {
            let more: Vec<&GivenUp> = given.iter().copied().chain([*one]).collect();
            let left = without(&more);
            if left < best.map_or(lack, |b| b.0) {
                best = Some((left, index));
            }
            if left <= 0.0 {
                break;
            }
        }
        let Some((left, index)) = best else {
            break;
        };
        given.push(open.remove(index));
        lack = left;
    }
    let enough = !given.is_empty() && lack <= 0.0;
    let mut given_up: Vec<GivenUp> = given.into_iter().cloned().collect();
    given_up.sort_by_key(|g| g.stretch.start);
    Relief { given_up, enough }
}

fn begins(note: &DraftNote, stretch: &Stretch) -> bool {
    stretch.start <= note.onset && note.onset < stretch.end
}

/// Stretches near a place in which a part could rest or be relieved, the nearest first, those before the place
/// first. `resting` says of each part of the band in which stretches it rests.
pub(super) fn candidates(
    sheet: &LoadSheet<'_>,
    resting: &[Vec<bool>],
    wanted: &Wanted,
) -> Vec<GivenUp> {
    let here = sheet.stretches.partition_point(|s| s.start <= wanted.at);
    let count = if wanted.later == Later::Too { NEAR } else { 0 };
    let near = (0..here).rev().take(NEAR);
    let near = near.chain((here..sheet.stretches.len()).take(count));
    let mut found = Vec::new();
    for (at, stretch) in near.filter_map(|at| Some((at, sheet.stretches.get(at)?))) {
        let own: Vec<&DraftNote> = {
            let notes = sheet.notes(wanted.part).iter();
            notes.filter(|n| begins(n, stretch)).collect()
        };
        if own.is_empty() || own.iter().any(|n| n.locked) {
            continue;
        }
        let fills = |n: &&DraftNote| matches!(n.role, Role::Harmony | Role::Figure);
        let takers = if own.iter().all(fills) {
            Vec::new()
        } else {
            let rests = |id: PartId| resting.get(id.0).and_then(|r| r.get(at)) == Some(&true);
            let takers = takers(sheet, wanted.part, &own, &rests);
            if takers.is_empty() {
                continue;
            }
            takers
        };
        found.push(GivenUp {
            stretch: *stretch,
            takers,
        });
    }
    found
}

/// Parts that rest and can be relied on for notes in some octave, those whose players are strongest first.
fn takers(
    sheet: &LoadSheet<'_>,
    part: PartId,
    notes: &[&DraftNote],
    rests: &dyn Fn(PartId) -> bool,
) -> Vec<PartId> {
    let ids = sheet.band.ids().filter(|(id, _)| *id != part && rests(*id));
    let mut can: Vec<_> = ids
        .filter(|(_, p)| p.instrument.playing.breath.is_some())
        .filter_map(|(id, p)| {
            let octaves = suits(p, notes)?;
            Some((octaves.abs(), Reverse(p.players.weakest()), id))
        })
        .collect();
    can.sort();
    can.into_iter().take(TAKERS).map(|c| c.2).collect()
}

impl Relief {
    /// `Rest it in bars 9-12, where it only fills, and hand bars 37-40 to Alto Sax 1 or Clarinet 2`; `None` where
    /// there is nothing to give up.
    pub(super) fn in_words(&self, band: &Band) -> Option<String> {
        let bars = |s: &Stretch| {
            if s.first_bar == s.last_bar {
                format!("bar {}", s.first_bar)
            } else {
                format!("bars {}-{}", s.first_bar, s.last_bar)
            }
        };
        let rests: Vec<String> = {
            let of = self.given_up.iter().filter(|g| g.takers.is_empty());
            of.map(|g| bars(&g.stretch)).collect()
        };
        let rests: Vec<&str> = rests.iter().map(String::as_str).collect();
        let rests = match rests.as_slice() {
            [] => None,
            all => Some(format!(
                "rest it in {}, where it only fills the chord",
                listed(all)
            )),
        };
        let hand = |g: &GivenUp| {
            let names = g.takers.iter().map(|p| band.part(*p).name.as_str());
            let names: Vec<&str> = names.collect();
            format!("hand {} to {}", bars(&g.stretch), names.join(" or "))
        };
        let hands = self.given_up.iter().filter(|g| !g.takers.is_empty());
        let all: Vec<String> = rests.into_iter().chain(hands.map(hand)).collect();
        let all: Vec<&str> = all.iter().map(String::as_str).collect();
        let text = listed(&all);
        let mut letters = text.chars();
        let first = letters.next()?.to_uppercase();
        let much = if self.enough {
            "that is enough"
        } else {
            "that helps, and is not enough alone"
        };
        Some(format!("{first}{}: {much}.", letters.as_str()))
    }
}
