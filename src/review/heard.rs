//! When the sketch sounds each pitch class, the chords of its figures included.

use crate::music::{PitchClassSet, Tick};
use crate::score::DraftNote;
use crate::sketch::Reading;

/// For each pitch class, the stretches in which it sounds, in order and joined.
pub(super) struct Heard(Vec<Vec<(Tick, Tick)>>);

impl Heard {
    /// What a sketch sounds: its slices, and where a broken chord, a tremolo or a rolled chord goes
    /// through the tones of a chord, those tones until the chord changes.
    pub(super) fn of(reading: &Reading) -> Self {
        let mut all: Vec<Vec<(Tick, Tick)>> = vec![Vec::new(); 12];
        let mut add = |start: Tick, end: Tick, classes: PitchClassSet| {
            for class in classes.iter() {
                if let Some(of_class) = all.get_mut(usize::from(class.number())) {
                    of_class.push((start, end));
                }
            }
        };
        for slice in &reading.slices {
            add(slice.start, slice.end, slice.classes);
        }
        let figures = reading.figures.iter().filter(|f| f.kind.is_held());
        for held in figures.flat_map(|f| &f.harmony) {
            let classes = held.pitches.iter().map(|p| p.class()).collect();
            add(held.start, held.end, classes);
        }
        for stretches in &mut all {
            stretches.sort_unstable();
            let mut joined: Vec<(Tick, Tick)> = Vec::new();
            for (from, to) in stretches.drain(..) {
                match joined.last_mut().filter(|last| from <= last.1) {
                    Some(last) => last.1 = last.1.max(to),
                    None => joined.push((from, to)),
                }
            }
            *stretches = joined;
        }
        Self(all)
    }

    /// Where a note first sounds while its pitch class does not.
    pub(super) fn foreign(&self, note: &DraftNote) -> Option<Tick> {
        let stretches = self.0.get(usize::from(note.pitch.class().number()))?;
        let next = stretches.partition_point(|s| s.0 <= note.onset);
        let until = next
            .checked_sub(1)
            .and_then(|at| stretches.get(at))
            .map_or(note.onset, |s| s.1.max(note.onset));
        (until < note.end()).then_some(until)
    }
}
