//! Which way stems go, how long they are, and how beams slant. All of it is common practice, no
//! source: a stem is 3.5 spaces long, reaches the middle line from notes on ledger lines, and goes
//! the way that the note farthest from the middle line wants; with two voices the upper one's go up.

use super::glyph_sizes as sizes;
use super::stave::Clef;
use super::symbol::Spot;
use super::value::Base;
use super::written::{Event, WrittenBar, WrittenVoice};

/// Length of a stem.
const LENGTH: f32 = 3.5;
/// Length of the shortest stem under a beam of eighths.
const UNDER_BEAM: f32 = 3.0;
/// The middle line.
const MIDDLE: f32 = 2.0;
/// What a beam rises or falls at the most from its first to its last note.
const STEEPEST: f32 = 1.0;
/// What it rises or falls at the most over each space of its width.
const STEEPNESS: f32 = 0.2;
/// From a head's middle to where its stem begins.
pub(super) const JOINT: f32 = 0.16;

/// The height of a step on a stave, in spaces from the lowest line.
pub(super) fn height(step: i16, clef: Clef) -> f32 {
    f32::from(step - clef.bottom_line()) / 2.0
}

/// The lowest and the highest head of an event.
pub(super) fn ends(event: &Event, clef: Clef) -> Option<(f32, f32)> {
    let steps = || event.notes.iter().map(|n| n.place.step);
    let (low, high) = (steps().min()?, steps().max()?);
    Some((height(low, clef), height(high, clef)))
}

/// For each voice and event whether its stem goes up; rests and whole notes as if they had one.
pub(super) fn directions(bar: &WrittenBar, clef: Clef) -> Vec<Vec<bool>> {
    let several = bar.voices.len() > 1;
    let voices = bar.voices.iter().enumerate();
    voices
        .map(|(v, voice)| {
            if several {
                vec![v % 2 == 0; voice.events.len()]
            } else {
                alone(voice, clef)
            }
        })
        .collect()
}

fn alone(voice: &WrittenVoice, clef: Clef) -> Vec<bool> {
    let one = |e: &Event| wants_up(ends(e, clef).into_iter());
    let mut up: Vec<bool> = voice.events.iter().map(one).collect();
    for group in &voice.beams {
        let members = || group.events.iter().filter_map(|i| voice.events.get(*i));
        let together = wants_up(members().filter_map(|e| ends(e, clef)));
        for i in &group.events {
            if let Some(one) = up.get_mut(*i) {
                *one = together;
            }
        }
    }
    up
}

/// Up if what lies farthest from the middle line lies below it; down if both sides are as far.
fn wants_up(ends: impl Iterator<Item = (f32, f32)>) -> bool {
    let far = ends.fold((MIDDLE, MIDDLE), |(low, high), (l, h)| {
        (low.min(l), high.max(h))
    });
    MIDDLE - far.0 > far.1 - MIDDLE
}

/// Where the stem of a single note or chord ends.
pub(super) fn lone_end(low: f32, high: f32, up: bool, base: Base) -> f32 {
    let more = f32::from(base.flags().saturating_sub(2)) * 0.6;
    if up {
        (high + LENGTH + more).max(MIDDLE)
    } else {
        (low - LENGTH - more).min(MIDDLE)
    }
}

/// A stem under a beam: where it stands, the heads' ends, and how many beams it has.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct BeamedStem {
    pub(super) x: f32,
    pub(super) low: f32,
    pub(super) high: f32,
    pub(super) beams: u8,
}

/// The outer edge of a group's first beam: a straight line.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct BeamEdge {
    at: Spot,
    slope: f32,
    up: bool,
}

impl BeamEdge {
    /// The line for some stems from left to right.
    pub(super) fn of(stems: &[BeamedStem], up: bool) -> Self {
        let near = |s: &BeamedStem| if up { s.high } else { s.low };
        let slope = slope(stems, &near, up);
        let first = stems.first().map_or(0.0, |s| s.x);
        // How far out the line must lie at its left end for each stem to be long enough.
        let needed = stems.iter().map(|s| {
            let more = match s.beams {
                0 | 1 => 0.0,
                2 => 0.25,
                n => 0.25 + f32::from(n - 2) * sizes::BEAM_STEP,
            };
            let end = if up {
                (near(s) + UNDER_BEAM + more).max(MIDDLE)
            } else {
                (near(s) - UNDER_BEAM - more).min(MIDDLE)
            };
            end - slope * (s.x - first)
        });
        let y = if up {
            needed.fold(f32::MIN, f32::max)
        } else {
            needed.fold(f32::MAX, f32::min)
        };
        Self {
            at: Spot { x: first, y },
            slope,
            up,
        }
    }

    /// Where a stem at x ends.
    pub(super) fn end(&self, x: f32) -> f32 {
        self.at.y + self.slope * (x - self.at.x)
    }

    /// The middle line of a beam at x; level 1 is the outermost.
    pub(super) fn beam(&self, x: f32, level: u8) -> Spot {
        let inwards = sizes::BEAM / 2.0 + f32::from(level.saturating_sub(1)) * sizes::BEAM_STEP;
        let y = self.end(x) + if self.up { -inwards } else { inwards };
        Spot { x, y }
    }
}

/// How much the beam rises over each space: half of what its ends do, within limits; level where a
/// note between them comes nearer to the beam than both.
fn slope(stems: &[BeamedStem], near: &impl Fn(&BeamedStem) -> f32, up: bool) -> f32 {
    let [first, inner @ .., last] = stems else {
        return 0.0;
    };
    let (from, to, width) = (near(first), near(last), last.x - first.x);
    let beyond = |s: &BeamedStem| {
        if up {
            near(s) >= from.max(to)
        } else {
            near(s) <= from.min(to)
        }
    };
    if width <= 0.0 || inner.iter().any(beyond) {
        return 0.0;
    }
    let most = STEEPEST.min(STEEPNESS * width);
    ((to - from) / 2.0).clamp(-most, most) / width
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn stem(x: f32, at: f32) -> BeamedStem {
        BeamedStem {
            x,
            low: at,
            high: at,
            beams: 1,
        }
    }

    #[test]
    fn beams_slant_moderately_and_leave_room() {
        let rising = BeamEdge::of(&[stem(0.0, 0.0), stem(3.0, 1.0)], true);
        assert!((rising.end(3.0) - rising.end(0.0) - 0.5).abs() < 1e-6);
        assert!((rising.end(3.0) - 4.0).abs() < 1e-6);
        let level = BeamEdge::of(&[stem(0.0, 0.0), stem(3.0, 1.0), stem(6.0, 0.5)], true);
        assert_eq!(level.end(0.0), level.end(6.0));
        let down = BeamEdge::of(&[stem(0.0, 4.0), stem(3.0, 6.0)], false);
        assert!(down.end(0.0) <= 1.0 && down.end(3.0) <= MIDDLE);
    }

    #[test]
    fn stems_reach_the_middle_line() {
        assert_eq!(lone_end(-3.0, -3.0, true, Base::Quarter), 2.0);
        assert_eq!(lone_end(1.0, 1.0, true, Base::Quarter), 4.5);
        assert_eq!(lone_end(7.0, 7.0, false, Base::Quarter), 2.0);
    }
}
