//! Timpani: roots and fifths of the bass, on the beat, in strong passages, on drums that are tuned once for as
//! long as they play (common practice, no source).

use super::habits::Strength;
use super::line::{LineNote, Lines};
use super::solve::PassagePlan;
use crate::band::playing::{Drum, set_of, tuning};
use crate::band::{Band, Level, Part, shared_players};
use crate::music::{MeterMap, PitchClass, Sounding, Tick, Written};
use crate::score::Role;
use crate::sketch::Reading;
use std::collections::BTreeMap;

/// The id of the instrument.
const TIMPANI: &str = "timpani";
/// Drums play only where they have a stroke every so many bars at the least (ours).
const BARS_A_STROKE: usize = 2;

/// How many drums the weakest player of a part manages (the table of ranges is of the same sizes).
const fn drums_of(level: Level) -> u8 {
    match level {
        Level::FirstYear | Level::SecondYear => 2,
        Level::Intermediate => 3,
        Level::Advanced | Level::AllState => 4,
    }
}

/// The music that drums go with.
#[derive(Clone, Copy, Debug)]
pub struct DrumMusic<'a> {
    /// What is played of the sketch.
    pub reading: &'a Reading,
    /// Its lines.
    pub lines: &'a Lines,
    /// Meters and bars.
    pub meters: &'a MeterMap,
}

/// Drums tuned for a stretch, and what they strike in it.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Drums {
    /// The notes that the drums are tuned to, lowest first.
    pub tuned: Vec<Sounding>,
    /// Strokes with the bass, at the drums' pitch.
    pub strokes: Vec<LineNote>,
}

impl Drums {
    /// The tuning that has most strokes in a stretch, the lower of equals, for the weakest player of a part.
    /// No strokes for parts that are no timpani.
    #[must_use]
    pub fn of(music: &DrumMusic<'_>, part: &Part, start: Tick, end: Tick) -> Self {
        let level = part.players.weakest().unwrap_or(Level::FirstYear);
        // The built-in table reads; a test shows it.
        let set = set_of(drums_of(level)).unwrap_or_default();
        if part.instrument.id != TIMPANI || set.is_empty() {
            return Self::default();
        }
        let line = &music.lines.bass;
        let notes = &line.notes[line.within(start, end)];
        let notes: Vec<&LineNote> = notes.iter().filter(|n| music.may_strike(n)).collect();
        let mut wanted: BTreeMap<PitchClass, usize> = BTreeMap::new();
        for note in &notes {
            *wanted.entry(note.pitch.class()).or_default() += 1;
        }
        let tuned = best_tuning(part, &set, &wanted);
        let strike = |n: &&LineNote| {
            let pitch = tuned.iter().find(|p| p.class() == n.pitch.class())?;
            Some(LineNote {
                pitch: *pitch,
                ..**n
            })
        };
        Self {
            strokes: notes.iter().filter_map(strike).collect(),
            tuned,
        }
    }
}

impl DrumMusic<'_> {
    /// Whether a note of the bass is on a beat, and root or fifth of its chord.
    fn may_strike(&self, note: &LineNote) -> bool {
        let chord = self.reading.chord(note.onset).map(|c| c.chord);
        let class = note.pitch.class();
        let in_chord = |c: crate::music::Chord| {
            let fifth = c.root.up(7);
            class == c.root || class == fifth && c.classes().contains(fifth)
        };
        let meters = self.meters;
        let beat = meters.meter(note.onset).beat(meters.quarter()).0.max(1);
        let bar = meters.bar_start(meters.bar(note.onset));
        chord.is_some_and(in_chord) && note.onset.since(bar).0.is_multiple_of(beat)
    }
}

/// Pitches that a set can have at once, one a class, with the most strokes; the lowest of equals.
fn best_tuning(part: &Part, set: &[Drum], wanted: &BTreeMap<PitchClass, usize>) -> Vec<Sounding> {
    let mut classes: Vec<(usize, PitchClass)> = wanted.iter().map(|(c, n)| (*n, *c)).collect();
    classes.sort_by_key(|(count, class)| (usize::MAX - count, class.number()));
    let written = |p: Sounding| part.instrument.transposition.written(p);
    let range = part.limits.range;
    let pitches = |class: PitchClass| -> Vec<Sounding> {
        let all = (range.low.midi()..=range.high.midi()).map(|m| Sounding::nearest(m.into()));
        all.filter(|p| p.class() == class && set.iter().any(|d| d.reaches(written(*p))))
            .collect()
    };
    // All choices of none or one pitch of each class that the drums can have.
    let mut best: (usize, Vec<Sounding>) = (0, Vec::new());
    let mut choices: Vec<(usize, Vec<Sounding>)> = vec![best.clone()];
    for (count, class) in classes {
        let mut more = Vec::new();
        for (strokes, chosen) in &choices {
            for pitch in pitches(class) {
                let mut with = chosen.clone();
                with.push(pitch);
                with.sort_unstable();
                let notes: Vec<Written> = with.iter().map(|p| written(*p)).collect();
                if tuning(set, &notes).is_some() {
                    more.push((strokes + count, with));
                }
            }
        }
        choices.extend(more);
    }
    for choice in choices {
        if choice.0 > best.0 || choice.0 == best.0 && choice.1 < best.1 {
            best = choice;
        }
    }
    best.1
}

/// The stretches in which a part plays the bass without a passage between.
#[must_use]
pub fn runs(passages: &[PassagePlan], part: usize) -> Vec<(Tick, Tick)> {
    let on = |p: &PassagePlan| p.roles.get(part).is_some_and(|r| r.role == Role::Bass);
    let all = passages.chunk_by(|a, b| on(a) == on(b));
    let ends = |run: &[PassagePlan]| {
        let (first, last) = run.first().zip(run.last())?;
        on(first).then_some((first.passage.start, last.passage.end))
    };
    all.filter_map(ends).collect()
}

/// Gives the bass to timpani in strong passages, where drums that are tuned once have enough to strike. Players
/// who also play another part stay with that.
pub(super) fn give_drums(band: &Band, music: &DrumMusic<'_>, passages: &mut [PassagePlan]) {
    let shared = shared_players(band);
    for (id, part) in band.ids().filter(|(_, p)| p.instrument.id == TIMPANI) {
        if shared.iter().any(|(a, b)| *a == id || *b == id) {
            continue;
        }
        let strong = |p: &PassagePlan| Strength::of(p.passage.intensity) >= Strength::Strong;
        for run in passages.chunk_by_mut(|a, b| strong(a) == strong(b)) {
            let Some((first, last)) = run.first().zip(run.last()) else {
                continue;
            };
            let bars = last.passage.last_bar.0.abs_diff(first.passage.first_bar.0) + 1;
            let drums = Drums::of(music, part, first.passage.start, last.passage.end);
            let plays = strong(first) && drums.strokes.len() * BARS_A_STROKE >= bars as usize;
            let role = if plays { Role::Bass } else { Role::Rest };
            for planned in run {
                if let Some(of) = planned.roles.get_mut(id.0) {
                    of.role = role;
                    of.octave = 0;
                }
            }
        }
    }
}
