//! Re-tags: what the arranger says outranks what is found.

use super::build::{Plain, line, song};
use bandwright::music::{BarNumber, Sounding, Tick};
use bandwright::sketch::{
    Among, Line, Note, Played, ReadOptions, Reading, Song, Tag, Tags, TrackChoice,
    read_sketch_with, read_tags, write_tags,
};
use proptest::prelude::*;

/// Two bars: a tune on top, chords below it, a bass.
fn two_hands() -> Song {
    let right: Vec<Plain> = [72, 74, 76, 77, 79, 77, 76, 74]
        .iter()
        .enumerate()
        .map(|(i, p)| (480 * i as u32, *p, 480))
        .collect();
    let left: Vec<Plain> = [0, 1920]
        .into_iter()
        .flat_map(|at| [(at, 48, 1920), (at, 55, 1920), (at, 64, 1920)])
        .collect();
    song(&[right, left])
}

fn read(song: &Song, text: &str) -> Reading {
    let options = ReadOptions {
        tags: read_tags(text).unwrap(),
        ..ReadOptions::default()
    };
    read_sketch_with(song, &options)
}

#[test]
fn one_note_is_what_the_arranger_says() {
    let text = "[[tag]]\nline = \"counterline\"\nbars = 2\nbeat = 1\npitch = \"E4\"\n";
    let read = read(&two_hands(), text);
    assert_eq!(line(&read, Line::Counterline), [(1920, 64)]);
    let note = read.line(Line::Counterline).next().unwrap();
    assert!((note.confidence - 1.0).abs() < f32::EPSILON);
}

#[test]
fn the_melody_goes_where_a_stretch_is_tagged() {
    let text = "[[tag]]\nline = \"melody\"\ntrack = 2\nbars = \"2\"\nonly = \"highest\"\n";
    let melody = line(&read(&two_hands(), text), Line::Melody);
    assert!(melody.contains(&(1920, 64)), "{melody:?}");
    let old_tune = melody.iter().filter(|n| n.0 >= 1920 && n.1 > 70).count();
    assert_eq!(old_tune, 0, "one line at a time: {melody:?}");
    let first_bar = melody.iter().filter(|n| n.0 < 1920).count();
    assert_eq!(first_bar, 4, "the other bar stays as found: {melody:?}");
}

#[test]
fn a_whole_track_is_one_line_and_later_tags_outrank() {
    let text = "[[tag]]\nline = \"figure\"\ntrack = 2\n[[tag]]\nline = \"bass\"\ntick = 1920\n";
    let read = read(&two_hands(), text);
    assert_eq!(line(&read, Line::Figure), [(0, 48), (0, 55), (0, 64)]);
    let bass = line(&read, Line::Bass);
    assert_eq!(bass, [(1920, 48), (1920, 55), (1920, 64), (1920, 79)]);
}

#[test]
fn a_tag_that_covers_nothing_is_told() {
    let read = read(&two_hands(), "[[tag]]\nline = \"melody\"\nbars = 40\n");
    let told = read
        .warnings
        .iter()
        .any(|w| w.text.starts_with("tag 1 (melody) covers no note"));
    assert!(told, "{:?}", read.warnings);
}

#[test]
fn files_of_another_form_are_refused_with_their_line() {
    for (text, said) in [
        ("[[tag]]\nline = \"tune\"", "line 2: `tune` is no line"),
        ("[[tag]]\ntrack = 1", "line 1: missing field `line`"),
        (
            "[[tag]]\nline = \"bass\"\nbar = 3",
            "line 3: unknown field `bar`",
        ),
        (
            "[[tag]]\nline = \"bass\"\nbars = \"8-5\"",
            "line 3: bars are written",
        ),
        (
            "[[tag]]\nline = \"bass\"\nbars = 0",
            "line 3: bars are written",
        ),
        (
            "[[tag]]\nline = \"bass\"\ntrack = 0",
            "line 3: tracks are counted",
        ),
        (
            "[[tag]]\nline = \"bass\"\nbeat = 0.5",
            "line 3: beats are counted",
        ),
        (
            "[[tag]]\nline = \"bass\"\nbeat = nan",
            "line 3: beats are counted",
        ),
        (
            "[[tag]]\nline = \"bass\"\npitch = \"H4\"",
            "line 3: `H4` is no note",
        ),
        (
            "[[tag]]\nline = \"bass\"\npitch = \"C5-C4\"",
            "line 3: the lower pitch",
        ),
        (
            "[[tag]]\nline = \"bass\"\nonly = \"middle\"",
            "line 3: `middle` is neither",
        ),
        ("[[tag]\n", "line 1: "),
        ("tag = 3", "line 1: "),
    ] {
        let error = read_tags(text).unwrap_err().to_string();
        assert!(error.starts_with(said), "{text:?}: {error}");
    }
}

fn any_tag() -> impl Strategy<Value = Tag> {
    let track = prop_oneof![
        Just(None),
        (1..9_usize).prop_map(|n| Some(TrackChoice::Number(n))),
        "\\PC{0,12}".prop_map(|n| Some(TrackChoice::Name(n))),
    ];
    let bars = prop::collection::vec((1..500_u32, 0..40_u32), 0..4);
    let pitches = prop::option::of((0..128_u8, 0..128_u8));
    let among = prop_oneof![Just(Among::All), Just(Among::Highest), Just(Among::Lowest)];
    let places = (
        prop::option::of(1.0..9.0_f64),
        prop::option::of(0..99_999_u64),
    );
    (0..5_usize, track, bars, places, pitches, among).prop_map(
        |(line, track, bars, (beat, tick), pitches, among)| Tag {
            line: Line::ALL[line],
            track,
            bars: bars
                .into_iter()
                .map(|(a, more)| (BarNumber(a), BarNumber(a + more)))
                .collect(),
            beat,
            tick: tick.map(Tick),
            pitches: pitches.map(|(a, b)| {
                let pitch = |p| Sounding::new(p).unwrap();
                (pitch(a.min(b)), pitch(a.max(b)))
            }),
            among,
        },
    )
}

proptest! {
    /// What was written is read back as it was.
    #[test]
    fn tags_survive_their_file(tags in prop::collection::vec(any_tag(), 0..6)) {
        let tags = Tags(tags);
        prop_assert_eq!(read_tags(&write_tags(&tags)).unwrap(), tags);
    }

    /// Every tagged note is what the tag says, and no other note is lost.
    #[test]
    fn tags_outrank_what_is_found(
        notes in prop::collection::vec((0..16_u32, 30..100_u8, 1..5_u32), 1..40),
        tags in prop::collection::vec(any_tag(), 0..4),
    ) {
        let notes: Vec<Plain> = notes.iter().map(|(at, p, n)| (240 * at, *p, 240 * n)).collect();
        let song = song(&[notes]);
        let tags = Tags(tags);
        let plain = read_sketch_with(&song, &ReadOptions::default());
        let (wanted, _) = tags.lines(&song, &plain.notes);
        let options = ReadOptions { tags, ..ReadOptions::default() };
        let read = read_sketch_with(&song, &options);
        prop_assert_eq!(read.notes.len(), plain.notes.len());
        for (note, line) in read.notes.iter().zip(wanted) {
            prop_assert!(line.is_none_or(|l| l == note.line));
        }
    }
}

#[test]
fn a_tag_by_tick_means_the_file_as_it_was_played() {
    let mut song = two_hands();
    for track in &mut song.tracks {
        let late = |n: &Note| Played {
            onset: Tick(n.onset.0 + 7),
            duration: n.duration,
            grace: false,
            rolled: false,
        };
        track.played = track.notes.iter().map(late).collect();
    }
    let tagged = |tick| {
        let text = format!("[[tag]]\nline = \"counterline\"\npitch = \"E4\"\ntick = {tick}\n");
        line(&read(&song, &text), Line::Counterline)
    };
    assert_eq!(tagged(1927), [(1920, 64)]);
    assert_eq!(tagged(1920), []);
}
