//! Why a part plays what it plays, and what costs most, as JSON.

use super::rounded::thousandths;
use crate::band::Band;
use crate::music::Sounding;
use crate::voicing::explain::dearest::Dearest;
use crate::voicing::explain::{Explanation, NoteCost, RuledOut, RunnerUp};
use serde::Serialize;

/// Why a part does what it does at a place.
#[derive(Serialize, Debug)]
pub struct NoteWhyJson<'a> {
    part: &'a str,
    start: u64,
    end: u64,
    pitch: Option<u8>,
    role: &'static str,
    locked: bool,
    reasons: &'a [String],
    total: f64,
    costs: Vec<CostJson<'a>>,
    runners_up: Vec<RunnerUpJson>,
    ruled_out: Vec<RuledOutJson<'a>>,
}

#[derive(Serialize, Debug)]
struct CostJson<'a> {
    term: &'static str,
    place: &'static str,
    points: f64,
    text: &'a str,
}

#[derive(Serialize, Debug)]
struct RunnerUpJson {
    pitch: Option<u8>,
    octave: Option<i16>,
    cost_more: f64,
    moves_others: bool,
    terms: Vec<TermJson>,
}

#[derive(Serialize, Debug)]
struct TermJson {
    term: &'static str,
    points: f64,
}

#[derive(Serialize, Debug)]
struct RuledOutJson<'a> {
    by: &'static str,
    pitches: Vec<u8>,
    text: &'a str,
}

/// One of the things that cost most.
#[derive(Serialize, Debug)]
pub struct DearestJson<'a> {
    term: &'static str,
    bars: Vec<[u32; 2]>,
    parts: Vec<&'a str>,
    points: f64,
    share: f64,
    reason: &'a str,
    remedy: &'static str,
}

impl<'a> NoteWhyJson<'a> {
    /// An explanation as JSON.
    #[must_use]
    pub fn of(band: &'a Band, why: &'a Explanation) -> Self {
        Self {
            part: &band.part(why.part).name,
            start: why.start.0,
            end: why.end.0,
            pitch: why.sounds.map(Sounding::midi),
            role: why.role.word(),
            locked: why.locked,
            reasons: &why.reasons,
            total: thousandths(why.total),
            costs: why.costs.iter().map(cost).collect(),
            runners_up: why.runners_up.iter().map(runner_up).collect(),
            ruled_out: why.ruled_out.iter().map(ruled_out).collect(),
        }
    }
}

fn cost(cost: &NoteCost) -> CostJson<'_> {
    CostJson {
        term: cost.term,
        place: cost.place.word(),
        points: thousandths(cost.points),
        text: &cost.text,
    }
}

fn runner_up(other: &RunnerUp) -> RunnerUpJson {
    let term = |(term, points): &(&'static str, f64)| TermJson {
        term,
        points: thousandths(*points),
    };
    RunnerUpJson {
        pitch: other.sounds.map(Sounding::midi),
        octave: other.octave,
        cost_more: thousandths(other.cost_more),
        moves_others: other.moves_others,
        terms: other.terms.iter().map(term).collect(),
    }
}

fn ruled_out(out: &RuledOut) -> RuledOutJson<'_> {
    RuledOutJson {
        by: out.by.word(),
        pitches: out.notes.iter().map(|p| p.midi()).collect(),
        text: &out.text,
    }
}

impl<'a> DearestJson<'a> {
    /// One of the things that cost most as JSON.
    #[must_use]
    pub fn of(band: &'a Band, dear: &'a Dearest) -> Self {
        Self {
            term: dear.term.facts().name,
            bars: dear.bars.iter().map(|(a, b)| [a.0, b.0]).collect(),
            parts: dear
                .parts
                .iter()
                .map(|p| band.part(*p).name.as_str())
                .collect(),
            points: thousandths(dear.points),
            share: thousandths(dear.share),
            reason: &dear.reason,
            remedy: dear.remedy,
        }
    }
}
