//! What the arranger gives besides the sketch.

use crate::band::PartId;
use crate::band::load::Conditions;
use crate::music::{BarBeat, BarNumber, MeterMap, Tick};
use crate::plan::timeline::AnyTimeline;
use crate::plan::{Lines, PlanWeights};
use crate::score::{Draft, TuneRules};
use crate::sketch::{Line, Song, Tags, Warning};
use crate::voicing::{Stay, Weights};
use std::collections::BTreeMap;

/// What the arranger gives besides the sketch.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Given<'a> {
    /// A song whose tracks named like parts are locked; where it and the sketch's own passages
    /// lock the same bar, it holds.
    pub locks: Option<&'a Song>,
    /// What the arranger says of the sketch's lines.
    pub tags: Tags,
    /// Under what conditions the show is played.
    pub conditions: Conditions,
    /// Where the tune stays as written, and where a note of it may change.
    pub tune: TuneRules,
    /// Where notes of the tune begin that the arranger wants back as they were.
    pub restore: Vec<BarBeat>,
    /// Threads at the most, if not the usual number; the answer is the same with any.
    pub threads: Option<usize>,
    /// Bars to be solved by themselves too, and whether their network is wanted.
    pub excerpt: Option<((BarNumber, BarNumber), bool)>,
    /// The line of every note of the sketch, where it was read before in another key.
    pub lines: &'a [Line],
    /// What every term of the chords weighs.
    pub weights: Weights,
    /// How much each term of the plan counts.
    pub plan_weights: PlanWeights,
    /// Ways of scoring that the arranger takes: first and last bar of a passage to the number of the way.
    pub taken: BTreeMap<(u32, u32), usize>,
    /// How intense the show is wanted, instead of how the sketch was played.
    pub timeline: Option<AnyTimeline>,
    /// A draft of which some is to be solved again, instead of voicing all anew.
    pub again: Option<DraftAgain<'a>>,
}

/// A draft as it was before some of it is solved again.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum DraftBefore<'a> {
    /// A song with tracks named like the parts: what each note is for is found.
    Song(&'a Song),
    /// A draft.
    Draft(&'a Draft),
}

/// A draft of which some is to be solved again.
#[derive(Clone, PartialEq, Debug)]
pub struct DraftAgain<'a> {
    /// The draft.
    pub draft: DraftBefore<'a>,
    /// The bars that may change.
    pub bars: Vec<(BarNumber, BarNumber)>,
    /// The parts that may change; all of them where none is named.
    pub parts: Vec<PartId>,
    /// What staying as drafted is worth.
    pub stay: Stay,
}

/// What came of solving some of a draft again.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct AgainTold {
    /// What the draft before cost in the same bars, where it is still allowed.
    pub before: Option<f64>,
    /// Notes that were not in the draft before.
    pub moved: usize,
}

/// So far from a note of the tune, in beats, it is still meant: places are told in thousandths.
const NEAR: f64 = 0.002;

/// The rules for the tune, and what of them means no note.
#[must_use]
pub fn tune_rules(
    given: &Given<'_>,
    lines: &Lines,
    meters: &MeterMap,
) -> (TuneRules, Vec<Warning>) {
    let mut rules = given.tune.clone();
    let mut unknown = Vec::new();
    for place in &given.restore {
        let is_here = |at: Tick| {
            let here = meters.place(at);
            here.bar == place.bar && (here.beat - place.beat).abs() < NEAR
        };
        let onsets = lines.melody.notes.iter().map(|n| n.onset);
        match onsets.into_iter().find(|at| is_here(*at)) {
            Some(at) => {
                rules.restored.insert(at);
            }
            None => unknown.push(Warning::music(format!(
                "no note of the tune begins at {place}, so that none is given back there"
            ))),
        }
    }
    (rules, unknown)
}
