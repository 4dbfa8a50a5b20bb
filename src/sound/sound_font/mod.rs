//! A SoundFont 2.01 file in memory (E-mu Systems and Creative Technology, SoundFont Technical Specification 2.01,
//! 1998, MEM): what is sampled, which keys play it, and how.

mod chunks;
mod records;

pub use chunks::chunk;
use chunks::list;
use records::Records;

/// A generator of the specification that is used here, with its number.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[repr(u16)]
pub enum Generator {
    /// How far the vibrato goes, cents.
    VibratoToPitch = 6,
    /// How far the second envelope opens the filter, cents.
    EnvelopeToFilter = 11,
    /// Where the filter stands, absolute cents.
    Filter = 8,
    /// When vibrato begins, timecents.
    VibratoDelay = 23,
    /// How fast it is, absolute cents.
    VibratoRate = 24,
    /// Attack of the second envelope, timecents.
    FilterAttack = 26,
    /// Release of the second envelope, timecents.
    FilterRelease = 30,
    /// Attack, timecents.
    Attack = 34,
    /// Release, timecents.
    Release = 38,
    /// 0: once, 1: looped.
    SampleMode = 54,
    /// Cents a key.
    ScaleTuning = 56,
}

/// A sample and its place among keys.
#[derive(Clone, PartialEq, Debug)]
pub struct Zone {
    /// The MIDI notes that play it, both ends included.
    pub keys: (u8, u8),
    /// The MIDI note that it has by itself.
    pub root: u8,
    /// What is to be added to its pitch to be its root's, cents.
    pub correction: i8,
    /// The samples.
    pub samples: Vec<i16>,
    /// How many of them a second.
    pub rate: u32,
    /// Whether all of it is a loop.
    pub looped: bool,
    /// How it is played; their order does not matter.
    pub generators: Vec<(Generator, i16)>,
}

/// What a bank and a program play.
#[derive(Clone, PartialEq, Debug)]
pub struct Preset {
    /// Its name: 19 letters of ASCII count.
    pub name: String,
    /// Bank; 128 for drums.
    pub bank: u16,
    /// Program from 0.
    pub program: u16,
    /// Its samples; zones may overlap, then both sound.
    pub zones: Vec<Zone>,
}

/// The file, to the byte the same for the same presets.
#[must_use]
pub fn sound_font(name: &str, presets: &[Preset]) -> Vec<u8> {
    let records = Records::of(presets);
    let info = list(
        b"INFO",
        &[
            chunk(b"ifil", &[2, 0, 1, 0]),
            chunk(b"isng", b"EMU8000\0"),
            chunk(b"INAM", &zero_ended(name)),
        ],
    );
    let samples = list(b"sdta", &[chunk(b"smpl", &records.samples)]);
    let mut file = b"sfbk".to_vec();
    file.extend(info);
    file.extend(samples);
    file.extend(list(b"pdta", &records.chunks()));
    chunk(b"RIFF", &file)
}

/// A text that ends with one zero or two, so that its length is even.
fn zero_ended(text: &str) -> Vec<u8> {
    let mut bytes: Vec<u8> = text
        .bytes()
        .filter(|b| b.is_ascii_graphic() || *b == b' ')
        .collect();
    bytes.truncate(254);
    bytes.push(0);
    if bytes.len() % 2 == 1 {
        bytes.push(0);
    }
    bytes
}
