//! Sound: how long the built-in sounds take at the start, and ten seconds of thirty parts.
//!
//! Ten seconds over the time of `ten_seconds_of_thirty_parts` is times real time; under 25 % of a core is four times.
#![allow(clippy::unwrap_used, reason = "a bench fails by panicking")]

use bandwright::sound::events::{Chair, SoundNote, SoundScore};
use bandwright::sound::render::{Passage, Player, Program, built_in_font};
use bandwright::sound::tones::{RATE, Shade, tones};
use divan::Bencher;

fn main() {
    divan::main();
}

#[divan::bench]
fn built_in_sounds_at_the_start() {
    divan::black_box(built_in_font().unwrap());
}

fn thirty() -> SoundScore {
    let band: Vec<_> = tones().filter(|t| t.name != "piano").collect();
    let chairs: Vec<Chair> = (0..30)
        .map(|i| Chair {
            tone: band[i % band.len()],
            pan: 0.0,
            delay: 0.0,
        })
        .collect();
    let mut notes = Vec::new();
    for (chair, sits) in chairs.iter().enumerate() {
        let (low, high) = sits.tone.keys;
        notes.extend((0_u8..20).map(|n| SoundNote {
            chair,
            onset: f64::from(n) * 0.5,
            end: f64::from(n) * 0.5 + 0.47,
            key: low + (n * 5) % (high - low),
            shade: Shade::Loud,
            gain_db: -14.8,
        }));
    }
    SoundScore { chairs, notes }
}

#[divan::bench(sample_count = 10)]
fn ten_seconds_of_thirty_parts(bencher: Bencher<'_, '_>) {
    let font = built_in_font().unwrap();
    let score = thirty();
    let length = 10 * RATE as usize;
    bencher
        .with_inputs(|| {
            let program = Box::new(Program::of(&score, &[], 1.0));
            let mut player = Player::new(&font, program).unwrap();
            player.play(&Passage::WHOLE);
            player
        })
        .bench_local_values(|mut player| {
            let (mut left, mut right) = (vec![0.0; length], vec![0.0; length]);
            player.fill(&mut left, &mut right);
            (left, right)
        });
}
