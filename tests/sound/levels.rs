//! What is said in dB comes out in dB.

use super::{at, built_in, chair, level, named, note, one, play};
use bandwright::sound::events::{Chair, SoundNote, SoundScore};
use bandwright::sound::render::{FULL_DB, render, stops};
use bandwright::sound::tones::{Body, Shade, level_seconds, tones};
use proptest::prelude::*;

/// What is allowed between what is said and what comes out, dB.
const MOST_OFF: f64 = 1.0;

#[test]
fn equal_gains_are_equal_powers_for_every_tone_key_and_shade() {
    let mut worst = (0.0, "", 0);
    for tone in tones() {
        let (low, high) = tone.keys;
        for key in (low..=high).step_by(6) {
            let hertz = 440.0 * ((f64::from(key) - 69.0) / 12.0).exp2();
            for shade in Shade::ALL {
                let made = play(&one(
                    tone,
                    SoundNote {
                        shade,
                        ..note(0, 0.0, 1.0, key)
                    },
                ));
                // What is struck is as loud as it says at first.
                let (from, to) = match tone.body {
                    Body::Held(_) => (0.3, 0.9),
                    Body::Struck(_) => (0.0, level_seconds(hertz)),
                };
                let off: f64 = level(&made, from, to) - (FULL_DB - 6.0);
                assert!(
                    off.abs() < MOST_OFF,
                    "{} at {key}, {shade:?}: {off:.2} dB",
                    tone.name
                );
                if off.abs() > worst.0 {
                    worst = (off.abs(), tone.name, key);
                }
            }
        }
    }
    eprintln!("worst: {worst:?}");
}

#[test]
fn differences_between_chairs_and_notes_come_out() {
    let (loud, soft, softer) = (named("trumpet"), named("flute"), named("flute"));
    let said = [0.0, -13.0, -29.0];
    let notes = [0, 1, 2].map(|i| SoundNote {
        gain_db: said[i],
        ..note(i, i as f64, i as f64 + 0.9, 70)
    });
    let score = SoundScore {
        chairs: [loud, soft, softer].map(chair).to_vec(),
        notes: notes.to_vec(),
    };
    let made = play(&score);
    for (i, said) in said.into_iter().enumerate() {
        let heard = level(&made, i as f64 + 0.3, i as f64 + 0.85);
        // The release of the note before is over by then.
        assert!(
            (heard - FULL_DB - said).abs() < 0.3,
            "{heard:.2} for {said}"
        );
    }
}

#[test]
fn a_chair_s_own_soft_notes_are_as_soft_as_they_are_said() {
    let said = [0.0, -3.0, -11.3, -22.0, -33.0];
    let notes = said.iter().enumerate().map(|(i, gain_db)| SoundNote {
        gain_db: *gain_db,
        ..note(0, 1.5 * i as f64, 1.5 * i as f64 + 1.0, 62)
    });
    let score = SoundScore {
        chairs: vec![chair(named("clarinet"))],
        notes: notes.collect(),
    };
    let made = play(&score);
    for (i, said) in said.into_iter().enumerate() {
        let start = 1.5 * i as f64;
        let heard = level(&made, start + 0.4, start + 0.95);
        assert!(
            (heard - FULL_DB - said).abs() < 0.3,
            "{heard:.2} for {said}"
        );
    }
}

#[test]
fn where_a_chair_sits_takes_nothing_of_its_power() {
    let mut heard = Vec::new();
    for pan in [-1.0, -0.4, 0.0, 0.7, 1.0] {
        let mut score = one(named("horn"), note(0, 0.0, 1.0, 60));
        score.chairs = vec![Chair {
            pan,
            ..chair(named("horn"))
        }];
        let made = play(&score);
        heard.push(level(&made, 0.3, 0.9));
        let (left, right) = (
            made.left[at(0.5)..at(0.6)].iter(),
            made.right[at(0.5)..at(0.6)].iter(),
        );
        let power = |s: std::slice::Iter<f32>| s.map(|s| f64::from(*s).powi(2)).sum::<f64>();
        let (left, right) = (power(left), power(right));
        assert!(pan >= -0.1 || left > right, "{pan}");
        assert!(pan <= 0.1 || right > left, "{pan}");
    }
    for level in &heard {
        assert!((level - heard[2]).abs() < 0.1, "{heard:?}");
    }
}

#[test]
fn a_muted_chair_changes_nothing_of_the_others() {
    let score = SoundScore {
        chairs: vec![chair(named("trumpet")), chair(named("flute"))],
        notes: vec![note(0, 0.0, 1.0, 65), note(1, 0.0, 1.0, 77)],
    };
    let both = render(built_in(), &score, &[true, true]).unwrap();
    let first = render(built_in(), &score, &[true, false]).unwrap();
    let second = render(built_in(), &score, &[false, true]).unwrap();
    assert_eq!(first.left.len(), both.left.len());
    let together = first.left.iter().zip(&second.left);
    for (sum, (a, b)) in both.left.iter().zip(together) {
        assert!((sum - a - b).abs() < 1e-5);
    }
    let none = render(built_in(), &score, &[false, false]).unwrap();
    assert_eq!(none.peak(), 0.0);
}

proptest! {
    #[test]
    fn stops_give_what_is_asked(db in -60.0..0.0_f64) {
        let stops = stops(db);
        let velocity = 40.0 * (f64::from(stops.velocity) / 127.0).log10();
        let expression = 40.0 * (f64::from(stops.expression) / 16383.0).log10();
        prop_assert!((velocity + expression - db).abs() < 0.01);
    }
}
