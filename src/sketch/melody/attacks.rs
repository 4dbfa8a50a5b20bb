//! Attacks: what is struck together, give or take a few milliseconds, and what is held then.

use crate::music::{MeterMap, Tick};
use crate::sketch::reading::ReadNote;
use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::ops::Range;

/// Notes this close to the first of an attack, in quarters, belong to it; keys let go this soon
/// after it are up.
const TOGETHER: f64 = 1.0 / 16.0;

/// A pitch of an attack. A pitch that two voices strike at once is there once or, if they hold it
/// for different lengths, twice: the shortest and the longest.
#[derive(Clone, Copy, Debug)]
pub(super) struct Struck {
    /// Index of the note.
    pub(super) note: usize,
    /// When, in quarters.
    pub(super) at: f64,
    /// When the key is let go, in quarters.
    pub(super) end: f64,
    /// MIDI number.
    pub(super) pitch: u8,
    /// 1 to 127.
    pub(super) velocity: f64,
}

impl Struck {
    /// How long the key is held, in quarters.
    pub(super) fn length(&self) -> f64 {
        self.end - self.at
    }
}

/// Notes struck together.
#[derive(Clone, Debug)]
pub(super) struct Attack {
    /// The onset of its first note.
    pub(super) tick: Tick,
    /// The same in quarters.
    pub(super) at: f64,
    /// Its notes in [`Attacks::struck`], lowest first.
    pub(super) struck: Range<usize>,
    /// How many different pitches it strikes.
    pub(super) pitches: usize,
    /// The pitches whose keys are down then, new ones included, as bits.
    pub(super) down: u128,
    /// The pitches that it strikes, as bits.
    pub(super) new: u128,
}

impl Attack {
    /// Highest pitch that sounds.
    pub(super) fn top(&self) -> u8 {
        highest(self.down)
    }

    /// Lowest pitch that sounds.
    pub(super) fn bottom(&self) -> u8 {
        (self.down.trailing_zeros() as u8).min(127)
    }

    /// How many of its pitches lie above one.
    pub(super) fn above(&self, pitch: u8) -> usize {
        (self.new & above(pitch)).count_ones() as usize
    }
}

/// The pitches above one, as bits.
pub(super) fn above(pitch: u8) -> u128 {
    u128::MAX.checked_shl(u32::from(pitch) + 1).unwrap_or(0)
}

/// The pitches below one, as bits.
pub(super) fn below(pitch: u8) -> u128 {
    !(above(pitch) | bit(pitch))
}

/// One pitch as a bit.
pub(super) fn bit(pitch: u8) -> u128 {
    1 << pitch.min(127)
}

/// The highest of some pitches; 0 for none.
pub(super) fn highest(pitches: u128) -> u8 {
    127_u32.saturating_sub(pitches.leading_zeros()) as u8
}

/// All attacks with their notes.
#[derive(Debug)]
pub(super) struct Attacks {
    /// In order of time.
    pub(super) list: Vec<Attack>,
    /// The notes of all of them.
    pub(super) struck: Vec<Struck>,
}

impl Attacks {
    /// Gathers notes that are in order of onset. `likely` tells which of the notes of one pitch
    /// is meant (the greatest is).
    pub(super) fn new(
        notes: &[ReadNote],
        meters: &MeterMap,
        likely: impl Fn(&ReadNote) -> f64,
    ) -> Self {
        let quarter = f64::from(meters.quarter().get());
        let together = (TOGETHER * quarter) as u64;
        let mut found = Self {
            list: Vec::new(),
            struck: Vec::with_capacity(notes.len()),
        };
        let mut keys = Keys::default();
        let mut start = 0;
        while let Some(first) = notes.get(start) {
            let until = Tick(first.onset.0.saturating_add(together));
            let count =
                notes[start..].partition_point(|n| n.onset == first.onset || n.onset < until);
            let all = start..start + count;
            let down = keys.at(until, &notes[all.clone()]);
            found.push(notes, all, down, quarter, &likely);
            start += count;
        }
        found
    }

    fn push(
        &mut self,
        notes: &[ReadNote],
        all: Range<usize>,
        down: u128,
        quarter: f64,
        likely: &impl Fn(&ReadNote) -> f64,
    ) {
        let tick = notes[all.start].onset;
        let from = self.struck.len();
        let mut order: Vec<usize> = all.collect();
        order.sort_by_key(|i| (notes[*i].pitch, notes[*i].duration));
        let mut new = 0;
        for same in order.chunk_by(|a, b| notes[*a].pitch == notes[*b].pitch) {
            let most = same
                .iter()
                .map(|i| likely(&notes[*i]))
                .fold(f64::MIN, f64::max);
            let mut meant = same.iter().filter(|i| likely(&notes[**i]) >= most);
            let shortest = meant.next();
            let longest = meant.next_back().filter(|l| {
                shortest.is_some_and(|s| {
                    let more = notes[**l].duration.0.saturating_sub(notes[*s].duration.0);
                    more as f64 > TOGETHER * quarter
                })
            });
            for i in shortest.into_iter().chain(longest) {
                let n = &notes[*i];
                new |= bit(n.pitch.midi());
                self.struck.push(Struck {
                    note: *i,
                    at: n.onset.0 as f64 / quarter,
                    end: n.end().0 as f64 / quarter,
                    pitch: n.pitch.midi(),
                    velocity: f64::from(n.velocity),
                });
            }
        }
        self.list.push(Attack {
            tick,
            at: tick.0 as f64 / quarter,
            struck: from..self.struck.len(),
            pitches: new.count_ones() as usize,
            down: down | new,
            new,
        });
    }

    /// The notes of an attack.
    pub(super) fn of(&self, attack: &Attack) -> &[Struck] {
        &self.struck[attack.struck.clone()]
    }

    /// The attack nearest to a time, if it is as near as notes struck together.
    pub(super) fn near(&self, at: f64) -> Option<usize> {
        let next = self.list.partition_point(|a| a.at < at);
        [next.checked_sub(1), Some(next)]
            .into_iter()
            .flatten()
            .filter(|k| {
                self.list
                    .get(*k)
                    .is_some_and(|a| (a.at - at).abs() <= TOGETHER)
            })
            .min_by(|a, b| {
                let away = |k: usize| (self.list[k].at - at).abs();
                away(*a).total_cmp(&away(*b))
            })
    }

    /// The attacks that begin within so many quarters of one.
    pub(super) fn around(&self, attack: usize, before: f64, after: f64) -> Range<usize> {
        let at = self.list[attack].at;
        let from = self.list.partition_point(|a| a.at < at - before);
        let to = self.list.partition_point(|a| a.at <= at + after);
        from..to
    }
}

/// Which keys are down.
#[derive(Default)]
struct Keys {
    down: Vec<u32>,
    ends: BinaryHeap<Reverse<(Tick, u8)>>,
}

impl Keys {
    /// The pitches down once keys let go by `until` are up and new ones are struck.
    fn at(&mut self, until: Tick, new: &[ReadNote]) -> u128 {
        self.down.resize(128, 0);
        while let Some(Reverse((end, pitch))) = self.ends.peek().copied()
            && end <= until
        {
            self.down[usize::from(pitch)] -= 1;
            self.ends.pop();
        }
        for note in new {
            let pitch = note.pitch.midi().min(127);
            self.down[usize::from(pitch)] += 1;
            self.ends.push(Reverse((note.end(), pitch)));
        }
        (0..128_u8)
            .filter(|p| self.down[usize::from(*p)] > 0)
            .fold(0, |all, p| all | bit(p))
    }
}
