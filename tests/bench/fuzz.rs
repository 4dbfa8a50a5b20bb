//! Damaged files by the thousand: whatever the bytes, reading ends soon, in an answer or in an
//! error, and loses no note.
//!
//! ```sh
//! cargo bench --bench fuzz                                     # a few thousand inputs
//! cargo bench --bench fuzz -- --inputs 1000000 --corpus DIR    # as many as wanted, of a folder's files
//! ```
//!
//! The corpus is every `.mid` file below the folder, after the demo and small files made here. An
//! input is one of them, or a piece of it, with one to eight changes: bytes set, flipped, cut out, doubled or moved
//! in from another file, numbers made extreme. The changes follow from the input's number alone.

#![allow(
    clippy::expect_used,
    clippy::panic,
    reason = "a fault ends the run and names the input that shows it"
)]

use bandwright::cli::files::DEMO_SKETCH;
use bandwright::sketch::{Song, Times, quantise, read_sketch, read_song};
use damage::{Numbers, Trial};
use std::time::Duration;

#[path = "damage.rs"]
mod damage;

/// What an input may take by the clock: this, and this a byte. Far over what is measured (the run
/// prints the worst), also on a machine that is busy with other things; far under a hang.
const MOST: Duration = Duration::from_secs(20);
const MOST_A_BYTE: Duration = Duration::from_micros(20);
/// Larger files of the corpus are left out: damage is found in small ones as well, and sooner.
const MOST_BYTES: usize = 60_000;

/// One input of so many is a whole file; the others are pieces, so that many can be tried.
const WHOLE: usize = 500;
/// Bytes that a piece keeps of the file's beginning: the header and what a track begins with.
const HEAD: usize = 90;
/// Most bytes of events of a piece.
const MOST_EVENTS: usize = 400;

fn main() {
    let trial = Trial {
        usual: 2_000,
        endings: &["mid", "midi"],
        most_bytes: MOST_BYTES,
        most: MOST,
        most_a_byte: MOST_A_BYTE,
        input,
        read: |input| read_song(input).map(|song| check(&song)),
    };
    trial.run(vec![
        DEMO_SKETCH.to_vec(),
        small(480),
        small(0xE728),
        small(1),
    ]);
}

/// Quantises and reads the song; how many notes the reading holds, where they are those of the
/// song.
fn check(song: &Song) -> Result<usize, String> {
    let quantised = quantise(song, Times::Auto).song;
    if sorted(&quantised) != sorted(song) {
        return Err("quantising lost or changed a note".to_owned());
    }
    let reading = read_sketch(&quantised, &[]);
    let notes = song.tracks.iter().flat_map(|t| &t.notes);
    let pitched = notes.filter(|n| !n.is_percussion()).count();
    if reading.notes.len() != pitched {
        return Err(format!("{pitched} notes, {} read", reading.notes.len()));
    }
    if let Some(bad) = reading
        .notes
        .iter()
        .find(|n| !(0.0..=1.0).contains(&n.confidence))
    {
        return Err(format!("a confidence of {}", bad.confidence));
    }
    Ok(pitched)
}

/// What quantising must keep of every note: track, channel, pitch and velocity.
fn sorted(song: &Song) -> Vec<(usize, u8, u8, u8)> {
    let tracks = song.tracks.iter().enumerate();
    let notes = tracks.flat_map(|(t, track)| track.notes.iter().map(move |n| (t, n)));
    let mut all: Vec<_> = notes
        .map(|(t, n)| (t, n.channel, n.pitch.midi(), n.velocity))
        .collect();
    all.sort_unstable();
    all
}

/// A file with one of everything that the reader looks at.
fn small(division: u16) -> Vec<u8> {
    let mut events: Vec<u8> = vec![0, 0xFF, 0x03, 5];
    events.extend(b"Piano");
    events.extend([0, 0xFF, 0x51, 3, 7, 0xA1, 0x20]);
    events.extend([0, 0xFF, 0x58, 4, 6, 3, 24, 8, 0, 0xFF, 0x59, 2, 0xFD, 1]);
    events.extend([0, 0xB0, 64, 127, 0, 0xC0, 4, 0, 0xE0, 1, 64]);
    for i in 0..24_u8 {
        events.extend([0, 0x90, 72 + i % 5, 90, 0, 0x90, 48 + i % 7, 60]);
        events.extend([0x81, 0x70, 0x80, 72 + i % 5, 0, 0, 0x90, 48 + i % 7, 0]);
    }
    events.extend([0, 0xFF, 0x06, 1, b'A', 0, 0xB0, 64, 0, 0, 0xFF, 0x2F, 0]);
    let mut bytes = b"MThd\0\0\0\x06\0\x01\0\x01".to_vec();
    bytes.extend(division.to_be_bytes());
    bytes.extend(b"MTrk");
    bytes.extend((events.len() as u32).to_be_bytes());
    bytes.extend(events);
    bytes
}

fn input(corpus: &[Vec<u8>], number: u64) -> Vec<u8> {
    let mut random = Numbers(number);
    let mut bytes = corpus[random.below(corpus.len())].clone();
    if random.below(WHOLE) > 0 {
        bytes = piece(&bytes, &mut random);
    }
    for _ in 0..=random.below(8) {
        change(&mut bytes, corpus, &mut random);
    }
    bytes.truncate(2 * MOST_BYTES);
    bytes
}

/// The beginning of a file, and a few of its events from somewhere further on.
fn piece(bytes: &[u8], random: &mut Numbers) -> Vec<u8> {
    let head = HEAD.min(bytes.len());
    let from = head + random.below(bytes.len() - head + 1);
    let until = (from + random.below(MOST_EVENTS)).min(bytes.len());
    [&bytes[..head], &bytes[from..until]].concat()
}

fn change(bytes: &mut Vec<u8>, corpus: &[Vec<u8>], random: &mut Numbers) {
    if bytes.is_empty() {
        return bytes.push(random.next() as u8);
    }
    let at = random.below(bytes.len());
    let until = (at + 1 + random.below(64)).min(bytes.len());
    match random.below(8) {
        0 => bytes[at] = random.next() as u8,
        1 => bytes[at] ^= 1 << random.below(8),
        2 => bytes[at] = [0, 0x7F, 0x80, 0xFF, 0x90, 0x2F][random.below(6)],
        3 => drop(bytes.drain(at..until)),
        4 => bytes.truncate(at),
        5 => {
            let copy = bytes[at..until].to_vec();
            let times = 1 + random.below(40);
            bytes.splice(at..at, copy.repeat(times));
        }
        6 => {
            let other = &corpus[random.below(corpus.len())];
            let from = random.below(other.len());
            let piece = other[from..(from + 200).min(other.len())].to_vec();
            bytes.splice(at..until, piece);
        }
        _ => {
            // A length, a time or a division made extreme.
            for byte in &mut bytes[at..until.min(at + 4)] {
                *byte = if random.below(2) == 0 { 0xFF } else { 0x00 };
            }
        }
    }
}
