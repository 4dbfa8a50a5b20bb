//! A tiny score as text, and scores that are refused.

use super::read_back::{child, read_back, text};
use super::{Score, band_of};
use crate::midi_file::{File, Lane, tone};
use bandwright::band::PartId;
use bandwright::export::{MusicXmlError, musicxml_bytes, part_musicxml_bytes};
use bandwright::music::{Sounding, Tick, Ticks};
use bandwright::review::breath::Place;
use bandwright::review::{Breath, BreathKind};
use bandwright::score::{Draft, DraftNote, PartLine, Role};

fn note(onset: u64, duration: u64, pitch: u8) -> DraftNote {
    DraftNote {
        onset: Tick(onset),
        pitch: Sounding::new(pitch).unwrap(),
        duration: Ticks(duration),
        velocity: 81,
        role: Role::Melody,
        locked: false,
    }
}

fn draft(lines: Vec<Vec<DraftNote>>) -> Draft {
    let lines = (0..).zip(lines).map(|(part, notes)| PartLine {
        part: PartId(part),
        notes,
    });
    Draft {
        lines: lines.collect(),
        melody_changes: Vec::new(),
    }
}

/// One clarinet that plays a dotted note, breathes, and plays a triplet and a note over the barline.
fn tiny() -> Score {
    let file = File {
        tempos: vec![(0, 625_000)],
        keys: vec![(0, -3, false)],
        markers: vec![(0, "A".to_owned())],
        ..File::piano(vec![tone(0, 63, 1920), tone(1920, 63, 1920)])
    };
    let notes = vec![
        note(0, 720, 63),
        note(720, 240, 65),
        note(960, 160, 67),
        note(1120, 160, 68),
        note(1280, 160, 70),
        note(1440, 960, 72),
    ];
    let mut score = Score::of(file.song(), band_of(&["clarinet_bb"]), draft(vec![notes]));
    score.breaths = vec![Breath {
        part: PartId(0),
        at: Tick(960),
        kind: BreathKind::Between(Place::Phrase),
    }];
    score
}

#[test]
fn a_tiny_part_is_written_as_it_was() {
    let bytes = part_musicxml_bytes(&tiny().input(), PartId(0)).unwrap();
    let text = String::from_utf8(bytes).unwrap();
    let version = concat!("bandwright ", env!("CARGO_PKG_VERSION"));
    let text = text.replace(version, "bandwright VERSION");
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures/tiny.musicxml");
    if std::env::var_os("RENEW_TINY").is_some() {
        std::fs::write(path, &text).unwrap();
    }
    assert_eq!(text, std::fs::read_to_string(path).unwrap());
}

#[test]
fn the_piano_stands_on_two_staves_between_woodwinds_and_brass() {
    let band = band_of(&["trumpet", "flute", "tuba", "timpani"]);
    let song = File::piano(vec![tone(0, 72, 480), tone(0, 40, 480)]).song();
    let score = Score::of(song, band, draft(vec![Vec::new(); 4]));
    let bytes = musicxml_bytes(&score.input()).unwrap();
    let names: Vec<String> = read_back(&bytes, 480).into_iter().map(|p| p.name).collect();
    assert_eq!(
        names,
        [
            "flute 2",
            "Piano Sketch",
            "trumpet 1",
            "tuba 3",
            "timpani 4"
        ]
    );
    let source = String::from_utf8(bytes).unwrap();
    let tree = roxmltree::Document::parse(&source).unwrap();
    let parts: Vec<_> = tree
        .descendants()
        .filter(|n| n.has_tag_name("part"))
        .collect();
    let first = parts[1]
        .descendants()
        .find(|n| n.has_tag_name("attributes"))
        .unwrap();
    assert_eq!(text(first, "staves"), Some("2"));
    let signs = first.children().filter(|c| c.has_tag_name("clef"));
    let signs: Vec<_> = signs
        .map(|c| (c.attribute("number"), text(c, "sign")))
        .collect();
    assert_eq!(signs, [(Some("1"), Some("G")), (Some("2"), Some("F"))]);
    // Woodwinds, brass, low brass and percussion each stand under a bracket.
    let list = child(tree.root_element(), "part-list").unwrap();
    let kind = |n: roxmltree::Node<'_, '_>| match n.attribute("type") {
        Some("start") => "[".to_owned(),
        Some(_) => "]".to_owned(),
        None => n.attribute("id").unwrap_or_default().to_owned(),
    };
    let row: Vec<String> = list
        .children()
        .filter(roxmltree::Node::is_element)
        .map(kind)
        .collect();
    assert_eq!(row.join(" "), "[ P1 ] P2 [ P3 ] [ P4 ] [ P5 ]");
}

#[test]
fn players_read_the_enharmonic_key_with_fewer_signs() {
    // Concert B, five sharps: seven on a clarinet, so it reads D flat, a diminished third above.
    let file = File {
        keys: vec![(0, 5, false)],
        ..File::piano(
            [71, 73, 75, 76, 78, 80, 82, 83]
                .iter()
                .zip((0..).step_by(480))
                .map(|(p, at)| tone(at, *p, 480))
                .collect(),
        )
    };
    let line = vec![note(0, 1920, 71), note(1920, 1920, 73)];
    let score = Score::of(file.song(), band_of(&["clarinet_bb"]), draft(vec![line]));
    let bytes = part_musicxml_bytes(&score.input(), PartId(0)).unwrap();
    let source = String::from_utf8(bytes).unwrap();
    let tree = roxmltree::Document::parse(&source).unwrap();
    let of = |name: &str| {
        let found = tree.descendants().filter(|n| n.has_tag_name(name));
        found
            .map(|n| n.text().unwrap().to_owned())
            .collect::<Vec<_>>()
    };
    assert_eq!(of("fifths"), ["-5"]);
    assert_eq!(
        (of("diatonic"), of("chromatic")),
        (vec!["-2".to_owned()], vec!["-2".to_owned()])
    );
    assert_eq!(of("step"), ["D", "E"]);
    assert_eq!(of("alter"), ["-1", "-1"]);
}

#[test]
fn drums_of_the_sketch_are_unpitched() {
    let kit = Lane {
        channel: 9,
        ..Lane::new(
            "",
            vec![tone(0, 36, 240), tone(480, 38, 240), tone(480, 42, 240)],
        )
    };
    let song = File::plain(vec![Lane::new("Piano", vec![tone(0, 60, 480)]), kit]).song();
    let score = Score::of(song, band_of(&["flute"]), draft(vec![Vec::new()]));
    let bytes = musicxml_bytes(&score.input()).unwrap();
    let parts = read_back(&bytes, 480);
    let drums = parts.last().unwrap();
    assert_eq!(drums.name, "Percussion");
    let keys: Vec<i64> = drums.notes.iter().map(|n| n.pitch).collect();
    assert_eq!(keys, [36, 38, 42]);
    let source = String::from_utf8(bytes).unwrap();
    let last = &source[source.rfind("<part id").unwrap()..];
    assert!(!last.contains("<pitch>") && !last.contains("<key"));
    assert!(last.contains("<sign>percussion</sign>") && last.contains("<notehead>x</notehead>"));
}

#[test]
fn empty_bars_of_a_single_part_are_counted_together() {
    let song = File::piano(vec![tone(0, 60, 1920 * 6)]).song();
    let line = vec![note(0, 480, 60), note(4 * 1920, 480, 60)];
    let score = Score::of(song, band_of(&["flute"]), draft(vec![line]));
    let alone = String::from_utf8(part_musicxml_bytes(&score.input(), PartId(0)).unwrap()).unwrap();
    assert_eq!(alone.matches("<multiple-rest>3</multiple-rest>").count(), 1);
    assert_eq!(alone.matches("<multiple-rest>").count(), 1);
    let whole = String::from_utf8(musicxml_bytes(&score.input()).unwrap()).unwrap();
    assert!(!whole.contains("<multiple-rest>"));
}

#[test]
fn what_no_file_can_hold_is_refused() {
    let low = Score::of(
        File::piano(vec![tone(0, 0, 480)]).song(),
        band_of(&["flute"]),
        Draft::default(),
    );
    let error = musicxml_bytes(&low.input()).unwrap_err();
    assert!(
        matches!(error, MusicXmlError::OutOfOctaves { octave: -1, .. }),
        "{error}"
    );
    assert!(
        error.to_string().starts_with("Piano Sketch, bar 1: "),
        "{error}"
    );
    let long = File {
        quarter: 1,
        meters: vec![(0, 1, 7)],
        ..File::piano(vec![tone(0, 60, 1), tone(200_000_000, 60, 1)])
    };
    let long = Score::of(long.song(), band_of(&["flute"]), Draft::default());
    let error = musicxml_bytes(&long.input()).unwrap_err();
    assert!(matches!(error, MusicXmlError::TooLong { .. }), "{error}");
}

#[test]
fn an_empty_song_has_a_bar() {
    let score = Score::of(
        File::plain(Vec::new()).song(),
        band_of(&["flute"]),
        Draft::default(),
    );
    let parts = read_back(&musicxml_bytes(&score.input()).unwrap(), 480);
    assert!(
        parts
            .iter()
            .all(|p| p.measures == [0, 1920] && p.notes.is_empty())
    );
}
