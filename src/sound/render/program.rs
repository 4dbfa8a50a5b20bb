//! A score made ready for synthesizers: what is struck when, on which channel, how loud.

use super::level::{Stops, stops};
use crate::sound::events::{Chair, SoundNote, SoundScore, pan_controller};
use crate::sound::tones::RATE;

/// Samples that are rendered at a time: what begins and ends does so between blocks, at most 0.8 ms off.
pub const BLOCK: usize = 64;

/// The speeds that music can be played at, as factors of its own tempo (ours).
pub const SLOWEST: f64 = 0.25;
/// See [`SLOWEST`].
pub const QUICKEST: f64 = 2.0;

/// A note that is struck.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Cue {
    /// Before which block it is struck.
    pub start: u64,
    /// Before which it ends; after its start.
    pub end: u64,
    /// Whose note it is.
    pub chair: u16,
    /// MIDI note.
    pub key: u8,
    /// Bank of its tone.
    pub bank: u8,
    /// Program of its tone.
    pub program: u8,
    /// How loud.
    pub stops: Stops,
}

impl Cue {
    /// Whether two sound the same, wherever they begin and end.
    #[must_use]
    pub fn sounds_like(&self, other: &Self) -> bool {
        (self.chair, self.key) == (other.chair, other.key)
            && (self.bank, self.program, self.stops) == (other.bank, other.program, other.stops)
    }

    /// Whether it has begun before a block and has not ended by then.
    #[must_use]
    pub const fn lasts_over(&self, block: u64) -> bool {
        self.start < block && block < self.end
    }
}

/// How a chair is set, as controllers have it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Seat {
    /// 0 left, 127 right.
    pub pan: u8,
    /// 0 to 16,383; 8,192 in tune.
    pub bend: u16,
}

/// By how many cents chairs of the same tone are out of tune with one another, one after the other (ours): no two
/// players are ever quite in tune, and tones that were would add up to twice the power that theirs has. All stay within
/// what is heard as one pitch.
const APART: [f64; 5] = [0.0, 3.0, -3.0, 1.5, -1.5];
/// Cents that a bend reaches to either side, and its values on the way (General MIDI level 1, MEM).
const BEND: (f64, f64) = (200.0, 8192.0);

fn places(chairs: &[Chair]) -> Vec<Seat> {
    let one = |(i, chair): (usize, &Chair)| {
        let same = |c: &&Chair| c.tone.name == chair.tone.name;
        let before = chairs[..i].iter().filter(same).count();
        let cents = APART[before % APART.len()];
        Seat {
            pan: pan_controller(chair.pan),
            bend: (BEND.1 + cents / BEND.0 * BEND.1).round() as u16,
        }
    };
    chairs.iter().enumerate().map(one).collect()
}

/// Cues in order of time, at a speed.
#[derive(Clone, PartialEq, Debug)]
pub struct Program {
    cues: Vec<Cue>,
    places: Vec<Seat>,
    speed: f64,
    end: u64,
    loudest: f64,
}

impl Program {
    /// The program of a score, of the chairs that are heard (one that `heard` does not mention is), at a factor of its
    /// tempo. Distances do not change with the tempo: what is heard late is so by the same time.
    #[must_use]
    pub fn of(score: &SoundScore, heard: &[bool], speed: f64) -> Self {
        let speed = if speed.is_finite() { speed } else { 1.0 }.clamp(SLOWEST, QUICKEST);
        let is_heard = |n: &&SoundNote| heard.get(n.chair).copied().unwrap_or(true);
        let notes = score.sounding().filter(is_heard);
        let mut cues: Vec<Cue> = notes.filter_map(|n| cue(score, n, speed)).collect();
        cues.sort_unstable();
        Self {
            end: cues.iter().map(|c| c.end).max().unwrap_or(0),
            cues,
            places: places(&score.chairs),
            speed,
            loudest: score.loudest().unwrap_or(0.0),
        }
    }

    /// What is struck, in order of time.
    #[must_use]
    pub fn cues(&self) -> &[Cue] {
        &self.cues
    }

    /// How each chair is set.
    pub(super) fn places(&self) -> &[Seat] {
        &self.places
    }

    /// The level of its loudest note, dB.
    pub(super) const fn loudest(&self) -> f64 {
        self.loudest
    }

    /// The factor of the music's own tempo.
    #[must_use]
    pub const fn speed(&self) -> f64 {
        self.speed
    }

    /// The block before which the last cue ends.
    #[must_use]
    pub const fn end(&self) -> u64 {
        self.end
    }

    /// The block at which the music has come so far, in seconds of its own tempo.
    #[must_use]
    pub fn block(&self, seconds: f64) -> u64 {
        block(seconds / self.speed)
    }

    /// How far the music has come at a block, in seconds of its own tempo.
    #[must_use]
    pub fn seconds(&self, block: i64) -> f64 {
        block as f64 * BLOCK as f64 / f64::from(RATE) * self.speed
    }
}

/// The block at so many seconds.
pub(super) fn block(seconds: f64) -> u64 {
    (seconds.max(0.0) * f64::from(RATE) / BLOCK as f64).round() as u64
}

fn cue(score: &SoundScore, note: &SoundNote, speed: f64) -> Option<Cue> {
    let tone = score.chairs.get(note.chair)?.tone;
    let late = score.delay(note.chair);
    let start = block(note.onset / speed + late);
    Some(Cue {
        start,
        end: block(note.end / speed + late).max(start + 1),
        chair: u16::try_from(note.chair).ok()?,
        key: note.key,
        bank: tone.bank(note.shade),
        program: tone.program,
        stops: stops(note.gain_db),
    })
}
