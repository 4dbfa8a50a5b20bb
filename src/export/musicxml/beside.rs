//! What notes have to them beside what is written: breaths behind them, and remarks on them.

use super::ScoreInput;
use super::parts::{Owner, Stave};
use crate::review::BreathKind;
use std::collections::{BTreeMap, BTreeSet};

/// What the notes of a stave have to them, by their places in it.
pub(super) struct Beside<'a> {
    /// Notes behind which all players breathe.
    pub(super) breaths: BTreeSet<usize>,
    /// Notes to be remarked on.
    pub(super) remarks: BTreeMap<usize, &'a str>,
}

impl<'a> Beside<'a> {
    pub(super) fn of(input: &ScoreInput<'a>, owner: Owner, stave: &Stave) -> Self {
        Self {
            breaths: breaths(input, owner, stave),
            remarks: remarks(input, owner, stave),
        }
    }
}

/// Notes behind which all players of a part breathe: the last to begin before each breath.
fn breaths(input: &ScoreInput<'_>, owner: Owner, stave: &Stave) -> BTreeSet<usize> {
    let own = input
        .breaths
        .iter()
        .filter(|b| Owner::Part(b.part) == owner);
    let between = own.filter(|b| matches!(b.kind, BreathKind::Between(_)));
    let before = between.filter_map(|b| {
        let next = stave.inputs.partition_point(|n| n.onset < b.at);
        next.checked_sub(1)
    });
    before.collect()
}

/// Notes that carry the tune otherwise than the sketch has it, with the reason; in the sketch, those that are
/// carried so.
fn remarks<'a>(input: &ScoreInput<'a>, owner: Owner, stave: &Stave) -> BTreeMap<usize, &'a str> {
    let mut remarks = BTreeMap::new();
    if input.plain {
        return remarks;
    }
    for change in &input.draft.melody_changes {
        let pitch = match owner {
            Owner::Part(id) => {
                let own = change.parts.iter().find(|(part, _)| *part == id);
                own.map(|(_, pitch)| *pitch)
            }
            Owner::Sketch => Some(change.sketch),
            Owner::Drums(_) => None,
        };
        let from = stave.inputs.partition_point(|n| n.onset < change.onset);
        let here = stave.inputs.iter().enumerate().skip(from);
        let mut here = here.take_while(|(_, n)| n.onset == change.onset);
        if let Some((at, _)) = here.find(|(_, n)| Some(n.pitch) == pitch) {
            remarks.insert(at, change.reason.as_str());
        }
    }
    remarks
}
