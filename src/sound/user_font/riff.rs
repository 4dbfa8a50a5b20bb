//! Finds the parts of a SoundFont in its file: nothing is read that lies outside of what contains it, and nothing
//! is held but the tables.

use super::error::FontError;
use std::io::{Read, Seek, SeekFrom};

/// What can be read at any place.
pub(super) trait Readable: Read + Seek {}

impl<T: Read + Seek> Readable for T {}

/// The nine tables of a SoundFont, in their order, without those of modulators.
pub(super) const TABLES: [&[u8; 4]; 7] = [
    b"phdr", b"pbag", b"pgen", b"inst", b"ibag", b"igen", b"shdr",
];

/// Most bytes of a table: 65,536 records, as many as can be counted, of the largest size, and then some (ours).
const MOST_TABLE: u64 = 4_000_000;
/// Most bytes of a name that are looked at.
const MOST_NAME: u64 = 256;

/// The parts of a file.
#[derive(Default)]
pub(super) struct Parts {
    /// What it is called; empty for one without a name.
    pub name: String,
    /// Where its samples begin, bytes.
    pub samples_at: u64,
    /// How many samples there are.
    pub samples: u32,
    /// The tables.
    pub tables: [Vec<u8>; 7],
}

/// A chunk: its name, where its bytes are, and how many.
#[derive(Clone, Copy)]
struct Chunk {
    name: [u8; 4],
    at: u64,
    length: u64,
}

/// The parts of a file of so many bytes.
pub(super) fn parts(file: &mut dyn Readable, length: u64) -> Result<Parts, FontError> {
    if length < 12 {
        return Err(FontError::NoSoundFont);
    }
    let riff = chunk(file, 0)?;
    let form = four(file, riff.at)?;
    if &riff.name != b"RIFF" || &form != b"sfbk" {
        return Err(FontError::NoSoundFont);
    }
    let end = riff.at + riff.length;
    if end > length {
        return Err(FontError::damaged("it is cut short"));
    }
    let mut found = Parts::default();
    let mut seen = [false; 3];
    for list in chunks(file, riff.at + 4, end)? {
        if &list.name != b"LIST" || list.length < 4 {
            continue;
        }
        let inside = chunks(file, list.at + 4, list.at + list.length)?;
        match &four(file, list.at)? {
            b"INFO" => {
                seen[0] = true;
                info(file, &inside, &mut found)?;
            }
            b"sdta" => {
                seen[1] = true;
                samples(file, &inside, &mut found)?;
            }
            b"pdta" => {
                seen[2] = true;
                tables(file, &inside, &mut found)?;
            }
            _ => {}
        }
    }
    if seen == [true; 3] {
        Ok(found)
    } else {
        Err(FontError::damaged("a list is missing"))
    }
}

fn four(file: &mut dyn Readable, at: u64) -> Result<[u8; 4], FontError> {
    let mut bytes = [0; 4];
    file.seek(SeekFrom::Start(at))?;
    file.read_exact(&mut bytes)?;
    Ok(bytes)
}

fn chunk(file: &mut dyn Readable, at: u64) -> Result<Chunk, FontError> {
    Ok(Chunk {
        name: four(file, at)?,
        length: u64::from(u32::from_le_bytes(four(file, at + 4)?)),
        at: at + 8,
    })
}

/// The chunks of a stretch of the file.
fn chunks(file: &mut dyn Readable, mut at: u64, end: u64) -> Result<Vec<Chunk>, FontError> {
    let mut found = Vec::new();
    while at + 8 <= end {
        let next = chunk(file, at)?;
        if next.at + next.length > end {
            let name = String::from_utf8_lossy(&next.name).trim().to_owned();
            return Err(FontError::damaged(format!(
                "the chunk {name:?} goes beyond its end"
            )));
        }
        at = next.at + next.length + next.length % 2;
        found.push(next);
        if found.len() > MOST_CHUNKS {
            return Err(FontError::damaged("it is cut into too many pieces"));
        }
    }
    Ok(found)
}

/// Most chunks of a list (ours): the specification knows eleven.
const MOST_CHUNKS: usize = 100;

fn bytes(file: &mut dyn Readable, chunk: Chunk) -> Result<Vec<u8>, FontError> {
    let mut bytes = vec![0; chunk.length as usize];
    file.seek(SeekFrom::Start(chunk.at))?;
    file.read_exact(&mut bytes)?;
    Ok(bytes)
}

fn info(file: &mut dyn Readable, chunks: &[Chunk], found: &mut Parts) -> Result<(), FontError> {
    for one in chunks {
        match &one.name {
            // The version of what is compressed is 3; that of the specification, 2.
            b"ifil" if one.length >= 2 && four(file, one.at)?[0] == 3 => {
                return Err(FontError::Compressed);
            }
            b"INAM" => {
                let length = one.length.min(MOST_NAME);
                let name = bytes(file, Chunk { length, ..*one })?;
                found.name = text(&name);
            }
            _ => {}
        }
    }
    Ok(())
}

/// The letters of a field that ends with zero.
pub(super) fn text(bytes: &[u8]) -> String {
    let letters = bytes.iter().take_while(|b| **b != 0);
    let plain = letters.filter(|b| b.is_ascii_graphic() || **b == b' ');
    let text: String = plain.map(|b| char::from(*b)).collect();
    text.trim().to_owned()
}

fn samples(file: &mut dyn Readable, chunks: &[Chunk], found: &mut Parts) -> Result<(), FontError> {
    let Some(chunk) = chunks.iter().find(|c| &c.name == b"smpl") else {
        return Err(FontError::damaged("it has no samples"));
    };
    if chunk.length < 4 {
        return Err(FontError::damaged("it has no samples"));
    }
    if &four(file, chunk.at)? == b"OggS" {
        return Err(FontError::Compressed);
    }
    found.samples_at = chunk.at;
    found.samples = (chunk.length / 2) as u32;
    Ok(())
}

fn tables(file: &mut dyn Readable, chunks: &[Chunk], found: &mut Parts) -> Result<(), FontError> {
    for (name, table) in TABLES.iter().zip(&mut found.tables) {
        let title = String::from_utf8_lossy(*name);
        let Some(chunk) = chunks.iter().find(|c| &&c.name == name) else {
            return Err(FontError::damaged(format!("the table {title} is missing")));
        };
        if chunk.length > MOST_TABLE {
            return Err(FontError::damaged(format!("the table {title} is too long")));
        }
        *table = bytes(file, *chunk)?;
    }
    Ok(())
}
