//! Tempos as they are written: beats a minute where a tempo begins.

use crate::music::{MeterMap, TempoMap, Tick};
use std::fmt;

/// A tempo that is so near to the one before is not written anew, beats a minute (ours: nobody hears it).
const NEAR: u32 = 3;
/// A dotted quarter in quarters: what is counted in compound meters.
const DOTTED: f64 = 1.5;

/// Beats a minute, as a metronome has them.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct BeatsAMinute {
    /// How many.
    pub beats: u32,
    /// Whether the beat is a dotted quarter (compound meters), and not a quarter.
    pub dotted: bool,
}

impl BeatsAMinute {
    /// The tempo at a place, by the beat of its meter.
    #[must_use]
    pub fn at(tempo: &TempoMap, meters: &MeterMap, at: Tick) -> Self {
        let dotted = meters.meter(at).is_compound();
        let quarters = tempo.quarters_per_minute(at);
        let beats = if dotted { quarters / DOTTED } else { quarters };
        Self {
            beats: beats.round().clamp(1.0, 9999.0) as u32,
            dotted,
        }
    }

    /// The word of its beat.
    #[must_use]
    pub const fn beat(self) -> &'static str {
        if self.dotted {
            "dotted quarter"
        } else {
            "quarter"
        }
    }
}

impl fmt::Display for BeatsAMinute {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} = {}", self.beat(), self.beats)
    }
}

/// Where a tempo is written: at the beginning, and where it differs by three beats and more, once in a bar.
///
/// ```
/// use bandwright::music::{MeterMap, TempoChange, TempoMap, Tick, TicksPerQuarter};
/// use bandwright::score::tempo_marks;
/// let quarter = TicksPerQuarter::new(480).unwrap();
/// let change = |at, micros_per_quarter| TempoChange { at: Tick(at), micros_per_quarter };
/// let tempo = TempoMap::new(quarter, [change(0, 500_000), change(1920, 495_000), change(3840, 600_000)]);
/// let marks = tempo_marks(&tempo, &MeterMap::new(quarter, []));
/// let told: Vec<String> = marks.iter().map(|(at, t)| format!("{} {t}", at.0)).collect();
/// assert_eq!(told, ["0 quarter = 120", "3840 quarter = 100"]);
/// ```
#[must_use]
pub fn tempo_marks(tempo: &TempoMap, meters: &MeterMap) -> Vec<(Tick, BeatsAMinute)> {
    let mut places: Vec<Tick> = tempo.changes().iter().map(|c| c.at).collect();
    places.extend(meters.changes().iter().map(|c| c.at));
    places.sort_unstable();
    places.dedup();
    let mut marks: Vec<(Tick, BeatsAMinute)> = Vec::new();
    for at in places {
        let now = BeatsAMinute::at(tempo, meters, at);
        let told = marks.last().is_some_and(|(before, last)| {
            let alike = last.dotted == now.dotted && last.beats.abs_diff(now.beats) < NEAR;
            alike || meters.bar(*before) == meters.bar(at)
        });
        if !told {
            marks.push((at, now));
        }
    }
    marks
}
