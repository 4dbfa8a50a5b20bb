//! The tables of a SoundFont as records: presets and instruments with the zones that belong to them, samples.

use super::error::FontError;
use super::riff::{Parts, TABLES, text};
use std::ops::Range;

/// What generators are set, in the order of the file.
pub(super) type Generators<'a> = &'a [(u16, i16)];

/// A preset or an instrument.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Head {
    pub name: String,
    /// Both 0 for an instrument.
    pub program: u16,
    pub bank: u16,
    /// Its zones.
    zones: Range<usize>,
}

/// Where a sample is, and at what pitch.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Sample {
    /// Places among the samples of the file: from, to, of the loop from, to.
    pub places: [u32; 4],
    pub rate: u32,
    pub root: u8,
    pub correction: i8,
    pub kind: u16,
}

/// What the zones of presets, or of instruments, are made of.
#[derive(Debug)]
struct Level {
    heads: Vec<Head>,
    /// For each zone its generators.
    zones: Vec<Range<usize>>,
    generators: Vec<(u16, i16)>,
}

/// All tables.
#[derive(Debug)]
pub(super) struct Tables {
    presets: Level,
    instruments: Level,
    samples: Vec<Sample>,
}

impl Tables {
    /// The tables of a file; every index of theirs has been looked at.
    pub(super) fn of(parts: &Parts) -> Result<Self, FontError> {
        let [phdr, pbag, pgen, inst, ibag, igen, shdr] = &parts.tables;
        let preset = |r: &[u8]| (word(r, 20), word(r, 22), word(r, 24));
        let instrument = |r: &[u8]| (0, 0, word(r, 20));
        Ok(Self {
            presets: level(&heads(phdr, (38, 0), preset)?, pbag, pgen, 1)?,
            instruments: level(&heads(inst, (22, 3), instrument)?, ibag, igen, 4)?,
            samples: samples(shdr)?,
        })
    }

    pub(super) fn presets(&self) -> &[Head] {
        &self.presets.heads
    }

    /// An instrument, if there is one.
    pub(super) fn instrument(&self, index: usize) -> Option<&Head> {
        self.instruments.heads.get(index)
    }

    pub(super) fn samples(&self) -> &[Sample] {
        &self.samples
    }

    pub(super) fn preset_zones(&self, head: &Head) -> impl Iterator<Item = Generators<'_>> {
        self.presets.zones(head)
    }

    pub(super) fn instrument_zones(&self, head: &Head) -> impl Iterator<Item = Generators<'_>> {
        self.instruments.zones(head)
    }
}

impl Level {
    fn zones(&self, head: &Head) -> impl Iterator<Item = Generators<'_>> {
        let zones = self.zones.get(head.zones.clone()).unwrap_or_default();
        zones
            .iter()
            .map(|z| self.generators.get(z.clone()).unwrap_or_default())
    }
}

fn word(record: &[u8], at: usize) -> u16 {
    match record.get(at..at + 2) {
        Some([low, high]) => u16::from_le_bytes([*low, *high]),
        _ => 0,
    }
}

fn long(record: &[u8], at: usize) -> u32 {
    u32::from(word(record, at)) | u32::from(word(record, at + 2)) << 16
}

/// The records of a table without the last, which marks the end, and the last.
fn records(bytes: &[u8], size: usize, table: usize) -> Result<(Vec<&[u8]>, &[u8]), FontError> {
    let mut records: Vec<&[u8]> = bytes.chunks_exact(size).collect();
    let whole = bytes.len().is_multiple_of(size);
    match records.pop() {
        Some(last) if whole => Ok((records, last)),
        _ => {
            let name = String::from_utf8_lossy(TABLES[table]);
            Err(FontError::damaged(format!(
                "the table {name} is not made of whole records"
            )))
        }
    }
}

/// What each of the heads begins with, of what program and bank it is, and with which zone it begins; where the
/// last one ends.
type Heads = (Vec<(String, u16, u16, usize)>, usize);

fn heads(
    bytes: &[u8],
    (size, table): (usize, usize),
    read: impl Fn(&[u8]) -> (u16, u16, u16),
) -> Result<Heads, FontError> {
    let (records, last) = records(bytes, size, table)?;
    let one = |r: &&[u8]| {
        let (program, bank, zone) = read(r);
        let name = r.get(..20).map(text).unwrap_or_default();
        (name, program, bank, usize::from(zone))
    };
    let end = usize::from(read(last).2);
    Ok((records.iter().map(one).collect(), end))
}

/// Stretches from each place to the next one, the last to an end; refused where one is turned round.
fn stretches(
    starts: impl Iterator<Item = usize>,
    end: usize,
    most: usize,
    table: usize,
) -> Result<Vec<Range<usize>>, FontError> {
    let places: Vec<usize> = starts.chain([end]).collect();
    let stretches = places.windows(2).map(|w| w[0]..w[1]);
    let found: Vec<Range<usize>> = stretches.collect();
    if found.iter().all(|s| s.start <= s.end && s.end <= most) {
        return Ok(found);
    }
    let name = String::from_utf8_lossy(TABLES[table]);
    Err(FontError::damaged(format!(
        "the table {name} points to what is not there"
    )))
}

/// Heads, zones and generators; `bags` is which table is that of the zones.
fn level(heads: &Heads, bag: &[u8], gens: &[u8], bags: usize) -> Result<Level, FontError> {
    let (bag, bag_end) = records(bag, 4, bags)?;
    let (mut gens, last) = records(gens, 4, bags + 1)?;
    // Some files lack the end record of generators.
    gens.push(last);
    let starts = bag.iter().map(|r| usize::from(word(r, 0)));
    let end = usize::from(word(bag_end, 0));
    let zones = stretches(starts, end, gens.len(), bags)?;
    let (heads, end) = heads;
    let own = stretches(heads.iter().map(|h| h.3), *end, zones.len(), bags - 1)?;
    let head = |(h, zones): (&(String, u16, u16, usize), Range<usize>)| Head {
        name: h.0.clone(),
        program: h.1,
        bank: h.2,
        zones,
    };
    Ok(Level {
        heads: heads.iter().zip(own).map(head).collect(),
        zones,
        generators: gens
            .iter()
            .map(|r| (word(r, 0), word(r, 2) as i16))
            .collect(),
    })
}

/// The kind of sample that is compressed.
const COMPRESSED: u16 = 0x10;

fn samples(bytes: &[u8]) -> Result<Vec<Sample>, FontError> {
    let (records, _) = records(bytes, 46, 6)?;
    let one = |r: &&[u8]| Sample {
        places: [20, 24, 28, 32].map(|at| long(r, at)),
        rate: long(r, 36),
        root: r.get(40).copied().unwrap_or_default(),
        correction: r.get(41).copied().unwrap_or_default() as i8,
        kind: word(r, 44),
    };
    let samples: Vec<Sample> = records.iter().map(one).collect();
    if samples.iter().any(|s| s.kind & COMPRESSED != 0) {
        return Err(FontError::Compressed);
    }
    Ok(samples)
}
