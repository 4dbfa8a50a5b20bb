//! The demo sketch read, held against the voices of its own text.

use super::build::score;
use bandwright::sketch::{Line, Reading, read_sketch, read_song};
use std::collections::BTreeSet;

const TEXT: &str = include_str!("../../assets/demo/harvest-lights.txt");
const MIDI: &[u8] = include_bytes!("../../assets/demo/harvest-lights.mid");
const QUARTER: u64 = 480;

pub fn demo() -> Reading {
    let song = read_song(MIDI).unwrap();
    let own: Vec<usize> = (0..song.tracks.len())
        .filter(|t| !song.tracks[*t].name.starts_with("Piano"))
        .collect();
    read_sketch(&song, &own)
}

fn pitch(name: &str) -> u8 {
    let (letter, rest) = name.split_at(1);
    let step = [9, 11, 0, 2, 4, 5, 7][usize::from(letter.as_bytes()[0] - b'a')];
    let octave = rest.trim_start_matches('b').parse::<u8>().unwrap();
    12 * (octave + 1) + step - u8::from(rest.starts_with('b'))
}

/// Onset and lowest pitch of what a voice strikes, and whether the pedal is pressed right there.
fn voice(name: &str) -> Vec<(u64, u8, bool)> {
    let mut found = Vec::new();
    let mut here = false;
    for line in TEXT.lines() {
        if let Some(rest) = line.strip_prefix("voice ") {
            here = rest == name;
        }
        let Some((bar, text)) = line.split_once(" | ").filter(|_| here) else {
            continue;
        };
        let Ok(bar) = bar.trim().parse::<u64>() else {
            continue;
        };
        let (mut at, mut pedal, mut low) = ((bar - 1) * 4 * QUARTER, false, None);
        for word in text.split_whitespace() {
            pedal |= word == "ped";
            if let Some(name) = word.strip_prefix('[') {
                low = Some(pitch(name));
                continue;
            }
            let Some((what, length)) = word.split_once(':') else {
                continue;
            };
            let name = what.trim_end_matches(']');
            if name != "r" {
                let struck = low.take().unwrap_or_else(|| pitch(name));
                found.push((at, struck, std::mem::take(&mut pedal)));
            }
            at += (length.parse::<f64>().unwrap() * QUARTER as f64) as u64;
        }
    }
    found
}

#[test]
fn the_tune_of_the_demo_is_its_melody() {
    let tune: BTreeSet<(u64, u8)> = voice("melody").iter().map(|v| (v.0, v.1)).collect();
    let f1 = score(&demo(), Line::Melody, &tune);
    assert!(f1 >= 0.99, "{f1}");
}

#[test]
fn the_bass_of_the_demo_begins_each_pedal_and_is_all_of_the_left_hand_later() {
    let sixteen = 16 * 4 * QUARTER;
    let bass: BTreeSet<(u64, u8)> = voice("bass")
        .iter()
        .filter(|v| v.2 || v.0 >= sixteen)
        .map(|v| (v.0, v.1))
        .collect();
    let r = demo();
    let f1 = score(&r, Line::Bass, &bass);
    assert!(f1 >= 0.97, "{f1}");
    let broken: BTreeSet<(u64, u8)> = voice("bass")
        .iter()
        .filter(|v| !v.2 && v.0 < 15 * 4 * QUARTER + 2 * QUARTER)
        .map(|v| (v.0, v.1))
        .collect();
    let f1 = score(&r, Line::Figure, &broken);
    assert!(f1 >= 0.95, "{f1}");
}
#[test]
fn the_phrases_of_the_demo_are_of_four_bars() {
    let bars: Vec<f64> = demo()
        .phrases
        .iter()
        .map(|p| p.start.0 as f64 / (4 * QUARTER) as f64 + 1.0)
        .collect();
    let wanted: Vec<f64> = (0..16).map(|i| f64::from(4 * i + 1)).collect();
    assert_eq!(bars, wanted);
}
