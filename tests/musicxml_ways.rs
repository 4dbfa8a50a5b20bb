//! MusicXML wherever a sketch is taken: commands, locks, the project file.

use crate::command_line::{Place, err};
use bandwright::band::preset;
use bandwright::music::BarNumber;
use bandwright::project::{Document, Project, SketchFile, project_bytes, read_project};
use bandwright::score::own_passages;
use bandwright::sketch::{Song, read_any};

const SMALL: &[u8] = include_bytes!("fixtures/small.musicxml");

/// A piano of four bars, and a part that is written a tone higher than it sounds and plays in bar 2.
fn with_part(name: &str) -> String {
    let attributes = |more: &str| {
        format!(
            "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time>{more}</attributes>"
        )
    };
    let note = |step: &str, octave: u8, length: u8| {
        format!(
            "<note><pitch><step>{step}</step><octave>{octave}</octave></pitch><duration>{length}</duration></note>"
        )
    };
    let bar =
        |number: u32, inside: &str| format!("<measure number=\"{number}\">{inside}</measure>");
    let tune = ["E", "G", "A", "G"].map(|step| note(step, 4, 1)).concat();
    let rest = "<note><rest measure=\"yes\"/><duration>4</duration></note>";
    let tone = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>";
    let piano: String = (1..=4)
        .map(|n| {
            bar(
                n,
                &format!(
                    "{}{tune}",
                    if n == 1 {
                        attributes("")
                    } else {
                        String::new()
                    }
                ),
            )
        })
        .collect();
    let part: String = (1..=4)
        .map(|n| match n {
            1 => bar(n, &format!("{}{rest}", attributes(tone))),
            2 => bar(n, &note("D", 5, 4)),
            _ => bar(n, rest),
        })
        .collect();
    format!(
        "<score-partwise><part-list><score-part id=\"P1\"><part-name>Piano</part-name></score-part>\
         <score-part id=\"P2\"><part-name>{name}</part-name></score-part></part-list>\
         <part id=\"P1\">{piano}</part><part id=\"P2\">{part}</part></score-partwise>"
    )
}

fn locked(song: &Song) -> Vec<(u32, u8)> {
    let band = preset("demo").unwrap();
    let own = own_passages(song, &band, (&song.meters, song.quarter));
    assert_eq!(own.tracks, [1]);
    let lock = &own.locks.0[0];
    assert_eq!(band.part(lock.part).name, "Clarinet 1");
    let bar = |at| song.meters.bar(at).0;
    lock.notes
        .iter()
        .map(|n| (bar(n.onset), n.pitch.midi()))
        .collect()
}

#[test]
fn a_transposing_part_of_the_band_is_an_own_passage_as_it_sounds() {
    let song = read_any(with_part("clarinet-1").as_bytes()).unwrap();
    assert_eq!(locked(&song), [(2, 72)]);
    assert_eq!(song.meters.bar(song.tracks[1].notes[0].onset), BarNumber(2));
}

#[test]
fn commands_take_musicxml_by_its_content_and_not_its_name() {
    let place = Place::new()
        .with("a.musicxml", SMALL)
        .with("a.mid", SMALL)
        .with("band.xml", with_part("Clarinet 1").as_bytes())
        .with("broken.xml", b"<score-partwise><part>")
        .with("page.xml", b"<html/>");
    let read = place.does(&["read", "a.musicxml", "--json", "-"]);
    assert_eq!(place.does(&["read", "a.mid", "--json", "-"]), read);
    let answer: serde_json::Value = serde_json::from_str(&read).unwrap();
    assert_eq!(answer["keys"][0]["fifths"], -2);
    assert!(answer["warnings"].to_string().contains("chord symbols"));
    place.refuses(&["read", "broken.xml"], "before its last element");
    place.refuses(&["voice", "page.xml"], "html");
    let output = place.run(&[
        "voice",
        "band.xml",
        "--locks",
        "band.xml",
        "--out",
        "draft.mid",
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let draft = read_any(&std::fs::read(place.path("draft.mid")).unwrap()).unwrap();
    let clarinet = draft
        .tracks
        .iter()
        .find(|t| t.name == "Clarinet 1")
        .unwrap();
    let bar_2: Vec<u8> = (clarinet.notes.iter())
        .filter(|n| draft.meters.bar(n.onset) == BarNumber(2))
        .map(|n| n.pitch.midi())
        .collect();
    assert_eq!(bar_2, [72]);
}

#[test]
fn a_show_keeps_its_score_and_reads_it_again() {
    let sketch = SketchFile {
        name: "small.musicxml".to_owned(),
        bytes: SMALL.to_vec(),
        ..SketchFile::default()
    };
    let document = Document::new("Small Lights", sketch, preset("demo").unwrap());
    let song = document.song().unwrap();
    assert_eq!(song, read_any(SMALL).unwrap());
    let project = Project::new(document);
    let read = read_project(&project_bytes(&project)).unwrap();
    assert_eq!(read.document().song().unwrap(), song);
}
