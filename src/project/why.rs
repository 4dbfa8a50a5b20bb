//! Why a note is there, ready to be read by people.

use super::made_ready::keys_found;
use super::standing::Standing;
use crate::band::{Chance, PartId};
use crate::music::{Interval, Sounding, Tick};
use crate::plan::{RestReason, why_passage, why_rests};
use crate::review::Frame;
use crate::review::clean::chance_of_note;
use crate::voicing::explain::{Explainer, Explanation, NoteCost, Place, RunnerUp};
use crate::voicing::how_loud;

/// So many terms of a difference are named.
const MOST_TERMS: usize = 3;
/// What alone leaves a note this clean is not worth telling.
const HARD: f64 = 0.97;

/// Something else that a part could do, ready to be read.
#[derive(Clone, PartialEq, Debug)]
pub struct Other {
    /// What it is: a written note, an octave of the sketch, or `rest`.
    pub name: String,
    /// What it would cost more, in points.
    pub more: f64,
    /// What makes the difference.
    pub why: String,
    /// The note as it sounds; none for a rest.
    pub sounds: Option<Sounding>,
    /// Octaves from the sketch's line, where the choice is between octaves.
    pub octave: Option<i16>,
}

/// Why a note is there.
#[derive(Clone, PartialEq, Debug)]
pub struct Why {
    /// The part.
    pub part: PartId,
    /// Where what is explained begins.
    pub start: Tick,
    /// Where it ends.
    pub end: Tick,
    /// What sounds; none for a rest.
    pub sounds: Option<Sounding>,
    /// The note in words: `written F4, sounds Eb4 (harmony)`.
    pub note: String,
    /// Whether the arranger fixed it.
    pub locked: bool,
    /// How likely the note comes out clean; none for a rest.
    pub clean: Option<f64>,
    /// What makes it hard, the hardest first.
    pub hard: Vec<String>,
    /// Reasons, a sentence each.
    pub reasons: Vec<String>,
    /// What it costs: what for, and points.
    pub costs: Vec<(String, f64)>,
    /// What it costs together.
    pub total: f64,
    /// What else it could be, the cheapest first.
    pub others: Vec<Other>,
    /// What was ruled out, a sentence each.
    pub ruled_out: Vec<String>,
    /// Why the passage is scored as it is, a sentence each.
    pub passage: Vec<String>,
}

/// An octave of a line against the sketch's.
#[must_use]
pub fn octave_in_words(octave: i16) -> String {
    match octave {
        0 => "in the sketch's octave".to_owned(),
        1 => "an octave above the sketch".to_owned(),
        -1 => "an octave below the sketch".to_owned(),
        n if n > 0 => format!("{n} octaves above the sketch"),
        n => format!("{} octaves below the sketch", -n),
    }
}

impl Standing {
    /// Why a part does what it does at a tick, of several notes struck at once with that of a pitch; `None` for a
    /// part that the band does not have.
    #[must_use]
    pub fn why(&self, part: PartId, at: Tick, pitch: Option<Sounding>) -> Option<Why> {
        let band = &self.look().document.band;
        band.parts.get(part.0)?;
        let problem = self.problem();
        let lines = self.voiced().lines.clone();
        let played = crate::voicing::Problem {
            lines: &lines,
            ..problem
        };
        let mut explainer = Explainer::new(&played, &self.kept().costs, self.voiced());
        let found = explainer.explain_note(part, at, pitch);
        let planned = self.look().plan.passage(at);
        // Octaves from the sketch's line, where the note is one of a line.
        let line = played.lines.of_role(found.role);
        let sketch = line.and_then(|l| l.at(found.start)).map(|n| n.pitch);
        let octave = sketch
            .zip(found.sounds)
            .map_or(0, |(from, to)| from.to(to).0 / 12);
        let chance = found.sounds.and_then(|p| self.chance(part, found.start, p));
        let mut reasons = found.reasons.clone();
        if found.sounds.is_none() {
            let rests = planned.and_then(|p| why_rests(p, part));
            reasons.extend(rests.map(RestReason::text));
            reasons.dedup();
        }
        let loud = self.look().ready.timeline.as_ref().and_then(|timeline| {
            let note = (found.start, found.sounds);
            how_loud(&played, timeline, &self.look().document.draft, part, note)
        });
        reasons.extend(loud);
        Some(Why {
            part,
            start: found.start,
            end: found.end,
            sounds: found.sounds,
            note: note(&explainer, &found),
            locked: found.locked,
            clean: chance.as_ref().map(|c| c.value),
            hard: chance.map_or_else(Vec::new, |c| {
                let hard = c.causes.into_iter().filter(|cause| cause.alone() < HARD);
                hard.take(MOST_TERMS).map(|cause| cause.text).collect()
            }),
            costs: found.costs.iter().map(cost).collect(),
            total: found.total,
            others: found
                .runners_up
                .iter()
                .map(|r| other(&explainer, &found, r, octave))
                .collect(),
            ruled_out: found.ruled_out.iter().map(|r| r.text.clone()).collect(),
            passage: planned.map_or_else(Vec::new, |p| why_passage(band, p).text),
            reasons,
        })
    }
}

impl Standing {
    /// How likely a part's note of a pitch at a tick comes out clean.
    fn chance(&self, part: PartId, at: Tick, pitch: Sounding) -> Option<Chance> {
        let (look, document) = (self.look(), &self.look().document);
        let about = document.band.parts.get(part.0)?;
        let notes = &document.draft.lines.get(part.0)?.notes;
        let mut here = (0..notes.len()).filter(|i| notes[*i].onset == at);
        let meant = here.clone().find(|i| notes[*i].pitch == pitch);
        let index = meant.or_else(|| here.next())?;
        let keys = keys_found(&look.ready.reading);
        let frame = Frame {
            tempo: &look.song.tempo,
            meters: &look.song.meters,
            keys: &keys,
        };
        chance_of_note(about, notes, index, &frame, document.conditions)
    }
}

fn note(explainer: &Explainer<'_>, found: &Explanation) -> String {
    let Some(pitch) = found.sounds else {
        return "rest".to_owned();
    };
    let written = explainer.written(found.part, pitch, found.start);
    let concert = explainer.concert(pitch, found.start);
    if written == concert {
        format!("{written}, {}", found.role)
    } else {
        format!("written {written}, sounds {concert}, {}", found.role)
    }
}

fn cost(cost: &NoteCost) -> (String, f64) {
    let place = match cost.place {
        Place::Note => "",
        Place::WayIn => "way in: ",
        Place::Choir => "share of the choir: ",
        Place::Band => "share of the band: ",
        Place::WayOut => "way out: ",
    };
    (format!("{place}{}", cost.text), cost.points)
}

fn other(explainer: &Explainer<'_>, found: &Explanation, other: &RunnerUp, octave: i16) -> Other {
    let name = match (other.sounds, other.octave) {
        (Some(pitch), None) => explainer.written(found.part, pitch, found.start),
        (_, Some(octave)) => octave_in_words(octave),
        (None, None) => "rest".to_owned(),
    };
    let terms = other.terms.iter().take(MOST_TERMS);
    let terms: Vec<String> = terms.map(|(t, p)| format!("{t} {p:+.1}")).collect();
    let mut why = terms.join(", ");
    if other.moves_others {
        why.push_str("; others move too");
    }
    if other.octave.is_some() {
        why.push_str("; the price is of the whole breath, a press moves this note");
    }
    // What is told of a breath is its first note; a press is about this one.
    let sounds = match (other.octave, found.sounds) {
        (Some(to), Some(now)) => now.up(Interval(12 * (to - octave))),
        _ => other.sounds,
    };
    Other {
        name,
        more: other.cost_more,
        why,
        sounds,
        octave: other.octave,
    }
}
