//! Whatever the levels of a font are, notes come out as loud as they are told to be.

use super::{note, off, preset, read, uneven, zone};
use bandwright::sound::built_in::built_in_bytes;
use bandwright::sound::events::{Chair, SoundNote, SoundScore};
use bandwright::sound::render::{font, render};
use bandwright::sound::sound_font::{Generator, sound_font};
use bandwright::sound::tones::{Shade, tone, tones};
use bandwright::sound::user_font::Calibration;

/// What is allowed, dB.
const MOST_OFF: f64 = 2.0;

#[test]
fn notes_of_an_uneven_font_come_out_at_their_level() {
    let font = read(&uneven()).unwrap();
    assert_eq!(font.name, "uneven");
    let mut worst = (0.0, "", 0);
    let mut added = (f64::INFINITY, f64::NEG_INFINITY);
    for (i, tone) in tones().enumerate() {
        for key in (tone.keys.0..=tone.keys.1).step_by(5) {
            let shade = Shade::ALL[(usize::from(key) + i) % 3];
            let add = font.calibration.add_db(tone, shade, key);
            added = (added.0.min(add), added.1.max(add));
            let off = off(&font, tone, note(key, shade, -9.0));
            assert!(off.abs() < MOST_OFF, "{} at {key}: {off:.2} dB", tone.name);
            if off.abs() > worst.0 {
                worst = (off.abs(), tone.name, key);
            }
        }
    }
    // The test would show nothing if the font were even.
    assert!(added.1 - added.0 > 15.0, "{added:?}");
    eprintln!("worst: {worst:?}; added: {added:?}");
}

#[test]
fn what_is_kept_sounds_as_it_does_in_its_file() {
    for bytes in [uneven(), built_in_bytes()] {
        let (kept, whole) = (read(&bytes).unwrap().font, font(bytes.as_slice()).unwrap());
        for tone in tones().filter(|t| t.variant == 0) {
            for key in [tone.keys.0, tone.keys.0 / 2 + tone.keys.1 / 2, tone.keys.1] {
                let chair = Chair {
                    tone,
                    pan: 0.3,
                    delay: 0.0,
                };
                let score = SoundScore {
                    chairs: vec![chair],
                    notes: vec![note(key, Shade::Middle, -7.0)],
                };
                let (one, other) = (render(&kept, &score, &[]), render(&whole, &score, &[]));
                let same = one.unwrap() == other.unwrap();
                assert!(same, "{} at {key}", tone.name);
            }
        }
    }
}

#[test]
fn without_calibration_they_do_not() {
    let mut font = read(&uneven()).unwrap();
    font.calibration = Calibration::default();
    let tuba = tone("tuba").unwrap();
    let offs = (26..=65)
        .step_by(3)
        .map(|k| off(&font, tuba, note(k, Shade::Middle, -9.0)));
    assert!(offs.map(f64::abs).fold(0.0, f64::max) > MOST_OFF);
}

#[test]
fn the_built_in_sounds_need_next_to_nothing() {
    let font = read(&built_in_bytes()).unwrap();
    assert_eq!(font.notes.len(), 0, "{:?}", font.notes);
    let mut worst = (0.0_f64, "", 0);
    for tone in tones().filter(|t| t.variant == 0) {
        for key in tone.keys.0..=tone.keys.1 {
            for shade in Shade::ALL {
                let add = font.calibration.add_db(tone, shade, key).abs();
                if add > worst.0 {
                    worst = (add, tone.name, key);
                }
            }
        }
    }
    eprintln!("most: {worst:?}");
    // As much as they may be off by themselves, and a little for the stretch that is listened to.
    assert!(worst.0 < 1.3, "{worst:?}");
    assert!(font.calibration.tick_db().abs() < 0.1);
}

/// Turns what is written as scale tuning into ranges of velocities.
fn with_velocities(mut bytes: Vec<u8>) -> Vec<u8> {
    let tables = bytes.windows(4).rposition(|w| w == b"igen").unwrap();
    let (scale, velocities) = (Generator::ScaleTuning as u8, 44);
    let mut at = tables + 8;
    while &bytes[at..at + 4] != b"shdr" {
        if bytes[at..at + 2] == [scale, 0] {
            bytes[at] = velocities;
        }
        at += 4;
    }
    bytes
}

#[test]
fn each_shade_is_taken_from_its_own_velocities() {
    let layer = |from: u8, to: u8, db: f64| {
        let mut zone = zone((0, 127), db);
        let range = i16::from_le_bytes([from, to]);
        zone.generators.push((Generator::ScaleTuning, range));
        zone
    };
    let zones = vec![
        layer(0, 60, -20.0),
        layer(61, 90, -10.0),
        layer(91, 127, 0.0),
    ];
    let bytes = with_velocities(sound_font("layers", &[preset(56, zones)]));
    let font = read(&bytes).unwrap();
    let trumpet = tone("trumpet").unwrap();
    let added = Shade::ALL.map(|s| font.calibration.add_db(trumpet, s, 63));
    for (added, wanted) in added.into_iter().zip([20.0, 10.0, 0.0]) {
        assert!((added - wanted).abs() < 1.0, "{added:?}");
    }
    for (shade, gain) in Shade::ALL.into_iter().zip([-30.0, -15.0, 0.0]) {
        let off = off(&font, trumpet, note(63, shade, gain));
        assert!(off.abs() < 0.5, "{shade:?}: {off}");
    }
}

#[test]
fn between_keys_it_goes_evenly_and_beyond_them_it_stays() {
    let font = read(&sound_font(
        "two",
        &[preset(58, vec![zone((0, 127), -6.0)])],
    ))
    .unwrap();
    let tuba = tone("tuba").unwrap();
    let add = |key| font.calibration.add_db(tuba, Shade::Middle, key);
    let (low, high) = tuba.keys;
    assert_eq!(add(0), add(low));
    assert_eq!(add(127), add(high));
    for key in low..high {
        assert!((add(key) - add(key + 1)).abs() < 1.0);
        assert!((add(key) - 6.0).abs() < 3.0, "{key}: {}", add(key));
    }
}

#[test]
fn a_soft_font_is_turned_up_as_a_whole_so_that_no_note_has_to_be() {
    let font = read(&uneven()).unwrap();
    let up = font.calibration.headroom_db();
    assert!(up > 10.0, "{up}");
    let chairs = tones().map(|tone| Chair {
        tone,
        pan: 0.0,
        delay: 0.0,
    });
    let mut score = SoundScore {
        chairs: chairs.collect(),
        notes: Vec::new(),
    };
    for (chair, tone) in tones().enumerate() {
        for key in tone.keys.0..=tone.keys.1 {
            let note = note(key, Shade::Loud, 0.0);
            score.notes.push(SoundNote { chair, ..note });
        }
    }
    let told = font.calibration.applied(&score);
    assert!(told.notes.iter().all(|n| n.gain_db <= 1e-9));
    assert_eq!(Calibration::default().applied(&score), score);
}
