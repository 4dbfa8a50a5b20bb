//! Kinds of instruments are told apart, and loud sounds brighter than soft.

use super::named;
use bandwright::sound::tones::{Body, Shade, Tone, tones};

/// The partials of a held tone at a MIDI note: their powers, adding up to 1.
fn powers(tone: &Tone, key: u8, shade: Shade) -> Vec<f64> {
    let Body::Held(spectrum) = tone.body else {
        panic!("{} is struck", tone.name);
    };
    let (low, high) = (f64::from(tone.keys.0), f64::from(tone.keys.1));
    let hertz = 440.0 * ((f64::from(key) - 69.0) / 12.0).exp2();
    let place = (f64::from(key) - low) / (high - low);
    let partials = spectrum.partials(hertz, place, shade);
    let whole: f64 = partials.iter().map(|a| a * a).sum();
    partials.iter().map(|a| a * a / whole).collect()
}

/// The mean number of the partials, by their power: the higher the brighter.
fn brightness(tone: &Tone, key: u8, shade: Shade) -> f64 {
    let powers = powers(tone, key, shade);
    powers.iter().zip(1..).map(|(p, k)| p * f64::from(k)).sum()
}

#[test]
fn louder_is_brighter() {
    for tone in tones().filter(|t| matches!(t.body, Body::Held(_))) {
        let key = tone.keys.0 + (tone.keys.1 - tone.keys.0) / 3;
        let [soft, middle, loud] = Shade::ALL.map(|s| brightness(tone, key, s));
        assert!(
            soft < middle && middle < loud,
            "{}: {soft} {middle} {loud}",
            tone.name
        );
    }
}

#[test]
fn choirs_at_one_pitch_stand_in_the_order_of_the_trade() {
    // F4, which all of these play; darkest first.
    let order = ["euphonium", "mellophone", "trumpet"];
    let bright = order.map(|n| brightness(named(n), 65, Shade::Loud));
    assert!(bright.is_sorted(), "{bright:?}");
    let dark = brightness(named("horn"), 65, Shade::Loud);
    assert!(dark < bright[1]);
    let flute = brightness(named("flute"), 65, Shade::Middle);
    let oboe = brightness(named("oboe"), 65, Shade::Middle);
    assert!(flute < oboe);
    assert!(
        brightness(named("tuba"), 41, Shade::Loud) < brightness(named("trombone"), 41, Shade::Loud)
    );
}

#[test]
fn a_low_clarinet_lacks_even_partials_and_a_sax_does_not() {
    let even = |name: &str| {
        let powers = powers(named(name), 53, Shade::Middle);
        powers[1] / (powers[0] + powers[2])
    };
    assert!(even("clarinet") < 0.05, "{}", even("clarinet"));
    assert!(even("tenor sax") > 0.2, "{}", even("tenor sax"));
}

#[test]
fn no_two_held_tones_are_alike() {
    let held: Vec<_> = tones()
        .filter(|t| matches!(t.body, Body::Held(_)))
        .collect();
    for (i, a) in held.iter().enumerate() {
        for b in &held[i + 1..] {
            let low = a.keys.0.max(b.keys.0);
            let high = a.keys.1.min(b.keys.1);
            if low > high {
                continue;
            }
            let key = low + (high - low) / 3;
            let (x, y) = (powers(a, key, Shade::Loud), powers(b, key, Shade::Loud));
            let most = x.len().max(y.len());
            let at = |p: &[f64], k: usize| p.get(k).copied().unwrap_or(0.0);
            let apart: f64 = (0..most).map(|k| (at(&x, k) - at(&y, k)).abs()).sum();
            assert!(
                apart > 0.02,
                "{} and {} at {key}: {apart:.3}",
                a.name,
                b.name
            );
        }
    }
}
