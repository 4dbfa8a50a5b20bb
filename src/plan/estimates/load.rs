//! How tired a passage makes the lips of a part, in closed form.

use super::octave::{CHORDS, PLACES, line_of, place};
use super::stretch::Stretch;
use crate::band::load::{Conditions, Muscle, TimedNote, effort, muscle_of, shortest_rest};
use crate::band::{Band, Level, Part, TableError};
use crate::music::{Dynamic, Sounding};
use crate::plan::solve::{PartRole, Setting};
use std::collections::BTreeMap;

/// What a passage does to the weakest lips of a part in a role.
///
/// While every effort is met, being tired is a leaky integrator (`band::load`), so that a whole passage
/// is one straight line from tired before to tired after, and so is the reserve in each note. Where an
/// effort is not met the reserve is under 0, and tired comes out a little high.
#[derive(Clone, PartialEq, Debug)]
pub struct LoadStep {
    keep: f64,
    add: f64,
    /// Reserve in a note for tired before: the first less the second times it. Only those that can be least.
    reserves: Vec<(f64, f64)>,
    /// Seconds of sound.
    pub seconds: f64,
    /// The greatest effort, 0 to 1; 0 where no lips are at work.
    pub effort: f64,
}

impl LoadStep {
    /// A stretch in which nothing happens.
    #[must_use]
    pub const fn none() -> Self {
        Self {
            keep: 1.0,
            add: 0.0,
            reserves: Vec::new(),
            seconds: 0.0,
            effort: 0.0,
        }
    }

    /// Tired after the passage from tired before it, both 0 to 1 (MF of the load model).
    #[must_use]
    pub fn after(&self, before: f64) -> f64 {
        (self.add + self.keep * before).clamp(0.0, 1.0)
    }

    /// The least reserve in the passage, `1 - tired - effort`; under 0 a note cannot be held. 1 where
    /// nothing is played.
    #[must_use]
    pub fn least_reserve(&self, before: f64) -> f64 {
        let each = self
            .reserves
            .iter()
            .map(|(at_rest, slope)| at_rest - slope * before);
        each.fold(1.0, f64::min)
    }

    fn go(&mut self, muscle: &Muscle, effort: f64, seconds: f64) {
        let from_rest = muscle.after(0.0, effort, seconds);
        let keeps = muscle.after(1.0, effort, seconds) - from_rest;
        self.add = from_rest + keeps * self.add;
        self.keep *= keeps;
    }

    /// Plays a note. The reserve is least at one of its ends.
    fn play(&mut self, muscle: &Muscle, effort: f64, seconds: f64) {
        if effort > 0.0 {
            self.reserve(effort);
        }
        self.go(muscle, effort, seconds);
        if effort > 0.0 {
            self.reserve(effort);
        }
        self.seconds += seconds;
        self.effort = self.effort.max(effort);
    }

    fn reserve(&mut self, effort: f64) {
        let new = (1.0 - effort - self.add, self.keep);
        let under = |a: &(f64, f64), b: &(f64, f64)| a.0 <= b.0 && a.0 - a.1 <= b.0 - b.1;
        if self.reserves.iter().any(|old| under(old, &new)) {
            return;
        }
        self.reserves.retain(|old| !under(&new, old));
        self.reserves.push(new);
    }
}

/// The load of a part in a passage, in every role.
#[derive(Clone, PartialEq, Debug)]
pub struct PartLoads {
    steps: [LoadStep; PLACES],
    rest: LoadStep,
}

impl PartLoads {
    /// What the passage does in a role.
    #[must_use]
    pub fn step(&self, role: PartRole) -> &LoadStep {
        place(role).map_or(&self.rest, |place| &self.steps[place])
    }

    fn none() -> Self {
        Self {
            steps: std::array::from_fn(|_| LoadStep::none()),
            rest: LoadStep::none(),
        }
    }
}

/// The load of every part in every passage: by passages, then parts. Where no lips are at work a part never
/// tires.
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn load_steps(
    setting: &Setting<'_>,
    conditions: Conditions,
) -> Result<Vec<Vec<PartLoads>>, TableError> {
    let stretches = Stretch::all(setting);
    let mut by_part: Vec<Vec<PartLoads>> = Vec::new();
    for part in &setting.band.parts {
        by_part.push(of_part(part, &stretches, conditions)?);
    }
    Ok(by_passage(setting.band, by_part, stretches.len()))
}

fn by_passage(band: &Band, by_part: Vec<Vec<PartLoads>>, passages: usize) -> Vec<Vec<PartLoads>> {
    let mut all: Vec<Vec<PartLoads>> = Vec::new();
    all.resize_with(passages, || Vec::with_capacity(band.parts.len()));
    for loads in by_part {
        for (passage, load) in all.iter_mut().zip(loads) {
            passage.push(load);
        }
    }
    all
}

fn of_part(
    part: &Part,
    stretches: &[Stretch],
    conditions: Conditions,
) -> Result<Vec<PartLoads>, TableError> {
    let Some(level) = part.players.weakest() else {
        return Ok(vec![PartLoads::none(); stretches.len()]);
    };
    let mut lips = Lips {
        part,
        level,
        conditions,
        muscle: muscle_of(level)?,
        shortest: shortest_rest()?,
        efforts: BTreeMap::new(),
    };
    if lips.effort(part.limits.comfortable.low, Dynamic::Mf)? <= 0.0 {
        return Ok(vec![PartLoads::none(); stretches.len()]);
    }
    stretches.iter().map(|s| lips.loads(s)).collect()
}

/// The weakest lips of a part.
struct Lips<'a> {
    part: &'a Part,
    level: Level,
    conditions: Conditions,
    muscle: Muscle,
    /// Shorter gaps count as load, seconds.
    shortest: f64,
    efforts: BTreeMap<(Sounding, Dynamic), f64>,
}

impl Lips<'_> {
    fn effort(&mut self, pitch: Sounding, dynamic: Dynamic) -> Result<f64, TableError> {
        if let Some(known) = self.efforts.get(&(pitch, dynamic)) {
            return Ok(*known);
        }
        let instrument = &self.part.instrument;
        let written = instrument.transposition.written(pitch);
        let found = effort(instrument, self.level, written, dynamic, self.conditions)?;
        let found = found.unwrap_or(0.0);
        self.efforts.insert((pitch, dynamic), found);
        Ok(found)
    }

    fn loads(&mut self, stretch: &Stretch) -> Result<PartLoads, TableError> {
        let mut loads = PartLoads::none();
        // Wishes that end at the same octave tire alike.
        let mut known: BTreeMap<(usize, i16), LoadStep> = BTreeMap::new();
        for (place, step) in loads.steps.iter_mut().enumerate().take(CHORDS) {
            let (line, wish) = line_of(place);
            let moved = stretch.line(line, &self.part.limits, wish);
            let at = (line, moved.octave);
            if let Some(same) = known.get(&at) {
                *step = same.clone();
                continue;
            }
            *step = self.step(stretch, &moved.notes)?;
            known.insert(at, step.clone());
        }
        loads.steps[CHORDS] = self.step(stretch, &stretch.harmony(&self.part.limits))?;
        loads.rest = self.step(stretch, &[])?;
        Ok(loads)
    }

    fn step(&mut self, stretch: &Stretch, notes: &[TimedNote]) -> Result<LoadStep, TableError> {
        let mut step = LoadStep::none();
        let (mut end, mut kept) = (stretch.from, 0.0);
        for note in notes {
            let effort = self.effort(note.pitch, note.dynamic)?;
            self.wait(&mut step, kept, note.from - end);
            let to = note.to.max(end);
            step.play(&self.muscle, effort, to - note.from.max(end));
            (end, kept) = (to, effort);
        }
        self.wait(&mut step, kept, stretch.to - end);
        Ok(step)
    }

    /// Goes through a gap: a short one counts as load, at the effort of the note before.
    fn wait(&self, step: &mut LoadStep, kept: f64, gap: f64) {
        let held = if gap < self.shortest { kept } else { 0.0 };
        step.go(&self.muscle, held, gap.max(0.0));
    }
}
