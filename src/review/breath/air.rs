//! What notes take of a breath.

use super::BreathFrame;
use crate::band::Part;
use crate::band::chance::BREATH_GAP;
use crate::band::playing::Posture;
use crate::music::{Dynamic, Sounding, Tick};
use crate::score::DraftNote;
use std::ops::Range;

/// Where the range of an instrument has its low third (as for the clean chance).
const LOW_THIRD: i16 = 3;

/// A note as it is held: until the next where that follows at once.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Held {
    /// Where it begins.
    pub onset: Tick,
    /// Where it ends, or the next begins.
    pub end: Tick,
    /// Seconds at its onset.
    pub from: f64,
    /// How long it lasts, seconds.
    pub seconds: f64,
    /// Concert pitch.
    pub pitch: Sounding,
    /// What may be planned on one breath at its dynamic, seconds.
    pub planned: f64,
    /// The longest breath at its dynamic, seconds.
    pub longest: f64,
}

impl Held {
    /// The share of a breath that it takes.
    pub fn air(&self) -> f64 {
        self.seconds / self.planned
    }
}

/// The notes of a wind part with what its weakest players can hold of them.
pub(super) struct Lungs {
    pub held: Vec<Held>,
}

impl Lungs {
    /// `None` for parts without players and where nobody blows.
    pub fn of(part: &Part, notes: &[DraftNote], frame: &BreathFrame<'_>) -> Option<Self> {
        let breaths = Breaths::of(part, frame.posture)?;
        let mut held: Vec<Held> = Vec::with_capacity(notes.len());
        for note in notes {
            let from = frame.tempo.seconds(note.onset);
            let to = frame.tempo.seconds(note.end());
            if let Some(before) = held.last_mut() {
                let over = note.onset <= before.end;
                if over && note.onset == before.onset {
                    // Struck together: one breath blows both.
                    if to > before.from + before.seconds {
                        before.seconds = to - before.from;
                        before.end = note.end();
                    }
                    before.pitch = before.pitch.max(note.pitch);
                    continue;
                }
                if from - (before.from + before.seconds) < BREATH_GAP {
                    before.seconds = from - before.from;
                    before.end = note.onset;
                }
            }
            let dynamic = Dynamic::of_velocity(note.velocity);
            let (planned, longest) = breaths.at(part, note.pitch, dynamic);
            held.push(Held {
                onset: note.onset,
                end: note.end(),
                from,
                seconds: to - from,
                pitch: note.pitch,
                planned,
                longest,
            });
        }
        Some(Self { held })
    }
}

/// Breaths of the weakest players by dynamic, above the low third and in it: planned, longest.
struct Breaths([[(f64, f64); 2]; Dynamic::ALL.len()]);

impl Breaths {
    fn of(part: &Part, posture: Posture) -> Option<Self> {
        let breath = part.instrument.playing.breath?;
        part.players.weakest()?;
        let worst = |dynamic, low| {
            let levels = part.players.levels();
            let of = levels.map(|(level, _)| {
                let planned = |p| breath.planned(level, dynamic, low, p);
                // On the march what can be reached shrinks as what may be planned does.
                let share = planned(posture) / planned(Posture::Seated).max(1e-9);
                (
                    planned(posture),
                    share * breath.longest(level, dynamic, low),
                )
            });
            of.fold((f64::INFINITY, f64::INFINITY), |a, b| {
                (a.0.min(b.0), a.1.min(b.1))
            })
        };
        Some(Self(
            Dynamic::ALL.map(|d| [worst(d, false), worst(d, true)]),
        ))
    }

    fn at(&self, part: &Part, pitch: Sounding, dynamic: Dynamic) -> (f64, f64) {
        let range = part.instrument.professional;
        let third = range.high.0.saturating_sub(range.low.0) / LOW_THIRD;
        let written = part.instrument.transposition.written(pitch);
        let low = written.0 <= range.low.0.saturating_add(third);
        self.0[dynamic.steps()][usize::from(low)]
    }
}

/// Notes in runs that no rest of a breath's length cuts.
pub(super) fn runs(held: &[Held]) -> Vec<Range<usize>> {
    let mut runs = Vec::new();
    let mut from = 0;
    for to in 1..=held.len() {
        let rest = held.get(to).is_none_or(|next| {
            let before = &held[to - 1];
            next.from - (before.from + before.seconds) >= BREATH_GAP
        });
        if rest {
            runs.push(from..to);
            from = to;
        }
    }
    runs
}
