//! Rendering: as long as it should be, silent where it should be, never clipped, always the same.

use super::{at, built_in, level, named, note, one, play};
use bandwright::sound::events::{Chair, SoundNote, SoundScore};
use bandwright::sound::render::{
    BLOCK, Passage, Player, Program, RING, Rendered, render, render_at,
};
use bandwright::sound::tones::{Body, RATE, Shade, tones};
use bandwright::sound::wav::wav;

/// Thirty chairs, each at its share of the full level, all on at once.
fn full_band(seconds: f64) -> SoundScore {
    let all: Vec<_> = tones().filter(|t| t.name != "piano").collect();
    let chairs: Vec<Chair> = (0..30)
        .map(|i| Chair {
            tone: all[i % all.len()],
            pan: i as f64 / 15.0 - 1.0,
            delay: i as f64 * 0.0007,
        })
        .collect();
    let share = -10.0 * 30.0_f64.log10();
    let mut notes = Vec::new();
    for (i, chair) in chairs.iter().enumerate() {
        let (low, high) = chair.tone.keys;
        let count = (seconds / 0.5) as usize;
        notes.extend((0..count).map(|n| SoundNote {
            gain_db: share,
            shade: Shade::Loud,
            ..note(
                i,
                n as f64 * 0.5,
                n as f64 * 0.5 + 0.45,
                low + ((n * 5 + i) % usize::from(high - low)) as u8,
            )
        }));
    }
    SoundScore { chairs, notes }
}

#[test]
fn it_is_as_long_as_the_music_and_what_rings() {
    let made = play(&one(named("oboe"), note(0, 0.0, 2.0, 70)));
    assert_eq!(made.left.len(), at(2.0 + RING));
    assert_eq!(made.right.len(), made.left.len());
    let nothing = play(&SoundScore::default());
    assert_eq!(nothing.left.len(), at(RING));
    assert_eq!(nothing.peak(), 0.0);
}

#[test]
fn it_is_silent_before_and_between_and_after() {
    for tone in tones() {
        let mut score = one(tone, note(0, 0.5, 1.0, tone.keys.0 + 7));
        score.notes.push(note(0, 4.0, 4.3, tone.keys.0 + 9));
        let made = play(&score);
        let silent = |from: f64, to: f64| made.left[at(from)..at(to)].iter().all(|s| *s == 0.0);
        assert!(silent(0.0, 0.49), "{} begins early", tone.name);
        assert!(silent(3.9, 3.99), "{} does not end", tone.name);
        assert!(!silent(0.52, 0.6), "{} begins late", tone.name);
        if let Body::Held(_) = tone.body {
            assert!(silent(1.5, 3.9), "{} rings on", tone.name);
        }
    }
}

#[test]
fn a_chair_that_is_far_is_heard_late() {
    let mut score = one(named("trumpet"), note(0, 0.2, 0.8, 70));
    let first = |made: &Rendered| made.left.iter().position(|s| *s != 0.0).unwrap();
    let near = first(&play(&score));
    score.chairs[0].delay = 0.1;
    let far = first(&play(&score));
    assert!((far - near).abs_diff(at(0.1)) <= BLOCK, "{near} {far}");
}

#[test]
fn a_full_band_does_not_clip() {
    let mut made = play(&full_band(4.0));
    let peak = made.peak();
    eprintln!(
        "peak of thirty at full level: {:.1} dB",
        20.0 * peak.log10()
    );
    assert!(peak < 1.0, "{peak}");
    assert!(level(&made, 1.0, 3.5) > -20.0);
    assert_eq!(made.turn_down(), None);
    for sample in &mut made.left {
        *sample *= 20.0;
    }
    assert!(made.turn_down().unwrap() > 0.0);
    assert!(made.peak() < 1.0);
}

#[test]
fn single_tones_keep_their_peaks_in_bounds() {
    let mut worst = (0.0_f32, "");
    for tone in tones() {
        for key in (tone.keys.0..=tone.keys.1).step_by(7) {
            for shade in Shade::ALL {
                let made = play(&one(
                    tone,
                    SoundNote {
                        shade,
                        gain_db: 0.0,
                        ..note(0, 0.0, 0.4, key)
                    },
                ));
                let peak = made.peak();
                assert!(peak < 0.7, "{} at {key}: {peak}", tone.name);
                if peak > worst.0 {
                    worst = (peak, tone.name);
                }
            }
        }
    }
    eprintln!("highest peak of a tone at full level: {worst:?}");
}

#[test]
fn loops_go_on_without_a_click() {
    for tone in tones().filter(|t| matches!(t.body, Body::Held(_))) {
        let key = (tone.keys.0 + tone.keys.1) / 2;
        let made = play(&one(
            tone,
            SoundNote {
                shade: Shade::Soft,
                ..note(0, 0.0, 1.0, key)
            },
        ));
        // A jump would stand out of the second differences, which in a loop come again and again.
        let bend = |w: &[f32]| (w[0] - 2.0 * w[1] + w[2]).abs();
        let most = |from, to| {
            made.left[at(from)..at(to)]
                .windows(3)
                .map(bend)
                .fold(0.0, f32::max)
        };
        let (one, other) = (most(0.4, 0.6), most(0.7, 0.9));
        let rms = 10.0_f64.powf(level(&made, 0.4, 0.9) / 20.0) as f32;
        let turn = std::f32::consts::TAU * 14_000.0 / RATE as f32;
        assert!(
            one < 1.5 * other && other < 1.5 * one,
            "{}: {one} {other}",
            tone.name
        );
        assert!(one < rms * turn * turn, "{}: {one} of {rms}", tone.name);
    }
}

#[test]
fn the_same_again_to_the_byte_however_it_is_asked_for() {
    let score = full_band(1.0);
    let whole = render(built_in(), &score, &[]).unwrap();
    let again = render(built_in(), &score, &[]).unwrap();
    assert_eq!(wav(&whole), wav(&again));
    let program = Box::new(Program::of(&score, &[], 1.0));
    let mut player = Player::new(built_in(), program).unwrap();
    player.play(&Passage::WHOLE);
    let mut left = Vec::new();
    for size in [1, 63, 64, 65, 480, 7, 4410].into_iter().cycle() {
        let (mut l, mut r) = (vec![0.0; size], vec![0.0; size]);
        player.fill(&mut l, &mut r);
        left.extend(l);
        if left.len() > 40_000 {
            break;
        }
    }
    assert_eq!(left[..40_000], whole.left[..40_000]);
}

#[test]
fn at_another_tempo_it_is_as_high_and_longer_or_shorter() {
    let score = one(named("clarinet"), note(0, 0.5, 2.5, 69));
    for speed in [0.5, 0.8, 1.25, 2.0] {
        let made = render_at(built_in(), &score, &[], speed).unwrap();
        assert!(made.left.len().abs_diff(at(2.5 / speed + RING)) <= 1);
        let begins = made.left.iter().position(|s| *s != 0.0).unwrap();
        assert!(begins.abs_diff(at(0.5 / speed)) < 2 * BLOCK + 20, "{speed}");
        let pitch = |made: &Rendered, from: f64| {
            let crossings = made.left[at(from)..at(from + 0.4)].windows(2);
            crossings.filter(|w| w[0] <= 0.0 && w[1] > 0.0).count()
        };
        let whole = render(built_in(), &score, &[]).unwrap();
        let (one, other) = (pitch(&made, 0.5 / speed + 0.2), pitch(&whole, 0.7));
        assert!(one.abs_diff(other) <= 2, "{speed}: {one} {other}");
    }
}

#[test]
fn a_wav_says_what_it_holds() {
    let made = play(&one(named("tuba"), note(0, 0.0, 0.5, 40)));
    let bytes = wav(&made);
    let long = |i: usize| u32::from_le_bytes(bytes[i..i + 4].try_into().unwrap());
    assert_eq!(&bytes[..4], b"RIFF");
    assert_eq!(long(4) as usize, bytes.len() - 8);
    assert_eq!(&bytes[8..16], b"WAVEfmt ");
    assert_eq!(long(24), RATE);
    assert_eq!(&bytes[36..40], b"data");
    assert_eq!(long(40) as usize, made.left.len() * 4);
    assert_eq!(bytes.len(), 44 + made.left.len() * 4);
}
