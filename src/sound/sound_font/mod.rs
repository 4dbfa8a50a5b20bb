//! A SoundFont 2.01 file in memory (E-mu Systems and Creative Technology, SoundFont Technical Specification 2.01,
//! 1998, MEM): what is sampled, which keys play it, and how.

mod chunks;
mod generators;
mod records;

pub use chunks::chunk;
pub(super) use chunks::list;
pub use generators::Generator;
pub(super) use generators::{INSTRUMENT, KEYS, MODE, SAMPLE};
pub(super) use records::{GAP, Records, SampleHead};

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

/// Samples of a loop that are written again before and after it, for players that look ahead (the specification
/// asks for 8).
const AROUND: usize = 8;

/// The file, to the byte the same for the same presets.
#[must_use]
pub fn sound_font(name: &str, presets: &[Preset]) -> Vec<u8> {
    let mut records = Records::default();
    let mut samples = Vec::new();
    for (i, preset) in presets.iter().enumerate() {
        let title = &preset.name;
        // An instrument of its own.
        records.preset(title, (preset.bank, preset.program), i as u16);
        records.instrument(title);
        for zone in &preset.zones {
            let sample = records.sample(title, written(zone, &mut samples));
            let set = zone.generators.iter().map(|(g, value)| (*g as u16, *value));
            records.zone(zone.keys, set, i16::from(zone.looped), sample);
        }
    }
    let samples = list(b"sdta", &[chunk(b"smpl", &samples)]);
    let mut file = b"sfbk".to_vec();
    file.extend(info(name));
    file.extend(samples);
    file.extend(list(b"pdta", &records.chunks()));
    chunk(b"RIFF", &file)
}

/// Writes the samples of a zone after others, and says where they are.
fn written(zone: &Zone, samples: &mut Vec<u8>) -> SampleHead {
    let start = (samples.len() / 2) as u32;
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
        samples.extend_from_slice(&sample.to_le_bytes());
    }
    let end = (samples.len() / 2) as u32;
    samples.resize(samples.len() + 2 * GAP, 0);
    let around = around as u32;
    SampleHead {
        places: [start, end, start + around, end - around],
        rate: zone.rate,
        root: zone.root,
        correction: zone.correction,
    }
}

/// What a file says of itself.
pub(super) fn info(name: &str) -> Vec<u8> {
    list(
        b"INFO",
        &[
            chunk(b"ifil", &[2, 0, 1, 0]),
            chunk(b"isng", b"EMU8000\0"),
            chunk(b"INAM", &zero_ended(name)),
        ],
    )
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
