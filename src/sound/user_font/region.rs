//! Which stretch of which sample sounds at which keys, and whether a synthesizer can play it.

use super::settings::{ATTENUATION, Mode, Settings, VELOCITIES, highest_ratio, together};
use super::tables::{Generators, Head, Sample, Tables};
use crate::sound::sound_font::{INSTRUMENT, KEYS, SAMPLE};
use crate::sound::tones::RATE;

/// A stretch of samples as it is played.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Cut {
    /// Of which file.
    pub source: usize,
    /// From, to.
    pub from: u32,
    pub to: u32,
    /// From, to, of what is repeated; both as `from` where nothing is.
    pub loop_from: u32,
    pub loop_to: u32,
    pub rate: u32,
    pub root: u8,
    pub correction: i8,
}

/// What sounds at some keys.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Region {
    pub keys: (u8, u8),
    pub mode: Mode,
    /// Its other generators.
    pub set: Vec<(u16, i16)>,
    pub cut: Cut,
}

/// The regions of a preset, and how many were left out because they cannot be played.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Found {
    pub regions: Vec<Region>,
    pub left_out: usize,
}

/// Most regions of a preset for a velocity (ours): eight for each key.
const MOST_REGIONS: usize = 1024;
/// Most zones of instruments that are looked at for a preset (ours): more are no instrument but an attempt to keep us
/// busy.
const MOST_LOOKED: usize = 16_384;
/// Most of them that sound together (ours): more would be no instrument, and too much for a synthesizer.
const MOST_TOGETHER: u8 = 16;
/// Slowest and fastest samples, a second (ours; the specification has 400 to 50,000).
const RATES: std::ops::RangeInclusive<u32> = 100..=400_000;
/// How far a loop may go beyond its sample: the zeros that follow each (specification 2.01, MEM).
const BEYOND: u32 = 46;
/// Samples that are not in the file but in a synthesizer of old.
const ROM: u16 = 0x8000;
/// How many times faster than it is recorded a sample may be played (ours), and how many times a loop must be
/// longer than the step from sample to sample: devices may be four times slower than we are.
const FASTEST: f64 = 4096.0;
const SLOWER_DEVICE: f64 = 4.0;

/// Where a generator points: zones without it hold for all that follow, if they come first.
fn zones<'a>(all: impl Iterator<Item = Generators<'a>>, pointer: u16) -> Vec<(Settings, usize)> {
    let (mut common, mut found): (Generators, Vec<(Settings, usize)>) = (&[], Vec::new());
    for (i, zone) in all.enumerate() {
        match zone.iter().position(|(n, _)| *n == pointer) {
            // What stands behind the pointer does not count (specification 2.01, MEM).
            Some(at) => {
                let (own, points) = (&zone[..at], zone[at].1 as u16);
                found.push((Settings::of(common, own), usize::from(points)));
            }
            None if i == 0 => common = zone,
            None => {}
        }
    }
    found
}

/// Whether two ranges share something, and what.
fn shared(a: (u8, u8), b: (u8, u8)) -> Option<(u8, u8)> {
    let both = (a.0.max(b.0), a.1.min(b.1));
    (both.0 <= both.1).then_some(both)
}

/// Two zones that sound together, and at which keys.
struct Met {
    keys: (u8, u8),
    preset: Settings,
    own: Settings,
    sample: usize,
}

/// What a preset plays when struck or blown at a velocity.
///
/// Regions are for every velocity from then on, so that a note's level can be set by velocity without changing
/// its colour. Keys below and above all regions are played by the outermost.
pub(super) fn regions(
    tables: &Tables,
    (source, samples): (usize, u32),
    preset: &Head,
    velocity: u8,
) -> Found {
    let (met, left_out) = met(tables, preset, velocity);
    let lowest = met.iter().map(|m| m.keys.0).min();
    let highest = met.iter().map(|m| m.keys.1).max();
    let (mut crowd, mut found) = (Crowd([0; 128]), Found::default());
    found.left_out = left_out;
    for one in met {
        let (low, high) = one.keys;
        let low = if Some(low) == lowest { 0 } else { low };
        let high = if Some(high) == highest { 127 } else { high };
        let sample = tables.samples().get(one.sample);
        match sample.and_then(|s| region((low, high), &one, s, (source, samples))) {
            Some(region) if crowd.room_for(region.keys) => found.regions.push(region),
            _ => found.left_out += 1,
        }
    }
    turn_up(&mut found.regions);
    found
}

/// The zones of a preset that sound at a velocity, and how many are left out because they are too many.
fn met(tables: &Tables, preset: &Head, velocity: u8) -> (Vec<Met>, usize) {
    let sounds = |s: &Settings| shared(s.range(VELOCITIES), (velocity, velocity)).is_some();
    let (mut met, mut left_out, mut looked) = (Vec::new(), 0, 0);
    for (of_preset, instrument) in zones(tables.preset_zones(preset), INSTRUMENT) {
        let instrument = tables.instrument(instrument);
        let Some(instrument) = instrument.filter(|_| sounds(&of_preset)) else {
            continue;
        };
        if looked > MOST_LOOKED {
            left_out += 1;
            continue;
        }
        for (own, sample) in zones(tables.instrument_zones(instrument), SAMPLE) {
            looked += 1;
            let keys = shared(of_preset.range(KEYS), own.range(KEYS));
            let Some(keys) = keys.filter(|_| sounds(&own)) else {
                continue;
            };
            if met.len() == MOST_REGIONS {
                left_out += 1;
                continue;
            }
            met.push(Met {
                keys,
                preset: of_preset.clone(),
                own,
                sample,
            });
        }
    }
    (met, left_out)
}

/// Takes away what all are turned down by: levels are set by what is heard, and what is soft has to be turned up.
fn turn_up(regions: &mut [Region]) {
    let down = |r: &Region| {
        let set = r.set.iter().find(|(n, _)| *n == ATTENUATION);
        set.map_or(0, |(_, value)| *value)
    };
    let common = regions.iter().map(down).min().unwrap_or(0);
    for (number, value) in regions.iter_mut().flat_map(|r| &mut r.set) {
        if *number == ATTENUATION {
            *value -= common;
        }
    }
}

/// How many regions sound at each key.
struct Crowd([u8; 128]);

impl Crowd {
    /// Whether one more may sound at these keys; if so, it does.
    fn room_for(&mut self, (low, high): (u8, u8)) -> bool {
        let Some(keys) = self.0.get_mut(usize::from(low)..=usize::from(high)) else {
            return false;
        };
        let room = keys.iter().all(|k| *k < MOST_TOGETHER);
        if room {
            for key in keys {
                *key += 1;
            }
        }
        room
    }
}

fn region(
    keys: (u8, u8),
    met: &Met,
    sample: &Sample,
    (source, samples): (usize, u32),
) -> Option<Region> {
    let own = &met.own;
    let mut places = [0; 4];
    for (place, (from, by)) in places.iter_mut().zip(sample.places.iter().zip(own.moves())) {
        // Beyond all samples where it is nowhere.
        *place = u32::try_from(i64::from(*from) + by).unwrap_or(u32::MAX);
    }
    let [from, to, loop_from, loop_to] = places;
    let there = from < to && to <= samples && sample.kind & ROM == 0;
    if !there || !RATES.contains(&sample.rate) {
        return None;
    }
    let repeats = own.mode() != Mode::Once
        && from <= loop_from
        && loop_from < loop_to
        && loop_to <= samples.min(to.saturating_add(BEYOND));
    let root = own.root().unwrap_or_else(|| root_of(sample));
    let region = Region {
        keys,
        mode: if repeats { own.mode() } else { Mode::Once },
        set: together(&met.preset, own),
        cut: Cut {
            source,
            from,
            to,
            loop_from: if repeats { loop_from } else { from },
            loop_to: if repeats { loop_to } else { from },
            rate: sample.rate,
            root,
            correction: sample.correction,
        },
    };
    // The highest keys may be too high for it: then it plays those below.
    let mut tried = (keys.0..=keys.1).rev().map(|high| Region {
        keys: (keys.0, high),
        ..region.clone()
    });
    tried.find(can_be_played)
}

/// The key that a sample has by itself: 255 stands for none, and 60 is to be taken for what is no key
/// (specification 2.01, MEM).
const fn root_of(sample: &Sample) -> u8 {
    if sample.root < 128 { sample.root } else { 60 }
}

/// Whether the synthesizer, which goes back by one loop a sample at most, stays within the loop.
fn can_be_played(region: &Region) -> bool {
    let cut = &region.cut;
    let ratio = highest_ratio(&region.set, cut.root, cut.correction, region.keys);
    if ratio > FASTEST {
        return false;
    }
    let step = ratio * f64::from(cut.rate) / f64::from(RATE);
    region.mode == Mode::Once || step * SLOWER_DEVICE <= f64::from(cut.loop_to - cut.loop_from)
}
