//! The nine tables of a SoundFont, each with its end record, and the samples that they point to.

use super::chunks::chunk;
use super::{Generator, Preset, Zone};

/// Numbers of generators that the writer sets itself.
const INSTRUMENT: u16 = 41;
const KEY_RANGE: u16 = 43;
const SAMPLE: u16 = 53;
/// Zero samples after each sample, as the specification asks.
const GAP: usize = 46;
/// Samples of a loop that are written again before and after it, for players that look ahead (the specification
/// asks for 8).
const AROUND: usize = 8;
/// A sample of one channel.
const MONO: u16 = 1;

/// The tables as bytes.
#[derive(Default)]
pub(super) struct Records {
    pub samples: Vec<u8>,
    preset_heads: Vec<u8>,
    preset_bags: Vec<u8>,
    preset_generators: Vec<u8>,
    heads: Vec<u8>,
    bags: Vec<u8>,
    generators: Vec<u8>,
    sample_heads: Vec<u8>,
}

/// A name in 20 bytes, the last of them zero.
fn name(text: &str) -> [u8; 20] {
    let mut bytes = [0; 20];
    let letters = text.bytes().filter(|b| b.is_ascii_graphic() || *b == b' ');
    for (to, from) in bytes.iter_mut().take(19).zip(letters) {
        *to = from;
    }
    bytes
}

fn words(to: &mut Vec<u8>, words: &[u16]) {
    for word in words {
        to.extend_from_slice(&word.to_le_bytes());
    }
}

/// How many records of a size there are.
fn count(bytes: &[u8], size: usize) -> u16 {
    (bytes.len() / size) as u16
}

impl Records {
    pub(super) fn of(presets: &[Preset]) -> Self {
        let mut made = Self::default();
        for (i, preset) in presets.iter().enumerate() {
            made.preset(i as u16, preset);
        }
        made.ends();
        made
    }

    /// A preset of one zone, which plays an instrument of its own.
    fn preset(&mut self, at: u16, preset: &Preset) {
        let bag = count(&self.preset_bags, 4);
        self.preset_head(&preset.name, preset.program, preset.bank, bag);
        let generator = count(&self.preset_generators, 4);
        words(&mut self.preset_bags, &[generator, 0]);
        words(&mut self.preset_generators, &[INSTRUMENT, at]);
        self.heads.extend_from_slice(&name(&preset.name));
        let bag = count(&self.bags, 4);
        words(&mut self.heads, &[bag]);
        for zone in &preset.zones {
            self.zone(&preset.name, zone);
        }
    }

    fn preset_head(&mut self, title: &str, program: u16, bank: u16, bag: u16) {
        self.preset_heads.extend_from_slice(&name(title));
        words(&mut self.preset_heads, &[program, bank, bag]);
        self.preset_heads.extend_from_slice(&[0; 12]);
    }

    /// Its generators: keys first, the sample last, as the specification asks.
    fn zone(&mut self, title: &str, zone: &Zone) {
        let first = count(&self.generators, 4);
        words(&mut self.bags, &[first, 0]);
        let keys = u16::from(zone.keys.0) | u16::from(zone.keys.1) << 8;
        words(&mut self.generators, &[KEY_RANGE, keys]);
        let mode = (Generator::SampleMode, i16::from(zone.looped));
        for (generator, value) in zone.generators.iter().copied().chain([mode]) {
            words(&mut self.generators, &[generator as u16, value as u16]);
        }
        let sample = count(&self.sample_heads, 46);
        words(&mut self.generators, &[SAMPLE, sample]);
        self.sample(title, zone);
    }

    fn sample(&mut self, title: &str, zone: &Zone) {
        let start = (self.samples.len() / 2) as u32;
        let around = if zone.looped {
            AROUND.min(zone.samples.len())
        } else {
            0
        };
        let before = zone.samples.iter().skip(zone.samples.len() - around);
        let all = before
            .chain(&zone.samples)
            .chain(zone.samples.iter().take(around));
        for sample in all {
            self.samples.extend_from_slice(&sample.to_le_bytes());
        }
        let end = (self.samples.len() / 2) as u32;
        self.samples.resize(self.samples.len() + 2 * GAP, 0);
        let around = around as u32;
        self.sample_heads.extend_from_slice(&name(title));
        for place in [start, end, start + around, end - around, zone.rate] {
            self.sample_heads.extend_from_slice(&place.to_le_bytes());
        }
        self.sample_heads.push(zone.root);
        self.sample_heads
            .extend_from_slice(&zone.correction.to_le_bytes());
        words(&mut self.sample_heads, &[0, MONO]);
    }

    /// The end records.
    fn ends(&mut self) {
        let bag = count(&self.preset_bags, 4);
        self.preset_head("EOP", 0, 0, bag);
        let generator = count(&self.preset_generators, 4);
        words(&mut self.preset_bags, &[generator, 0]);
        words(&mut self.preset_generators, &[0, 0]);
        self.heads.extend_from_slice(&name("EOI"));
        let bag = count(&self.bags, 4);
        words(&mut self.heads, &[bag]);
        let generator = count(&self.generators, 4);
        words(&mut self.bags, &[generator, 0]);
        words(&mut self.generators, &[0, 0]);
        self.sample_heads.extend_from_slice(&name("EOS"));
        self.sample_heads.resize(self.sample_heads.len() + 26, 0);
    }

    /// The nine chunks in their order; no modulators, so their tables hold the end record alone.
    pub(super) fn chunks(&self) -> [Vec<u8>; 9] {
        [
            chunk(b"phdr", &self.preset_heads),
            chunk(b"pbag", &self.preset_bags),
            chunk(b"pmod", &[0; 10]),
            chunk(b"pgen", &self.preset_generators),
            chunk(b"inst", &self.heads),
            chunk(b"ibag", &self.bags),
            chunk(b"imod", &[0; 10]),
            chunk(b"igen", &self.generators),
            chunk(b"shdr", &self.sample_heads),
        ]
    }
}
