//! Damaged MusicXML by the thousand: whatever the text, reading ends soon, in an answer or in an error.
//!
//! ```sh
//! cargo bench --bench fuzz_musicxml                                     # a few thousand inputs
//! cargo bench --bench fuzz_musicxml -- --inputs 1000000 --corpus DIR    # as many as wanted, of a folder's files
//! ```
//!
//! The corpus is every `.xml`, `.musicxml` and `.mxl` file below the folder, after a small score made here. An input is
//! one of them with one to eight changes: elements cut out, doubled or moved in from another file, numbers made extreme;
//! seldom bytes set, flipped or cut off. The changes follow from the input's number alone.

#![allow(
    clippy::expect_used,
    clippy::panic,
    reason = "a fault ends the run and names the input that shows it"
)]

use bandwright::sketch::{Song, read_any, read_sketch};
use damage::{Numbers, Trial};
use std::ops::Range;
use std::time::Duration;

#[path = "damage.rs"]
mod damage;

/// What an input may take by the clock: this, and this a byte; far over what is measured.
const MOST: Duration = Duration::from_secs(20);
const MOST_A_BYTE: Duration = Duration::from_micros(50);
/// Larger files of the corpus are left out.
const MOST_BYTES: usize = 120_000;
/// Texts that numbers are replaced with.
const EXTREMES: [&str; 12] = [
    "0",
    "-1",
    "1",
    "255",
    "32768",
    "4294967296",
    "99999999999999999999",
    "1e308",
    "0.0001",
    "NaN",
    "",
    "x",
];
/// A small score with a bit of all: two staves, a drum, ties, graces, repeats, jumps, marks.
const SMALL: &str = include_str!("../fixtures/small.musicxml");

fn main() {
    let trial = Trial {
        usual: 3_000,
        endings: &["xml", "musicxml", "mxl"],
        most_bytes: MOST_BYTES,
        most: MOST,
        most_a_byte: MOST_A_BYTE,
        input,
        read: |input| read_any(input).map(|song| check(&song).map_err(str::to_owned)),
    };
    trial.run(vec![SMALL.as_bytes().to_vec()]);
}

/// What holds of every song that was read.
fn check(song: &Song) -> Result<usize, &'static str> {
    for track in &song.tracks {
        if track.notes.len() != track.names.len() || track.notes.len() != track.played.len() {
            return Err("names and notes are not as many");
        }
        if !track.notes.is_sorted_by_key(|n| (n.onset, n.pitch)) {
            return Err("notes are out of order");
        }
        if track
            .notes
            .iter()
            .any(|n| n.duration.is_zero() || n.velocity == 0)
        {
            return Err("a note is silent or has no length");
        }
    }
    if song.warnings.len() > 101 {
        return Err("warnings drown the reader");
    }
    let notes: usize = song.tracks.iter().map(|t| t.notes.len()).sum();
    if notes <= 2_000 {
        let _ = read_sketch(song, &[]);
    }
    Ok(notes)
}

fn input(corpus: &[Vec<u8>], number: u64) -> Vec<u8> {
    let mut random = Numbers(number);
    let mut bytes = corpus[random.below(corpus.len())].clone();
    for _ in 0..=random.below(8) {
        change(&mut bytes, corpus, &mut random);
    }
    bytes.truncate(2 * MOST_BYTES);
    bytes
}

/// The next place of a sign from a place on, or the end.
fn next(bytes: &[u8], from: usize, sign: u8) -> usize {
    let rest = bytes.get(from..).unwrap_or_default();
    from.min(bytes.len()) + rest.iter().position(|b| *b == sign).unwrap_or(rest.len())
}

/// Most changes keep the text well-formed, so that what is read is not the parser alone.
fn change(bytes: &mut Vec<u8>, corpus: &[Vec<u8>], random: &mut Numbers) {
    if bytes.is_empty() {
        return bytes.push(random.next() as u8);
    }
    let at = random.below(bytes.len());
    let from = next(bytes, at, b'<');
    match random.below(64) {
        0 => bytes[at] = random.next() as u8,
        1 => bytes[at] ^= 1 << random.below(8),
        2 => bytes.truncate(at),
        3..20 => drop(bytes.drain(element(bytes, at))),
        20..32 => {
            let piece = bytes[element(bytes, at)].to_vec();
            drop(bytes.splice(from..from, piece));
        }
        32..44 => {
            let other = &corpus[random.below(corpus.len())];
            let piece = other[element(other, random.below(other.len()))].to_vec();
            drop(bytes.splice(from..from, piece));
        }
        _ => {
            let Some(digit) = bytes[at..].iter().position(u8::is_ascii_digit) else {
                return;
            };
            let start = at + digit;
            let rest = bytes[start..].iter().position(|b| !b.is_ascii_digit());
            let until = rest.map_or(bytes.len(), |r| start + r);
            let number = EXTREMES[random.below(EXTREMES.len())];
            drop(bytes.splice(start..until, number.bytes()));
        }
    }
}

/// The next whole element from a place on; nothing at the end.
fn element(bytes: &[u8], at: usize) -> Range<usize> {
    let mut from = next(bytes, at, b'<');
    while bytes
        .get(from + 1)
        .is_some_and(|b| !b.is_ascii_alphabetic())
    {
        from = next(bytes, from + 1, b'<');
    }
    let mut depth = 0;
    let mut place = from;
    while place < bytes.len() {
        let end = next(bytes, place, b'>');
        let closes = bytes.get(place + 1) == Some(&b'/');
        let empty = bytes.get(end.saturating_sub(1)) == Some(&b'/');
        depth += i32::from(!closes && !empty) - i32::from(closes);
        place = (end + 1).min(bytes.len());
        if depth <= 0 {
            return from..place;
        }
        place = next(bytes, place, b'<');
    }
    from..from
}
