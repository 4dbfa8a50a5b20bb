//! The nine tables of a SoundFont as they are filled, each with its end record. What has records in other tables
//! points to those that come next there.

use super::chunks::chunk;
use super::generators::{INSTRUMENT, KEYS, MODE, SAMPLE};

/// Zero samples after each sample, as the specification asks.
pub(in crate::sound) const GAP: usize = 46;
/// A sample of one channel.
const MONO: u16 = 1;

/// A sample: where it begins and ends, where its loop does, samples from the first of all, and how high it is.
#[derive(Clone, Copy, Debug)]
pub(in crate::sound) struct SampleHead {
    pub places: [u32; 4],
    pub rate: u32,
    pub root: u8,
    pub correction: i8,
}

/// The tables as bytes.
#[derive(Default)]
pub(in crate::sound) struct Records {
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
    /// A preset of one zone, which plays an instrument.
    pub fn preset(&mut self, title: &str, (bank, program): (u16, u16), instrument: u16) {
        self.preset_head(title, program, bank);
        words(&mut self.preset_generators, &[INSTRUMENT, instrument]);
    }

    fn preset_head(&mut self, title: &str, program: u16, bank: u16) {
        let bag = count(&self.preset_bags, 4);
        self.preset_heads.extend_from_slice(&name(title));
        words(&mut self.preset_heads, &[program, bank, bag]);
        self.preset_heads.extend_from_slice(&[0; 12]);
        let generator = count(&self.preset_generators, 4);
        words(&mut self.preset_bags, &[generator, 0]);
    }

    /// An instrument; the zones that come next are its own.
    pub fn instrument(&mut self, title: &str) {
        let bag = count(&self.bags, 4);
        self.heads.extend_from_slice(&name(title));
        words(&mut self.heads, &[bag]);
    }

    /// A zone of a sample: keys first, the sample last, as the specification asks.
    pub fn zone(
        &mut self,
        keys: (u8, u8),
        set: impl IntoIterator<Item = (u16, i16)>,
        mode: i16,
        sample: u16,
    ) {
        let first = count(&self.generators, 4);
        words(&mut self.bags, &[first, 0]);
        let keys = u16::from(keys.0) | u16::from(keys.1) << 8;
        words(&mut self.generators, &[KEYS, keys]);
        for (number, value) in set.into_iter().chain([(MODE, mode)]) {
            words(&mut self.generators, &[number, value as u16]);
        }
        words(&mut self.generators, &[SAMPLE, sample]);
    }

    /// A sample; gives its number.
    pub fn sample(&mut self, title: &str, head: SampleHead) -> u16 {
        let number = count(&self.sample_heads, 46);
        self.sample_heads.extend_from_slice(&name(title));
        for place in head.places.into_iter().chain([head.rate]) {
            self.sample_heads.extend_from_slice(&place.to_le_bytes());
        }
        self.sample_heads.push(head.root);
        self.sample_heads
            .extend_from_slice(&head.correction.to_le_bytes());
        words(&mut self.sample_heads, &[0, MONO]);
        number
    }

    /// The nine chunks in their order, with their end records; no modulators, so their tables hold the end record alone.
    pub fn chunks(mut self) -> [Vec<u8>; 9] {
        self.preset_head("EOP", 0, 0);
        words(&mut self.preset_generators, &[0, 0]);
        self.instrument("EOI");
        let generator = count(&self.generators, 4);
        words(&mut self.bags, &[generator, 0]);
        words(&mut self.generators, &[0, 0]);
        self.sample_heads.extend_from_slice(&name("EOS"));
        self.sample_heads.resize(self.sample_heads.len() + 26, 0);
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
