//! A real General MIDI font, where the system has one.

use super::{note, off, played};
use bandwright::device::found_fonts::{found_fonts, usual_places};
use bandwright::device::open_font::open_font;
use bandwright::sound::events::{Chair, SoundScore};
use bandwright::sound::render::{font, render};
use bandwright::sound::tones::{Shade, tones};
use std::path::PathBuf;

/// The font of Debian's package timgm6mb-soundfont (GPL, so it is not among the files of the tests), or what
/// `BANDWRIGHT_FONT` names.
fn real() -> Option<PathBuf> {
    let told = std::env::var_os("BANDWRIGHT_FONT").map(PathBuf::from);
    told.or_else(|| {
        let all = found_fonts(&usual_places());
        all.into_iter().find(|f| f.ends_with("TimGM6mb.sf2"))
    })
}

#[test]
fn its_notes_come_out_at_their_level() {
    let Some(path) = real() else {
        eprintln!("not looked at: no TimGM6mb.sf2 here (Debian: timgm6mb-soundfont)");
        return;
    };
    let font = open_font(&path).unwrap();
    for said in &font.notes {
        eprintln!("{}: {said}", font.name);
    }
    let (mut worst, mut beyond, mut all) = ((0.0, "", 0), 0, 0);
    for tone in tones() {
        for key in (tone.keys.0..=tone.keys.1).step_by(2) {
            for shade in Shade::ALL {
                let off = off(&font, tone, note(key, shade, -12.0));
                all += 1;
                if off.abs() >= 2.0 {
                    beyond += 1;
                    eprintln!("{} at {key}, {shade:?}: {off:.2} dB", tone.name);
                }
                if off.abs() > worst.0 {
                    worst = (off.abs(), tone.name, key);
                }
            }
        }
    }
    eprintln!("worst: {worst:?}; {beyond} of {all} beyond 2 dB");
    assert_eq!(beyond, 0);
}

/// How alike two channels are, however loud: 1 for the same.
fn alike(one: &[f32], other: &[f32]) -> f64 {
    let product = |a: &[f32], b: &[f32]| -> f64 {
        let both = a.iter().zip(b);
        both.map(|(a, b)| f64::from(*a) * f64::from(*b)).sum()
    };
    product(one, other) / (product(one, one) * product(other, other)).sqrt()
}

#[test]
fn what_is_kept_sounds_as_it_does_in_its_file() {
    // A font with other samples for soft notes is played otherwise, by shades.
    let Some(path) = real().filter(|p| p.ends_with("TimGM6mb.sf2")) else {
        eprintln!("not looked at: no TimGM6mb.sf2 here (Debian: timgm6mb-soundfont)");
        return;
    };
    let kept = open_font(&path).unwrap();
    let whole = font(std::fs::File::open(path).unwrap()).unwrap();
    let mut least = (1.0, "");
    for tone in tones().filter(|t| t.variant == 0) {
        let key = tone.keys.0 / 2 + tone.keys.1 / 2;
        let chair = Chair {
            tone,
            pan: 0.0,
            delay: 0.0,
        };
        let score = SoundScore {
            chairs: vec![chair],
            notes: vec![note(key, Shade::Middle, 0.0)],
        };
        let one = render(&kept.font, &score, &[]).unwrap();
        let other = render(&whole, &score, &[]).unwrap();
        let alike = alike(&one.left, &other.left);
        if alike < least.0 {
            least = (alike, tone.name);
        }
    }
    eprintln!("least alike: {least:?}");
    assert!(least.0 > 0.9999, "{least:?}");
}

#[test]
fn it_may_be_damaged() {
    let Some(path) = real() else {
        eprintln!("not looked at: no TimGM6mb.sf2 here (Debian: timgm6mb-soundfont)");
        return;
    };
    let bytes = std::fs::read(path).unwrap();
    let tables = bytes.windows(4).rposition(|w| w == b"phdr").unwrap();
    let mut dice = 0x2545_F491_4F6C_DD1D_u64;
    let mut throw = |most: usize| {
        dice ^= dice << 13;
        dice ^= dice >> 7;
        dice ^= dice << 17;
        (dice % most as u64) as usize
    };
    let mut used = 0;
    for _ in 0..8 {
        let mut bytes = bytes.clone();
        for _ in 0..1 + throw(20) {
            let at = tables + throw(bytes.len() - tables);
            bytes[at] = throw(256) as u8;
        }
        if let Ok(font) = super::read(&bytes) {
            used += 1;
            for tone in tones() {
                let powers = played(&font, tone, note(tone.keys.0 + 5, Shade::Loud, 0.0));
                assert!(powers.iter().all(|p| p.is_finite()), "{}", tone.name);
            }
        }
    }
    eprintln!("{used} of 8 damaged ones could be used");
}
