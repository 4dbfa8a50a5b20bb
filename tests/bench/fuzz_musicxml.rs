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
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

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

/// A row of numbers that looks random (Steele, Lea and Flood, "Fast Splittable Pseudorandom
/// Number Generators", OOPSLA 2014: `SplitMix64`).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn below(&mut self, end: usize) -> usize {
        (self.next() % end.max(1) as u64) as usize
    }
}

fn main() {
    let words: Vec<String> = std::env::args().collect();
    let after = |name: &str| {
        words
            .get(words.iter().position(|w| w == name)? + 1)
            .cloned()
    };
    let inputs = after("--inputs").map_or(3_000, |n| n.parse().expect("a number of inputs"));
    let first: u64 = after("--from").map_or(0, |n| n.parse().expect("the number of an input"));
    let mut corpus = vec![SMALL.as_bytes().to_vec()];
    if let Some(folder) = after("--corpus").map(PathBuf::from) {
        gather(&folder, &mut corpus);
    }
    let (mut read, mut refused, mut notes) = (0_u64, 0_u64, 0_usize);
    let mut worst = (Duration::ZERO, 0);
    for number in first..first + inputs {
        let input = input(&corpus, number);
        let start = Instant::now();
        let done = std::panic::catch_unwind(|| read_any(&input).map(|song| check(&song)));
        let took = start.elapsed();
        worst = worst.max((took, input.len()));
        let fault = match done {
            Err(_) => Some("it panicked".to_owned()),
            Ok(Err(_)) => {
                refused += 1;
                None
            }
            Ok(Ok(Ok(count))) => {
                read += 1;
                notes += count;
                None
            }
            Ok(Ok(Err(what))) => Some(what.to_owned()),
        };
        let late = took > MOST + MOST_A_BYTE * input.len() as u32;
        if let Some(what) = fault.or_else(|| late.then(|| format!("took {took:?}"))) {
            let place = std::env::temp_dir().join(format!("input-{number}.xml"));
            let _ = std::fs::write(&place, &input);
            panic!("input {number}: {what}; it is kept as {}", place.display());
        }
    }
    println!(
        "{inputs} inputs from {} files: {read} read, {refused} refused, {notes} notes; worst {:?} for {} bytes",
        corpus.len(),
        worst.0,
        worst.1
    );
}

fn gather(folder: &Path, corpus: &mut Vec<Vec<u8>>) {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("a folder")
        .map(|e| e.expect("an entry").path())
        .collect();
    paths.sort();
    for path in paths {
        let named = path
            .extension()
            .is_some_and(|e| e == "xml" || e == "musicxml" || e == "mxl");
        if path.is_dir() {
            gather(&path, corpus);
        } else if named {
            let bytes = std::fs::read(&path).expect("a file");
            if bytes.len() <= MOST_BYTES {
                corpus.push(bytes);
            }
        }
    }
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
