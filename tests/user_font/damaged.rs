//! Damaged fonts are refused or played as far as they can be: nothing breaks, nothing is no number.

use super::{note, played, preset, read, uneven, zone};
use bandwright::sound::built_in::built_in_bytes;
use bandwright::sound::sound_font::{Generator, sound_font};
use bandwright::sound::tones::{Shade, tone};
use bandwright::sound::user_font::{FontError, FontNote, UserFont};
use proptest::prelude::*;
use std::io::{Cursor, Read, Seek, SeekFrom};
use std::sync::OnceLock;

/// A font small enough to be damaged many times: two programs, few samples.
fn small() -> &'static [u8] {
    static BYTES: OnceLock<Vec<u8>> = OnceLock::new();
    BYTES.get_or_init(|| {
        let zones = || vec![zone((0, 60), -3.0), zone((61, 127), -6.0)];
        sound_font("small", &[preset(56, zones()), preset(73, zones())])
    })
}

/// Reads what is damaged; if it can be used, notes of it are numbers.
fn survive(bytes: &[u8]) -> bool {
    match read(bytes) {
        Ok(font) => {
            for (name, key) in [("trumpet", 54), ("flute", 97), ("trumpet", 127)] {
                let powers = played(&font, tone(name).unwrap(), note(key, Shade::Loud, 0.0));
                assert!(powers.iter().all(|p| p.is_finite()), "{name} at {key}");
            }
            true
        }
        Err(told) => {
            let told = told.to_string();
            assert!(!told.is_empty() && !told.contains('\n'));
            false
        }
    }
}

/// Where a table of a font begins.
fn table(bytes: &[u8], name: &[u8; 4]) -> usize {
    bytes.windows(4).rposition(|w| w == name).unwrap() + 8
}

fn damaged(change: impl FnOnce(&mut Vec<u8>)) -> Result<Vec<FontNote>, FontError> {
    let mut bytes = small().to_vec();
    change(&mut bytes);
    survive(&bytes);
    read(&bytes).map(|f| f.notes)
}

#[test]
fn what_is_no_font_is_told_apart_from_what_is_damaged() {
    for none in [&b""[..], b"RIFF", b"no font at all", b"RIFF\x04\0\0\0WAVE"] {
        assert_eq!(read(none).unwrap_err(), FontError::NoSoundFont);
    }
    let bytes = small();
    for length in [12, 13, 40, 100, bytes.len() / 2, bytes.len() - 1] {
        let told = read(&bytes[..length]).unwrap_err();
        assert!(matches!(told, FontError::Damaged(_)), "{told}");
    }
}

/// A file that can no longer be read from a place on.
struct Gone(Cursor<Vec<u8>>, u64);

impl Read for Gone {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        if self.0.position() + to.len() as u64 > self.1 {
            return Err(std::io::Error::other("the stick is out"));
        }
        self.0.read(to)
    }
}

impl Seek for Gone {
    fn seek(&mut self, to: SeekFrom) -> std::io::Result<u64> {
        self.0.seek(to)
    }
}

#[test]
fn what_is_gone_while_it_is_read_is_told() {
    let tables = table(small(), b"phdr") as u64;
    for place in [0, 100, 2000, tables] {
        let mut file = Gone(Cursor::new(small().to_vec()), place);
        let told = UserFont::read(&mut file).unwrap_err();
        assert_eq!(told, FontError::Unreadable("the stick is out".to_owned()));
    }
}

#[test]
fn what_is_compressed_is_told() {
    let version = damaged(|b| {
        let at = table(b, b"ifil");
        b[at] = 3;
    });
    assert_eq!(version, Err(FontError::Compressed));
    let kind = damaged(|b| {
        let at = table(b, b"shdr") + 44;
        b[at] |= 0x10;
    });
    assert_eq!(kind, Err(FontError::Compressed));
    let samples = damaged(|b| {
        let at = table(b, b"smpl");
        b[at..at + 4].copy_from_slice(b"OggS");
    });
    assert_eq!(samples, Err(FontError::Compressed));
}

#[test]
fn pointers_to_nowhere_are_told() {
    for (name, at) in [(b"phdr", 24), (b"pbag", 4), (b"inst", 20), (b"ibag", 4)] {
        let told = damaged(|b| {
            let at = table(b, name) + at;
            b[at + 1] = 0x7F;
        });
        assert!(matches!(told, Err(FontError::Damaged(_))), "{told:?}");
    }
}

#[test]
fn chunks_that_go_beyond_the_file_are_told() {
    for name in [b"smpl", b"phdr", b"shdr", b"INAM"] {
        let told = damaged(|b| {
            let at = table(b, name);
            b[at - 1] = 0x7F;
        });
        assert!(matches!(told, Err(FontError::Damaged(_))), "{told:?}");
    }
}

#[test]
fn a_sample_that_is_nowhere_is_left_out_and_the_others_play() {
    // Its end; its rate; where its generators point.
    for (at, value) in [(27, 0x7F), (36 + 3, 0x7F), (36, 0)] {
        let told = damaged(|b| {
            let shdr = table(b, b"shdr");
            b[shdr + at] = value;
            b[shdr + 37] = if at == 36 { 0 } else { b[shdr + 37] };
        });
        let left_out = |n: &FontNote| {
            matches!(
                n,
                FontNote::LeftOut {
                    tone: "trumpet",
                    samples: 1
                }
            )
        };
        assert!(told.unwrap().iter().any(left_out));
    }
}

#[test]
fn a_loop_that_is_turned_round_is_played_once() {
    let told = damaged(|b| {
        let shdr = table(b, b"shdr");
        let (from, to) = (shdr + 28, shdr + 32);
        for i in 0..4 {
            b.swap(from + i, to + i);
        }
    });
    assert!(told.is_ok());
}

#[test]
fn a_loop_too_short_for_its_keys_is_left_out() {
    let mut short = zone((100, 127), 0.0);
    short.samples.truncate(9);
    short.root = 20;
    let bytes = sound_font("short", &[preset(56, vec![short, zone((0, 127), -3.0)])]);
    assert!(survive(&bytes));
    let notes = read(&bytes).unwrap().notes;
    let left_out = |n: &FontNote| matches!(n, FontNote::LeftOut { .. });
    assert!(notes.iter().any(left_out), "{notes:?}");
}

#[test]
fn a_loop_too_short_for_its_highest_keys_plays_the_others() {
    let mut short = zone((0, 127), 0.0);
    short.samples.truncate(60);
    let bytes = sound_font("short", &[preset(56, vec![short])]);
    assert!(survive(&bytes));
    let font = read(&bytes).unwrap();
    let left_out = |n: &FontNote| matches!(n, FontNote::LeftOut { .. });
    assert!(!font.notes.iter().any(left_out), "{:?}", font.notes);
    let silent = |key| {
        let powers = played(&font, tone("trumpet").unwrap(), note(key, Shade::Loud, 0.0));
        powers.iter().all(|p| *p == 0.0)
    };
    assert!(!silent(63) && silent(127));
}

#[test]
fn more_layers_than_an_instrument_has_are_left_out() {
    let bytes = sound_font("many", &[preset(56, vec![zone((0, 127), -30.0); 40])]);
    assert!(survive(&bytes));
    let notes = read(&bytes).unwrap().notes;
    let (tone, samples) = ("trumpet", 24);
    assert!(notes.contains(&FontNote::LeftOut { tone, samples }));
}

#[test]
fn zones_that_all_point_to_everything_do_not_keep_us_busy() {
    // Every zone of one preset with as many zones as can be counted plays the same instrument of as many.
    let many = 60_000_u16;
    let mut bytes = small().to_vec();
    let words = |words: &[u16]| -> Vec<u8> { words.iter().flat_map(|w| w.to_le_bytes()).collect() };
    let bags: Vec<u8> = (0..=many).flat_map(|i| words(&[i, 0])).collect();
    let points = |to: u16| (0..=many).flat_map(move |_| [to, 0]).collect::<Vec<u16>>();
    let tables = table(&bytes, b"phdr") - 12;
    bytes.truncate(tables - 8);
    let mut list = b"pdta".to_vec();
    let mut add = |name: &[u8; 4], table: &[u8]| {
        list.extend_from_slice(name);
        list.extend_from_slice(&(table.len() as u32).to_le_bytes());
        list.extend_from_slice(table);
    };
    let head = |rest: &[u16]| [vec![b'x'; 20], words(rest)].concat();
    let (preset, end) = ([56, 0, 0, 0, 0, 0, 0, 0, 0], [0, 0, many, 0, 0, 0, 0, 0, 0]);
    add(b"phdr", &[head(&preset), head(&end)].concat());
    add(b"pbag", &bags);
    add(b"pgen", &words(&points(41)));
    add(b"inst", &[head(&[0]), head(&[many])].concat());
    add(b"ibag", &bags);
    add(b"igen", &words(&points(53)));
    let old = small();
    add(b"shdr", &old[table(old, b"shdr")..]);
    bytes.extend_from_slice(b"LIST");
    bytes.extend_from_slice(&(list.len() as u32).to_le_bytes());
    bytes.extend_from_slice(&list);
    let length = (bytes.len() - 8) as u32;
    bytes[4..8].copy_from_slice(&length.to_le_bytes());
    assert!(survive(&bytes));
}

#[test]
fn settings_beyond_their_bounds_are_brought_back() {
    for generator in [
        Generator::Filter,
        Generator::EnvelopeToFilter,
        Generator::VibratoRate,
        Generator::VibratoToPitch,
        Generator::Attack,
        Generator::Release,
        Generator::ScaleTuning,
    ] {
        for value in [i16::MIN, -1, 0, i16::MAX] {
            let mut wild = zone((0, 127), 0.0);
            wild.generators.push((generator, value));
            survive(&sound_font("wild", &[preset(56, vec![wild])]));
        }
    }
}

#[test]
fn chunks_that_are_not_known_do_no_harm() {
    let bytes = small();
    let mut more = bytes.to_vec();
    let at = table(bytes, b"INAM") - 8;
    more.splice(at..at, *b"ISMP\x03\0\0\0new\0");
    for (length, by) in [(4, 12), (16, 12)] {
        let old = u32::from_le_bytes(more[length..length + 4].try_into().unwrap());
        more[length..length + 4].copy_from_slice(&(old + by).to_le_bytes());
    }
    more.extend_from_slice(b"what follows the file");
    assert!(survive(&more));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn bytes_of_the_tables_may_be_anything(
        changes in prop::collection::vec((0.0..1.0_f64, any::<u8>()), 1..12)
    ) {
        let mut bytes = small().to_vec();
        let tables = table(&bytes, b"phdr") - 20;
        let many = bytes.len() - tables;
        for (place, value) in changes {
            bytes[tables + (place * many as f64) as usize] = value;
        }
        survive(&bytes);
    }

    #[test]
    fn the_head_may_be_anything(changes in prop::collection::vec((0..120_usize, any::<u8>()), 1..6)) {
        let mut bytes = small().to_vec();
        for (place, value) in changes {
            bytes[place] = value;
        }
        survive(&bytes);
    }

    #[test]
    fn it_may_end_anywhere(part in 0.0..1.0_f64) {
        let bytes = small();
        prop_assert!(!survive(&bytes[..(part * bytes.len() as f64) as usize]));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]

    #[test]
    fn larger_fonts_too(
        built_in in any::<bool>(),
        changes in prop::collection::vec((0.0..1.0_f64, any::<u8>()), 1..30)
    ) {
        let mut bytes = if built_in { built_in_bytes() } else { uneven() };
        let tables = table(&bytes, b"phdr");
        let many = bytes.len() - tables;
        for (place, value) in changes {
            bytes[tables + (place * many as f64) as usize] = value;
        }
        survive(&bytes);
    }
}
