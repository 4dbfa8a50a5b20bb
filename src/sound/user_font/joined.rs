//! A small SoundFont of what is needed alone, in memory: presets of several files, each with an instrument of its
//! own, and of their samples what sounds.

use super::error::FontError;
use super::region::{Cut, Region};
use super::riff::Readable;
use crate::sound::sound_font::{GAP, Records, SampleHead, info, list};
use std::collections::{BTreeMap, BTreeSet};
use std::io::SeekFrom;

/// Where samples are read.
pub(super) struct Store<'a> {
    pub file: &'a mut dyn Readable,
    /// Where they begin, bytes.
    pub at: u64,
}

/// What a bank and a program play: an index of the instruments.
pub(super) struct Entry {
    pub name: String,
    pub bank: u8,
    pub program: u8,
    /// Its place in the table of drums, which is a bank beyond those that can be told.
    pub drums: bool,
    pub instrument: usize,
}

/// The bank of drums.
const DRUMS: u16 = 128;
/// Most records of a table that the user's font may take: 65,535 can be counted, and the built-in tones are to have room
/// too (they take about 10,000 in all; a test shows it).
const MOST: usize = 50_000;

/// A stretch of a file's samples.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Stretch {
    source: usize,
    from: u32,
    to: u32,
}

/// Whether so many regions still fit in the tables.
pub(super) fn fits<'a>(regions: impl Iterator<Item = &'a Region> + Clone) -> bool {
    // Keys, mode, sample besides what is set.
    let generators: usize = regions.clone().map(|r| r.set.len() + 3).sum();
    generators < MOST && regions.count() < MOST
}

/// The bytes of the file.
pub(super) fn joined(
    stores: &mut [Store],
    instruments: &[Vec<Region>],
    entries: &[Entry],
) -> Result<Vec<u8>, FontError> {
    let cuts: BTreeSet<Cut> = instruments.iter().flatten().map(|r| r.cut).collect();
    let stretches = stretches(&cuts);
    let places = places(&stretches);
    let mut records = Records::default();
    for entry in entries {
        let bank = if entry.drums {
            DRUMS
        } else {
            u16::from(entry.bank)
        };
        let program = u16::from(entry.program);
        records.preset(&entry.name, (bank, program), entry.instrument as u16);
    }
    // Samples are numbered in the order of their cuts.
    let numbers: BTreeMap<Cut, u16> = cuts
        .iter()
        .map(|cut| {
            (
                *cut,
                records.sample("sample", head(cut, &stretches, &places)),
            )
        })
        .collect();
    for regions in instruments {
        records.instrument("instrument");
        for region in regions {
            let sample = numbers.get(&region.cut).copied().unwrap_or_default();
            let set = region.set.iter().copied();
            records.zone(region.keys, set, region.mode.number(), sample);
        }
    }
    let info = info("font");
    let tables = list(b"pdta", &records.chunks());
    let samples = 2 * stretches.iter().map(room).sum::<usize>();
    // Samples take far more than everything else: they are read right to where they belong.
    let length = 4 + info.len() + 20 + samples + tables.len();
    let mut file = Vec::with_capacity(8 + length);
    opened(&mut file, b"RIFF", length);
    file.extend_from_slice(b"sfbk");
    file.extend(info);
    opened(&mut file, b"LIST", 12 + samples);
    file.extend_from_slice(b"sdta");
    opened(&mut file, b"smpl", samples);
    for stretch in &stretches {
        copied(stores, stretch, &mut file)?;
    }
    file.extend(tables);
    Ok(file)
}

/// The beginning of a chunk.
fn opened(file: &mut Vec<u8>, name: &[u8; 4], length: usize) {
    file.extend_from_slice(name);
    file.extend_from_slice(&(length as u32).to_le_bytes());
}

/// The stretches that all cuts together take, none of them overlapping another.
fn stretches(cuts: &BTreeSet<Cut>) -> Vec<Stretch> {
    let mut taken: Vec<Stretch> = cuts
        .iter()
        .map(|c| Stretch {
            source: c.source,
            from: c.from,
            to: c.to.max(c.loop_to),
        })
        .collect();
    taken.sort();
    let mut found: Vec<Stretch> = Vec::new();
    for next in taken {
        match found.last_mut() {
            Some(last) if last.source == next.source && next.from <= last.to => {
                last.to = last.to.max(next.to);
            }
            _ => found.push(next),
        }
    }
    found
}

/// How many samples a stretch takes with the zeros after it.
fn room(stretch: &Stretch) -> usize {
    (stretch.to - stretch.from) as usize + GAP
}

/// Where each stretch begins in the new file, samples.
fn places(stretches: &[Stretch]) -> Vec<u32> {
    let mut next = 0;
    let mut place = |s| {
        let at = next;
        next += room(s);
        at as u32
    };
    stretches.iter().map(&mut place).collect()
}

/// Reads a stretch to the end of the new file.
fn copied(stores: &mut [Store], stretch: &Stretch, to: &mut Vec<u8>) -> Result<(), FontError> {
    let Some(store) = stores.get_mut(stretch.source) else {
        return Err(FontError::Empty);
    };
    let start = to.len();
    to.resize(start + 2 * room(stretch), 0);
    let end = to.len() - 2 * GAP;
    let from = store.at + 2 * u64::from(stretch.from);
    store.file.seek(SeekFrom::Start(from))?;
    if let Some(bytes) = to.get_mut(start..end) {
        store.file.read_exact(bytes)?;
    }
    Ok(())
}

/// Where what is cut out is in the new file.
fn head(cut: &Cut, stretches: &[Stretch], places: &[u32]) -> SampleHead {
    let holds = |s: &Stretch| (s.source, s.from) <= (cut.source, cut.from);
    let at = stretches.partition_point(holds).saturating_sub(1);
    let moved = match (stretches.get(at), places.get(at)) {
        (Some(stretch), Some(place)) => i64::from(*place) - i64::from(stretch.from),
        _ => 0,
    };
    let place = |at: u32| (i64::from(at) + moved) as u32;
    SampleHead {
        places: [cut.from, cut.to, cut.loop_from, cut.loop_to].map(place),
        rate: cut.rate,
        root: cut.root,
        correction: cut.correction,
    }
}
