//! How wide a bar is and where its notes stand, the same for all staves.

use super::chord_shape::{Shape, shapes};
use super::opening::{meter_width, signs, signs_width};
use super::stave::Clef;
use super::value::Grains;
use super::written::WrittenBar;
use crate::music::{Tick, Ticks};
use std::collections::BTreeMap;

/// Width of a quarter note with what belongs to it, in stave spaces (ours). Others have it by the
/// square root of their length, so that a note twice as long has 1.4 times the room (common practice,
/// no source: longer notes get more room, but less than in proportion).
const QUARTER: f32 = 3.4;
/// Between what stands at two moments of one stave, at least (ours).
const GAP: f32 = 0.4;
/// From the barline, or what changes there, to the first note's accidentals (ours).
const BEFORE: f32 = 0.9;
/// From the last note to the barline, at least (ours).
const AFTER: f32 = 0.7;
/// The narrowest music of a bar (ours): room for the rest of a whole bar.
const NARROWEST: f32 = 5.0;

/// The moments of a bar from left to right.
#[derive(Clone, PartialEq, Debug)]
pub struct Columns {
    /// Where the signature stands, if it changes.
    pub key_x: f32,
    /// Where the meter stands, if it changes.
    pub meter_x: f32,
    /// Where the music begins: behind what changes.
    pub music_x: f32,
    /// Each moment and where the heads of its notes have their left ends.
    pub places: Vec<(Grains, f32)>,
    /// Width of the bar, in stave spaces.
    pub width: f32,
    length: Grains,
    start: Tick,
    whole: Ticks,
}

impl Columns {
    /// The columns of one bar, of all staves that stand under one another. They have the same bar
    /// lines; of several lengths the first one's holds.
    #[must_use]
    pub fn of(staves: &[(&WrittenBar, Clef)]) -> Self {
        let shapes: Vec<BTreeMap<Grains, Shape>> =
            staves.iter().map(|(b, c)| shapes(b, *c)).collect();
        let keys = staves.iter().map(|(b, _)| change_width(b));
        let keys = keys.fold(0.0, f32::max);
        let meters = staves.iter().filter(|(b, _)| b.new_meter);
        let meters = meters
            .map(|(b, _)| meter_width(b.meter))
            .fold(0.0, f32::max);
        let key_x = BEFORE;
        let meter_x = if keys > 0.0 {
            key_x + keys + BEFORE
        } else {
            key_x
        };
        let music_x = if meters > 0.0 {
            meter_x + meters
        } else if keys > 0.0 {
            key_x + keys
        } else {
            0.0
        };
        let first = staves.first().map(|(b, _)| b);
        let length = first.map_or(Grains::WHOLE, |b| b.length);
        let (places, end) = places(&shapes, music_x, length);
        let start = first.map_or(Tick::ZERO, |b| b.start);
        Self {
            key_x,
            meter_x,
            music_x,
            places,
            width: end.max(music_x + NARROWEST),
            length,
            start,
            whole: first.map_or(Ticks(1), |b| b.end.since(b.start)),
        }
    }

    /// The same with all that is between the moments wider or narrower, so that the bar is as wide as is asked for.
    #[must_use]
    pub fn stretched(&self, width: f32) -> Self {
        let own = self.width - self.music_x;
        let factor = (width - self.music_x).max(0.0) / own.max(f32::EPSILON);
        let moved = |x: f32| self.music_x + (x - self.music_x) * factor;
        Self {
            places: self.places.iter().map(|(at, x)| (*at, moved(*x))).collect(),
            width: moved(self.width),
            ..self.clone()
        }
    }

    /// Where the heads of a moment have their left ends; between two moments in proportion.
    #[must_use]
    pub fn x(&self, place: Grains) -> f32 {
        self.between(place.0 as f32)
    }

    /// Where a tick lies, from the first moment to the right end.
    #[must_use]
    pub fn x_at(&self, at: Tick) -> f32 {
        let share = at.since(self.start).0 as f64 / self.whole.0.max(1) as f64;
        self.between((share.min(1.0) * f64::from(self.length.0)) as f32)
    }

    /// The tick that lies at x, the other way round.
    #[must_use]
    pub fn tick_at(&self, x: f32) -> Tick {
        let mut before = (0.0, self.first_x());
        for after in self.edges() {
            if x < after.1 {
                let share = (x - before.1) / (after.1 - before.1).max(f32::EPSILON);
                let place: f32 = before.0 + share.max(0.0) * (after.0 - before.0);
                return self.tick(place);
            }
            before = after;
        }
        self.tick(self.length.0 as f32)
    }

    fn tick(&self, place: f32) -> Tick {
        let share = f64::from(place) / f64::from(self.length.0.max(1));
        self.start + Ticks((share * self.whole.0 as f64).round() as u64)
    }

    fn first_x(&self) -> f32 {
        self.places.first().map_or(self.music_x, |p| p.1)
    }

    /// All moments and the end of the bar.
    fn edges(&self) -> impl Iterator<Item = (f32, f32)> {
        let moments = self.places.iter().map(|(g, x)| (g.0 as f32, *x));
        moments.chain([(self.length.0 as f32, self.width)])
    }

    fn between(&self, place: f32) -> f32 {
        let mut before = (0.0, self.first_x());
        for after in self.edges() {
            if place <= after.0 {
                let share = (place - before.0) / (after.0 - before.0).max(f32::EPSILON);
                return before.1 + share * (after.1 - before.1);
            }
            before = after;
        }
        self.width
    }
}

/// How wide the change of a stave's signature is.
fn change_width(bar: &WrittenBar) -> f32 {
    bar.old_key
        .map_or(0.0, |old| signs_width(&signs(bar.key, Some(old))))
}

/// Each moment with its x, and where the bar ends.
fn places(
    staves: &[BTreeMap<Grains, Shape>],
    music_x: f32,
    length: Grains,
) -> (Vec<(Grains, f32)>, f32) {
    let mut moments: Vec<Grains> = staves.iter().flat_map(|s| s.keys().copied()).collect();
    moments.sort_unstable();
    moments.dedup();
    // Where each stave has room again.
    let mut free: Vec<f32> = vec![music_x + BEFORE; staves.len()];
    let mut next_x = music_x + BEFORE;
    let mut places = Vec::with_capacity(moments.len());
    for (i, at) in moments.iter().enumerate() {
        let mut x = next_x;
        for (stave, free) in staves.iter().zip(&free) {
            if let Some(shape) = stave.get(at) {
                x = x.max(free + shape.left);
            }
        }
        for (stave, free) in staves.iter().zip(&mut free) {
            if let Some(shape) = stave.get(at) {
                *free = x + shape.right + GAP;
            }
        }
        places.push((*at, x));
        let next = moments.get(i + 1).copied().unwrap_or(length);
        next_x = x + natural_width(next.since(*at));
    }
    let last = free
        .into_iter()
        .fold(next_x, |end, f| end.max(f + AFTER - GAP));
    (places, last)
}

fn natural_width(length: Grains) -> f32 {
    QUARTER * (length.0 as f32 / Grains::QUARTER.0 as f32).sqrt()
}
