//! What a part could do in a step.

use super::note_cost::Place;
use super::part_notes::PartNotes;
use super::steps::Step;
use super::terms::{Milli, Weights};
use crate::music::Sounding;

/// At most so many notes are tried for one part in one step, by the size of its choir: the
/// cheapest by themselves.
const MOST_NOTES: [usize; 5] = [24, 24, 10, 8, 6];

/// One thing that a part could do in a step.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Choice {
    /// What it sounds at the start of the step; `None`: it rests.
    pub sounds: Option<Sounding>,
    /// The first note that it strikes or holds in the step.
    pub enter: Option<Sounding>,
    /// The last note that it has played when the step ends, if that still matters.
    pub leave: Option<Sounding>,
    /// Whether `leave` is from a fixed note or one that stays as drafted, or nothing was played yet.
    pub anchored: bool,
    /// Whether the step is not the harmony's to fill: a lock, a line, or a rest of the plan.
    pub fixed: bool,
}

impl Choice {
    /// What a draft before has and what stays as it is: a note held or struck, or a rest.
    pub(super) fn held(sounds: Option<Sounding>) -> Self {
        Self {
            anchored: sounds.is_some(),
            ..sounds.map_or_else(Self::default, Self::note)
        }
    }

    fn note(pitch: Sounding) -> Self {
        Self {
            sounds: Some(pitch),
            enter: Some(pitch),
            leave: Some(pitch),
            anchored: false,
            fixed: false,
        }
    }
}

/// What the other lines do around a step.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Around {
    /// The sketch's tune.
    pub tune: Option<Sounding>,
    /// The sketch's bass.
    pub bass: Option<Sounding>,
    /// The highest carrier of the tune.
    pub top: Option<Sounding>,
    /// The lowest carrier of the bass.
    pub floor: Option<Sounding>,
}

/// What a part could do in a step whose notes it has already.
#[must_use]
pub fn fixed_choice(has: &PartNotes, step: &Step) -> Choice {
    let sounds = has.sounding(step.start).map(|n| n.pitch);
    let first = has
        .first_from(step.start)
        .filter(|n| n.onset < step.end)
        .map(|n| n.pitch);
    let last = has
        .last_before(step.end)
        .filter(|n| n.end() > step.start)
        .map(|n| n.pitch);
    Choice {
        sounds,
        enter: sounds.or(first),
        leave: last.or(sounds),
        anchored: true,
        fixed: true,
    }
}

/// What a harmony part could do in a step: its cheapest notes, lowest first, then the rest. `keep`
/// is tried in any case, if the part may play it.
#[must_use]
pub fn harmony_choices(
    place: &Place<'_>,
    weights: &Weights,
    choir: usize,
    keep: Option<Sounding>,
) -> Vec<Choice> {
    let range = place.part.limits.range;
    let pitches = (range.low.midi()..=range.high.midi()).filter_map(Sounding::new);
    let mut notes: Vec<(bool, Milli, Sounding)> = pitches
        .filter(|p| place.step.tones.contains(p.class()))
        .filter_map(|p| Some((Some(p) != keep, place.note_cost(p, weights)?, p)))
        .collect();
    notes.sort();
    notes.truncate(MOST_NOTES[choir.min(4)]);
    notes.sort_by_key(|(_, _, p)| *p);
    notes
        .into_iter()
        .map(|(_, _, p)| Choice::note(p))
        .chain([Choice::default()])
        .collect()
}

/// At most so many notes are remembered over a rest besides the last fixed one, by the size of the
/// choir.
const MOST_MEMORIES: [usize; 5] = [8, 8, 8, 6, 3];

/// Rests that remember the last note: needed where the director gave a greatest leap, which a
/// rest does not lift. The last fixed note is never forgotten, so that resting on is always
/// possible; of the others the most recent are kept.
#[must_use]
pub fn with_memory(choices: Vec<Choice>, before: &[Choice], choir: usize) -> Vec<Choice> {
    let memory = |c: &Choice| (c.leave, c.anchored);
    let recent = before.iter().filter(|c| c.enter.is_some());
    let older = before.iter().filter(|c| c.enter.is_none());
    let mut memories: Vec<(Option<Sounding>, bool)> = Vec::new();
    for memory in recent.chain(older).map(memory) {
        let others = memories.iter().filter(|m| !m.1).count();
        let room = memory.1 || others < MOST_MEMORIES[choir.min(4)];
        if room && !memories.contains(&memory) {
            memories.push(memory);
        }
    }
    let mut all = Vec::with_capacity(choices.len() + memories.len());
    for choice in choices {
        if choice.enter.is_some() {
            all.push(choice);
        } else {
            let rest = |&(leave, anchored): &_| Choice {
                leave,
                anchored,
                ..choice
            };
            all.extend(memories.iter().map(rest));
        }
    }
    all
}
