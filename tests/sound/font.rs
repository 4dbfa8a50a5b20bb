//! The SoundFont in memory is a valid one, and a damaged one is refused.

use super::built_in;
use bandwright::sound::built_in::built_in_bytes;
use bandwright::sound::render::font;
use bandwright::sound::tones::{Shade, tone, tones};
use proptest::prelude::*;
use std::collections::BTreeSet;

/// The chunks of a list: name and bytes.
fn chunks(mut bytes: &[u8]) -> Vec<([u8; 4], &[u8])> {
    let mut found = Vec::new();
    while bytes.len() >= 8 {
        let length = u32::from_le_bytes(bytes[4..8].try_into().unwrap()) as usize;
        found.push((bytes[..4].try_into().unwrap(), &bytes[8..8 + length]));
        bytes = &bytes[8 + length + length % 2..];
    }
    assert!(bytes.is_empty());
    found
}

#[test]
fn its_tables_end_as_the_specification_says() {
    let bytes = built_in_bytes();
    let file = chunks(&bytes);
    assert_eq!(file.len(), 1);
    let lists = chunks(&file[0].1[4..]);
    assert_eq!(lists.len(), 3);
    let samples = chunks(&lists[1].1[4..])[0].1;
    let tables = chunks(&lists[2].1[4..]);
    let names: Vec<&[u8; 4]> = tables.iter().map(|t| &t.0).collect();
    let wanted = [
        b"phdr", b"pbag", b"pmod", b"pgen", b"inst", b"ibag", b"imod", b"igen", b"shdr",
    ];
    assert_eq!(names, wanted);
    for (table, size, end) in [(0, 38, "EOP"), (4, 22, "EOI"), (8, 46, "EOS")] {
        let bytes = tables[table].1;
        assert_eq!(bytes.len() % size, 0);
        assert!(bytes[bytes.len() - size..].starts_with(end.as_bytes()));
    }
    let heads = tables[8].1;
    for head in heads.chunks(46).take(heads.len() / 46 - 1) {
        let end = u32::from_le_bytes(head[24..28].try_into().unwrap()) as usize;
        assert!(samples[2 * end..2 * (end + 46)].iter().all(|b| *b == 0));
    }
    // Counts are 16 bits wide.
    assert!(tables.iter().all(|t| t.1.len() / 4 < usize::from(u16::MAX)));
}

#[test]
fn every_tone_has_a_preset_of_its_own_in_every_shade() {
    let mut seen = BTreeSet::new();
    for tone in tones() {
        for shade in Shade::ALL {
            assert!(
                seen.insert((tone.program, tone.bank(shade))),
                "{}",
                tone.name
            );
        }
        assert!(!tone.source.is_empty());
        assert_eq!(super::named(tone.name), tone);
    }
    let held: BTreeSet<(u8, u8)> = built_in()
        .get_presets()
        .iter()
        .filter(|p| p.get_bank_number() < 128)
        .map(|p| (p.get_patch_number() as u8, p.get_bank_number() as u8))
        .collect();
    assert_eq!(held, seen);
    assert_eq!(tone("no such tone"), None);
}

#[test]
fn it_is_the_same_each_time() {
    assert!(built_in_bytes() == built_in_bytes());
}

#[test]
fn what_is_cut_short_is_refused_in_one_sentence() {
    let bytes = built_in_bytes();
    for length in [0, 3, 4, 11, 12, 100, bytes.len() / 2, bytes.len() - 1] {
        let told = font(&bytes[..length]).unwrap_err().to_string();
        assert!(told.starts_with("the SoundFont cannot be used: "), "{told}");
    }
}

proptest! {
    #[test]
    fn noise_is_no_sound_font(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        prop_assert!(font(bytes.as_slice()).is_err());
    }
}
