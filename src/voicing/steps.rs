//! Steps of the harmony: stretches in which the tones that may be played do not change.

use super::Problem;
use super::part_notes::PartNotes;
use crate::band::NotesPerSecond;
use crate::band::chance::Flow;
use crate::music::{Chord, ChordTone, Dynamic, PitchClass, PitchClassSet, Tick};
use crate::plan::Moment;
use crate::sketch::{Line, ReadNote, Slice};
use std::collections::BTreeSet;

/// A stretch in which harmony parts may play the same tones.
#[derive(Clone, PartialEq, Debug)]
pub struct Step {
    /// Where it begins.
    pub start: Tick,
    /// Where it ends.
    pub end: Tick,
    /// Pitch classes that may be played: they sound in the sketch all through the step.
    pub tones: PitchClassSet,
    /// Those of them that chords of the sketch strike at its start: a part that holds one strikes
    /// it again. Bass and figure strike only for their own carriers.
    pub struck: PitchClassSet,
    /// The chord.
    pub chord: Option<Chord>,
    /// The leading tone, where the chord is the dominant or the one on the leading tone.
    pub leading: Option<PitchClass>,
    /// Whether the chord stands on the tonic or the sixth degree.
    pub is_home: bool,
    /// Mean velocity of what the sketch sounds besides the tune.
    pub velocity: u8,
    /// Length in quarter notes.
    pub beats: f64,
    /// What makes its notes easy or hard, besides their pitch and where they come from.
    pub moment: Moment,
}

/// The steps of the sketch from one tick to another, without gaps; they are also cut at the given
/// ticks, of which these two are some where they lie inside the sketch.
#[must_use]
pub fn steps(problem: &Problem<'_>, cuts: &BTreeSet<Tick>, (from, to): (Tick, Tick)) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    let slices = &problem.reading.slices;
    let first = slices.partition_point(|s| s.end <= from);
    for slice in slices[first..].iter().take_while(|s| s.start < to) {
        let inside = |(start, end): &(Tick, Tick)| from <= *start && *end <= to;
        for (start, end) in pieces(slice, cuts).into_iter().filter(inside) {
            let step = step(problem, slice, start, end);
            match steps.last_mut() {
                Some(last) if continues(last, &step, cuts) => {
                    last.end = step.end;
                    last.beats += step.beats;
                    last.moment.flow.breath += step.moment.flow.breath;
                }
                _ => steps.push(step),
            }
        }
    }
    set_speeds(problem, &mut steps);
    steps
}

/// The steps of a sketch, cut at passages and where something is locked or closed.
#[must_use]
pub fn steps_around(problem: &Problem<'_>, has: &[PartNotes]) -> Vec<Step> {
    steps_within(problem, has, (Tick::ZERO, Tick(u64::MAX)))
}

/// The same from one tick to another, at which passages begin.
#[must_use]
pub fn steps_within(problem: &Problem<'_>, has: &[PartNotes], window: (Tick, Tick)) -> Vec<Step> {
    let passages = problem.plan.passages.iter().map(|p| p.passage.start);
    let locks = has.iter().flat_map(|h| &h.shut).flat_map(|(a, b)| [*a, *b]);
    let cuts: BTreeSet<Tick> = passages.chain(locks).collect();
    steps(problem, &cuts, window)
}

fn pieces(slice: &Slice, cuts: &BTreeSet<Tick>) -> Vec<(Tick, Tick)> {
    let inside = cuts
        .range(slice.start..slice.end)
        .copied()
        .filter(|c| *c > slice.start);
    let mut starts: Vec<Tick> = vec![slice.start];
    starts.extend(inside);
    let ends = starts
        .iter()
        .skip(1)
        .copied()
        .chain([slice.end])
        .collect::<Vec<_>>();
    starts.into_iter().zip(ends).collect()
}

fn continues(last: &Step, next: &Step, cuts: &BTreeSet<Tick>) -> bool {
    last.tones == next.tones
        && next.struck.is_empty()
        && last.end == next.start
        && !cuts.contains(&next.start)
}

fn step(problem: &Problem<'_>, slice: &Slice, start: Tick, end: Tick) -> Step {
    let chord = slice
        .chord
        .and_then(|c| problem.reading.chords.get(c))
        .map(|c| c.chord);
    let notes = || {
        slice
            .sounding
            .iter()
            .filter_map(|i| problem.reading.notes.get(*i))
    };
    let lends = |n: &&ReadNote| lends_its_tone(problem, n);
    let mut tones: PitchClassSet = notes().filter(lends).map(|n| n.pitch.class()).collect();
    if tones.len() < 3 {
        tones = tones.union(
            notes()
                .filter(|n| held_chord_tone(problem, n, chord))
                .map(|n| n.pitch.class())
                .collect(),
        );
    }
    let struck = notes()
        .filter(|n| n.onset == start && lends(n))
        .map(|n| n.pitch.class())
        .collect();
    let under: Vec<u32> = notes()
        .filter(|n| n.line != Line::Melody)
        .map(|n| u32::from(n.velocity))
        .collect();
    let velocity = under
        .iter()
        .sum::<u32>()
        .checked_div(under.len() as u32)
        .unwrap_or(64);
    let tonic = problem.reading.key(start).map(|k| k.signature.key().tonic);
    let degree = chord.zip(tonic).map(|(c, t)| t.up_to(c.root));
    Step {
        start,
        end,
        tones,
        struck,
        chord,
        leading: tonic
            .map(|t| t.up(-1))
            .filter(|l| matches!(degree, Some(7 | 11)) && tones.contains(*l)),
        is_home: matches!(degree, Some(0 | 8 | 9)),
        velocity: velocity.clamp(1, 127) as u8,
        beats: problem.quarter.beats(end.since(start)).0,
        moment: moment(problem, velocity.clamp(1, 127) as u8, start, end),
    }
}

/// A run of chords has a bar or so at one speed (ours).
const RUN_BEATS: f64 = 4.0;

/// How loud a step is, in which key, and how long; its speed comes with the step before.
fn moment(problem: &Problem<'_>, velocity: u8, start: Tick, end: Tick) -> Moment {
    Moment {
        dynamic: Dynamic::of_velocity(velocity),
        flow: Flow {
            near: true,
            speed: None,
            run_beats: RUN_BEATS,
            breath: problem.tempo.seconds(end) - problem.tempo.seconds(start),
        },
        key: problem.reading.key(start).map(|k| k.signature),
    }
}

/// Tells every step how fast it follows the one before.
fn set_speeds(problem: &Problem<'_>, steps: &mut [Step]) {
    let mut before = None;
    for step in steps {
        let now = problem.tempo.seconds(step.start);
        let gap = before.map(|b| now - b).filter(|g| *g > 0.0);
        step.moment.flow.speed = gap.map(|g| NotesPerSecond(1.0 / g));
        before = Some(now);
    }
}

/// Whether a note of the sketch may be doubled by harmony parts: notes of chords, and notes of
/// bass and figure that sound long enough to be held by winds. Very short ones would only be
/// chased.
fn lends_its_tone(problem: &Problem<'_>, note: &ReadNote) -> bool {
    let beats = problem
        .quarter
        .beats(note.sounds_until.max(note.end()).since(note.onset))
        .0;
    match note.line {
        Line::Melody => false,
        Line::Harmony | Line::Counterline => beats >= 0.4,
        Line::Bass | Line::Figure => beats >= 0.9,
    }
}

/// Where the accompaniment is thin, a held chord tone of the tune may be doubled too.
fn held_chord_tone(problem: &Problem<'_>, note: &ReadNote, chord: Option<Chord>) -> bool {
    let held = problem.quarter.beats(note.duration).0 >= 0.9;
    note.line == Line::Melody && held && chord.is_some_and(|c| c.tone(note.pitch.class()).is_some())
}

impl Step {
    /// How much its length makes what sounds in it count: its beats, a tenth at the least, two at
    /// the most.
    #[must_use]
    pub fn weight(&self) -> f64 {
        self.beats.clamp(0.1, 2.0)
    }

    /// What a pitch class is in its chord; `None` without a chord, and for foreign tones.
    #[must_use]
    pub fn tone(&self, class: PitchClass) -> Option<ChordTone> {
        self.chord.and_then(|c| c.tone(class))
    }
}
