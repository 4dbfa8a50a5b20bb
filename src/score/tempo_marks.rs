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

    /// Whether nobody would hear a difference.
    fn is_near(self, other: Self) -> bool {
        self.dotted == other.dotted && self.beats.abs_diff(other.beats) < NEAR
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

/// What stands over a stave of the tempo.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum TempoMark {
    /// From here on so fast.
    Steady(Tick, BeatsAMinute),
    /// From here on slower and slower, up to the next mark.
    Slower(Tick),
    /// From here on faster and faster, up to the next mark.
    Faster(Tick),
}

impl TempoMark {
    /// Where it stands.
    #[must_use]
    pub const fn at(self) -> Tick {
        match self {
            Self::Steady(at, _) | Self::Slower(at) | Self::Faster(at) => at,
        }
    }

    /// The tempo, where it is a steady one.
    #[must_use]
    pub const fn steady(self) -> Option<BeatsAMinute> {
        match self {
            Self::Steady(_, tempo) => Some(tempo),
            Self::Slower(_) | Self::Faster(_) => None,
        }
    }
}

/// The tempos as they are written. One that lasts for less than a bar is on the way to another: where such a way begins
/// it is said whether it leads to slower or to faster. After that, and where a tempo differs by three beats and more, it
/// is written (ours).
///
/// ```
/// use bandwright::music::{MeterMap, TempoMap, Tick, TicksPerQuarter, tempo::TempoChange};
/// use bandwright::score::{TempoMark, tempo_marks};
/// let quarter = TicksPerQuarter::new(480).unwrap();
/// let change = |at, beats: u32| TempoChange { at: Tick(at), micros_per_quarter: 60_000_000 / beats };
/// let changes = [change(0, 120), change(1920, 121), change(3840, 110), change(4800, 100), change(5760, 120)];
/// let marks = tempo_marks(&TempoMap::new(quarter, changes), &MeterMap::new(quarter, []));
/// let told: Vec<(u64, Option<u32>)> =
///     marks.iter().map(|m| (m.at().0, m.steady().map(|t| t.beats))).collect();
/// assert_eq!(told, [(0, Some(120)), (3840, None), (5760, Some(120))]);
/// assert_eq!(marks[1], TempoMark::Slower(Tick(3840)));
/// ```
#[must_use]
pub fn tempo_marks(tempo: &TempoMap, meters: &MeterMap) -> Vec<TempoMark> {
    let mut places: Vec<Tick> = tempo.changes().iter().map(|c| c.at).collect();
    let beats = meters.changes().windows(2).filter_map(|pair| match pair {
        [a, b] if a.meter.is_compound() != b.meter.is_compound() => Some(b.at),
        _ => None,
    });
    places.extend(beats);
    places.sort_unstable();
    places.dedup();
    let mut marks: Vec<TempoMark> = Vec::new();
    let mut last: Option<BeatsAMinute> = None;
    for (i, at) in places.iter().enumerate() {
        let now = BeatsAMinute::at(tempo, meters, *at);
        let bar = meters.meter(*at).bar(meters.quarter());
        let passing = places.get(i + 1).is_some_and(|next| next.since(*at) < bar);
        let on_the_way = marks.last().is_some_and(|m| m.steady().is_none());
        match last {
            Some(before) if passing && !on_the_way && before.beats != now.beats => {
                marks.push(if now.beats < before.beats {
                    TempoMark::Slower(*at)
                } else {
                    TempoMark::Faster(*at)
                });
            }
            Some(_) if passing => {}
            Some(before) if !on_the_way && before.is_near(now) => {}
            _ => {
                marks.push(TempoMark::Steady(*at, now));
                last = Some(now);
            }
        }
    }
    marks
}
