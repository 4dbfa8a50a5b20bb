//! How long a part plays each pitch.

use crate::music::{Sounding, TempoMap};
use crate::score::DraftNote;
use std::collections::BTreeMap;

/// A pitch and how long it sounds in all.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct PitchTime {
    /// The pitch.
    pub pitch: Sounding,
    /// Seconds.
    pub seconds: f64,
}

/// The time of every pitch that a line has, lowest first. Notes that sound together count each.
///
/// ```
/// use bandwright::music::{Sounding, TempoMap, Tick, Ticks, TicksPerQuarter};
/// use bandwright::review::time_by_pitch;
/// use bandwright::score::{DraftNote, Role};
/// let tempo = TempoMap::new(TicksPerQuarter::new(480).unwrap(), []);
/// let note = |onset, pitch| DraftNote {
///     onset: Tick(onset),
///     pitch: Sounding::nearest(pitch),
///     duration: Ticks(480),
///     velocity: 80,
///     role: Role::Harmony,
///     locked: false,
/// };
/// let times = time_by_pitch(&[note(0, 62), note(480, 60), note(960, 62)], &tempo);
/// let told: Vec<(u8, f64)> = times.iter().map(|t| (t.pitch.midi(), t.seconds)).collect();
/// assert_eq!(told, [(60, 0.5), (62, 1.0)]);
/// ```
#[must_use]
pub fn time_by_pitch(notes: &[DraftNote], tempo: &TempoMap) -> Vec<PitchTime> {
    let mut all: BTreeMap<Sounding, f64> = BTreeMap::new();
    for note in notes {
        let seconds = tempo.seconds(note.end()) - tempo.seconds(note.onset);
        *all.entry(note.pitch).or_default() += seconds;
    }
    let time = |(pitch, seconds)| PitchTime { pitch, seconds };
    all.into_iter().map(time).collect()
}
