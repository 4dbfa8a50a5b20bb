//! Notation from the command line: which files there are, and what is refused.

use crate::command_line::{Place, err, two_bars};
use bandwright::band::preset;
use bandwright::export::{numbered_names, single_part_names};
use proptest::prelude::*;
use std::collections::BTreeSet;

/// Names that a system of long standing keeps for devices (MEM).
const KEPT: [&str; 6] = ["con", "prn", "aux", "nul", "com1", "lpt1"];

proptest! {
    #[test]
    fn names_are_ones_that_every_system_takes(titles in prop::collection::vec("\\PC{0,80}|con|NUL|a|A|\\.\\.|x\\.|é", 0..30)) {
        let names = numbered_names(titles.iter().map(String::as_str));
        prop_assert_eq!(names.len(), titles.len());
        let mut seen = BTreeSet::new();
        for (number, name) in (1_usize..).zip(&names) {
            let digits: String = name.chars().take_while(char::is_ascii_digit).collect();
            // A title may begin with digits itself, but stands behind a hyphen.
            let own = name.split('-').next().unwrap();
            prop_assert_eq!(own.parse::<usize>().ok(), Some(number), "{} {}", name, digits);
            prop_assert!(name.len() <= 200);
            let clean = |c: char| c.is_alphanumeric() || c == '-';
            prop_assert!(name.chars().all(clean), "{}", name);
            prop_assert!(!KEPT.contains(&name.to_lowercase().as_str()));
            prop_assert!(seen.insert(name.to_lowercase()), "{} twice", name);
        }
        let mut sorted = names.clone();
        sorted.sort();
        prop_assert_eq!(sorted, names, "the order of the score is that of the folder");
    }
}

fn contents(folder: &std::path::Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn a_score_and_single_parts_are_written_beside_the_draft() {
    let place = Place::new().with("s.mid", &two_bars());
    let words = [
        "voice",
        "s.mid",
        "--band",
        "thin",
        "--out",
        "d.mid",
        "--musicxml",
        "d.mxl",
        "--single-parts",
        "parts",
    ];
    let output = place.run(&words);
    assert!(output.status.success(), "{}", err(&output));
    assert_eq!(place.names(), ["d.mid", "d.mxl", "parts", "s.mid"]);
    let names = single_part_names(&preset("thin").unwrap()).into_iter();
    let mut wanted: Vec<String> = names
        .flat_map(|(_, n)| [format!("{n}.mid"), format!("{n}.musicxml")])
        .collect();
    wanted.sort();
    assert_eq!(contents(&place.path("parts")), wanted);
    assert!(
        std::fs::read(place.path("d.mxl"))
            .unwrap()
            .starts_with(b"PK")
    );
    // Nothing is written over, unless that is wished.
    place.refuses(&words, "d.mid is there already");
    std::fs::remove_file(place.path("d.mid")).unwrap();
    place.refuses(&words, "d.mxl is there already");
    std::fs::remove_file(place.path("d.mxl")).unwrap();
    place.refuses(&words, "is there already");
    let again = place.run(&[&words[..], &["--force", "--plain"]].concat());
    assert!(again.status.success(), "{}", err(&again));
}

#[test]
fn the_draft_is_the_same_with_notation_beside_it() {
    let place = Place::new().with("s.mid", &two_bars());
    let plain = place.run(&["voice", "s.mid", "--out", "a.mid"]);
    let with = place.run(&[
        "voice",
        "s.mid",
        "--out",
        "b.mid",
        "--musicxml",
        "b.musicxml",
    ]);
    assert!(plain.status.success() && with.status.success());
    let read = |name: &str| std::fs::read(place.path(name)).unwrap();
    assert_eq!(read("a.mid"), read("b.mid"));
    assert!(read("b.musicxml").starts_with(b"<?xml"));
}

#[test]
fn files_that_cannot_be_are_refused_before_the_work() {
    let place = Place::new().with("s.mid", &two_bars()).with("file", b"");
    let base = ["voice", "s.mid", "--out", "d.mid"];
    for (more, word) in [
        (&["--musicxml", "d.pdf"][..], "no name for MusicXML"),
        (&["--musicxml", "none/d.mxl"], "folder none does not exist"),
        (&["--plain"], "--single-parts FOLDER"),
        (&["--single-parts", "none/parts"], "does not exist"),
        (&["--single-parts", "file"], "is there already"),
        (&["--musicxml", "d.mid"], "both read and written"),
        (&["--musicxml", "s.mid"], "s.mid"),
        (
            &["--musicxml", "x.xml", "--json", "x.xml"],
            "both read and written",
        ),
    ] {
        place.refuses(&[&base[..], more].concat(), word);
    }
}
