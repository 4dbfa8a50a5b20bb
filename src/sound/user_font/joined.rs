//! A small SoundFont of what is needed alone, in memory: presets of several files, each with an instrument of its
//! own, and of their samples what sounds.

use super::error::FontError;
use super::region::{Cut, Region};
use super::riff::Readable;
use super::settings::KEYS;
use super::tables::{INSTRUMENT, SAMPLE};
use crate::sound::sound_font::chunk;
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

/// Zero samples after each stretch, as the specification asks.
const GAP: usize = 46;
/// A sample of one channel.
const MONO: u16 = 1;
const MODE: u16 = 54;
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
    let tables = [
        presets(entries),
        of_instruments(instruments, &cuts),
        vec![chunk(b"shdr", &heads(&cuts, &stretches, &places))],
    ];
    let info = list(
        b"INFO",
        &[
            chunk(b"ifil", &[2, 0, 1, 0]),
            chunk(b"isng", b"EMU8000\0"),
            chunk(b"INAM", b"font\0\0"),
        ],
    );
    let tables = list(b"pdta", &tables.concat());
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

fn list(name: &[u8; 4], chunks: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = name.to_vec();
    for one in chunks {
        bytes.extend_from_slice(one);
    }
    chunk(b"LIST", &bytes)
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

fn words(to: &mut Vec<u8>, words: &[u16]) {
    for word in words {
        to.extend_from_slice(&word.to_le_bytes());
    }
}

/// A name in 20 bytes, the last of them zero.
fn name(text: &str) -> [u8; 20] {
    let mut bytes = [0; 20];
    for (to, from) in bytes.iter_mut().take(19).zip(text.bytes()) {
        *to = from;
    }
    bytes
}

/// How many records of a size there are.
fn count(bytes: &[u8], size: usize) -> u16 {
    (bytes.len() / size) as u16
}

/// The tables of presets, of a zone each.
fn presets(entries: &[Entry]) -> Vec<Vec<u8>> {
    let (mut heads, mut bags, mut generators) = (Vec::new(), Vec::new(), Vec::new());
    let mut head = |title: &str, program: u16, bank: u16, bag: usize| {
        heads.extend_from_slice(&name(title));
        words(&mut heads, &[program, bank, bag as u16]);
        heads.extend_from_slice(&[0; 12]);
    };
    for (i, entry) in entries.iter().enumerate() {
        let bank = if entry.drums {
            DRUMS
        } else {
            u16::from(entry.bank)
        };
        head(&entry.name, u16::from(entry.program), bank, i);
        words(&mut bags, &[i as u16, 0]);
        words(&mut generators, &[INSTRUMENT, entry.instrument as u16]);
    }
    head("EOP", 0, 0, entries.len());
    words(&mut bags, &[entries.len() as u16, 0]);
    words(&mut generators, &[0, 0]);
    vec![
        chunk(b"phdr", &heads),
        chunk(b"pbag", &bags),
        chunk(b"pmod", &[0; 10]),
        chunk(b"pgen", &generators),
    ]
}

/// The tables of instruments.
fn of_instruments(instruments: &[Vec<Region>], cuts: &BTreeSet<Cut>) -> Vec<Vec<u8>> {
    let order: BTreeMap<Cut, u16> = cuts.iter().copied().zip(0..).collect();
    let (mut heads, mut bags, mut generators) = (Vec::new(), Vec::new(), Vec::new());
    for regions in instruments {
        heads.extend_from_slice(&name("instrument"));
        words(&mut heads, &[count(&bags, 4)]);
        for region in regions {
            words(&mut bags, &[count(&generators, 4), 0]);
            let keys = u16::from(region.keys.0) | u16::from(region.keys.1) << 8;
            words(&mut generators, &[KEYS, keys]);
            for (number, value) in &region.set {
                words(&mut generators, &[*number, *value as u16]);
            }
            words(&mut generators, &[MODE, region.mode.number() as u16]);
            let sample = order.get(&region.cut).copied().unwrap_or_default();
            words(&mut generators, &[SAMPLE, sample]);
        }
    }
    heads.extend_from_slice(&name("EOI"));
    words(&mut heads, &[count(&bags, 4)]);
    words(&mut bags, &[count(&generators, 4), 0]);
    words(&mut generators, &[0, 0]);
    vec![
        chunk(b"inst", &heads),
        chunk(b"ibag", &bags),
        chunk(b"imod", &[0; 10]),
        chunk(b"igen", &generators),
    ]
}

/// The table of samples: what is cut out, where it is now.
fn heads(cuts: &BTreeSet<Cut>, stretches: &[Stretch], places: &[u32]) -> Vec<u8> {
    let mut bytes = Vec::new();
    for cut in cuts {
        let holds = |s: &Stretch| (s.source, s.from) <= (cut.source, cut.from);
        let at = stretches.partition_point(holds).saturating_sub(1);
        let moved = match (stretches.get(at), places.get(at)) {
            (Some(stretch), Some(place)) => i64::from(*place) - i64::from(stretch.from),
            _ => 0,
        };
        bytes.extend_from_slice(&name("sample"));
        for place in [cut.from, cut.to, cut.loop_from, cut.loop_to] {
            let place = (i64::from(place) + moved) as u32;
            bytes.extend_from_slice(&place.to_le_bytes());
        }
        bytes.extend_from_slice(&cut.rate.to_le_bytes());
        bytes.push(cut.root);
        bytes.extend_from_slice(&cut.correction.to_le_bytes());
        words(&mut bytes, &[0, MONO]);
    }
    bytes.extend_from_slice(&name("EOS"));
    bytes.resize(bytes.len() + 26, 0);
    bytes
}
