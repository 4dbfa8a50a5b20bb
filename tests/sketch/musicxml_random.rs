//! Any text, and any music written by a tiny writer.

use super::musicxml_build::{note_with, one_part, score};
use bandwright::sketch::{read_any, read_sketch};
use proptest::collection::vec;
use proptest::prelude::*;

const STEPS: [(&str, i32); 12] = [
    ("C", 0),
    ("C#", 1),
    ("D", 2),
    ("Eb", 3),
    ("E", 4),
    ("F", 5),
    ("F#", 6),
    ("G", 7),
    ("Ab", 8),
    ("A", 9),
    ("Bb", 10),
    ("B", 11),
];

/// Words of the format, so that random texts come past the parser.
const WORDS: [&str; 30] = [
    "<note>",
    "</note>",
    "<chord/>",
    "<grace/>",
    "<rest/>",
    "<rest measure=\"yes\"/>",
    "<cue/>",
    "<pitch><step>C</step><octave>4</octave></pitch>",
    "<duration>3</duration>",
    "<duration>-9</duration>",
    "<backup>",
    "</backup>",
    "<forward>",
    "</forward>",
    "<attributes>",
    "</attributes>",
    "<divisions>7</divisions>",
    "<time><beats>3</beats><beat-type>8</beat-type></time>",
    "<barline>",
    "</barline>",
    "<repeat direction=\"backward\"/>",
    "<repeat direction=\"forward\"/>",
    "<ending number=\"1\" type=\"start\"/>",
    "<ending number=\"2\" type=\"stop\"/>",
    "<sound dacapo=\"yes\"/>",
    "<sound segno=\"s\" dalsegno=\"s\"/>",
    "<tie type=\"start\"/>",
    "<tie type=\"stop\"/>",
    "</measure><measure>",
    "<staff>2</staff>",
];

fn is_sound(bytes: &[u8]) -> bool {
    let Ok(song) = read_any(bytes) else {
        return true;
    };
    let tracks = song.tracks.iter().all(|t| {
        t.notes.is_sorted_by_key(|n| (n.onset, n.pitch))
            && t.notes.len() == t.names.len()
            && t.notes.len() == t.played.len()
            && t.notes
                .iter()
                .all(|n| !n.duration.is_zero() && n.velocity > 0)
            && t.notes
                .iter()
                .zip(&t.names)
                .all(|(n, name)| name.is_none_or(|name| name.class() == n.pitch.class()))
    });
    let reading = read_sketch(&song, &[]);
    tracks && song.warnings.len() <= 101 && reading.names.len() == reading.notes.len()
}

/// A measure of three quarters in 24 divisions a quarter: notes of one voice after another.
fn bar() -> impl Strategy<Value = Vec<(u32, Option<u8>, bool)>> {
    vec(
        (1..24_u32, proptest::option::of(21..109_u8), any::<bool>()),
        1..8,
    )
}

fn named(pitch: u8) -> String {
    let (step, _) = STEPS[usize::from(pitch % 12)];
    format!("{step}{}", i32::from(pitch) / 12 - 1)
}

proptest! {
    #[test]
    fn no_text_panics(text in "\\PC{0,300}") {
        prop_assert!(is_sound(text.as_bytes()));
        prop_assert!(is_sound(["<score-partwise>", &text, "</score-partwise>"].concat().as_bytes()));
    }

    #[test]
    fn no_words_of_the_format_panic(words in vec(0..WORDS.len(), 0..60)) {
        let inside: String = words.iter().map(|w| WORDS[*w]).collect();
        prop_assert!(is_sound(one_part(&[&inside]).as_bytes()));
        let mut open: Vec<&str> = Vec::new();
        let mut whole = String::new();
        // The same with all elements closed.
        for word in words.iter().map(|w| WORDS[*w]).filter(|w| !w.starts_with("</")) {
            whole += word;
            if !word.contains('/') {
                open.push(word.trim_start_matches('<').trim_end_matches('>'));
            }
            if (open.len() > 1 || word.contains('/')) && let Some(name) = open.pop() {
                whole += &format!("</{name}>");
            }
        }
        if let Some(name) = open.pop() {
            whole += &format!("</{name}>");
        }
        prop_assert!(is_sound(one_part(&[&whole, &whole]).as_bytes()));
    }

    #[test]
    fn music_comes_back_as_written(parts in vec(vec(bar(), 1..5), 1..4)) {
        let full = 24 * 4;
        let mut wanted: Vec<Vec<(u64, u8, u64)>> = Vec::new();
        let mut texts: Vec<Vec<String>> = Vec::new();
        let most = parts.iter().map(Vec::len).max().unwrap_or(0);
        for part in &parts {
            let mut notes = Vec::new();
            let mut measures = Vec::new();
            for number in 0..most {
                let mut at = 0;
                let mut text = "<attributes><divisions>24</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>".to_owned();
                for (length, pitch, chord) in part.get(number).into_iter().flatten() {
                    let length = (*length).min(full - at);
                    if length == 0 {
                        continue;
                    }
                    let name = pitch.map_or_else(|| "R".to_owned(), named);
                    text += &note_with(&name, length, "", "");
                    let start = u64::from(at) + number as u64 * u64::from(full);
                    if let Some(pitch) = pitch {
                        notes.push((start, *pitch, u64::from(length)));
                        if *chord && *pitch < 100 {
                            text += &note_with(&named(pitch + 7), length, "<chord/>", "");
                            notes.push((start, pitch + 7, u64::from(length)));
                        }
                    }
                    at += length;
                }
                if at < full {
                    text += &note_with("R", full - at, "", "");
                }
                measures.push(text);
            }
            notes.sort_unstable();
            wanted.push(notes);
            texts.push(measures);
        }
        let measures: Vec<Vec<(&str, &str)>> =
            texts.iter().map(|p| p.iter().map(|m| ("number=\"1\"", m.as_str())).collect()).collect();
        let named: Vec<(&str, &[(&str, &str)])> = measures.iter().map(|p| ("Part", p.as_slice())).collect();
        let song = read_any(score(&named).as_bytes()).unwrap();
        prop_assert_eq!(&song.warnings.iter().filter(|w| !w.text.contains("no notes")).count(), &0);
        let scale = u64::from(song.quarter.get()) / 24;
        for (track, wanted) in song.tracks.iter().zip(&wanted) {
            let found: Vec<(u64, u8, u64)> = track
                .notes
                .iter()
                .map(|n| (n.onset.0 / scale, n.pitch.midi(), n.duration.0 / scale))
                .collect();
            prop_assert_eq!(&found, wanted);
        }
    }
}
