//! Solving some of a draft again, and within a limit of time, from the command line.

use crate::command_line::Place;
use bandwright::music::BarNumber;
use bandwright::sketch::{Note, read_song};

/// Some of a draft is solved again: what is outside stays, to the byte.
#[test]
fn some_of_a_draft_is_solved_again() {
    let place = Place::new();
    place.does(&["voice", "--out", "draft.mid"]);
    let again = |more: &[&str]| {
        let words = [
            "voice",
            "--draft",
            "draft.mid",
            "--out",
            "new.mid",
            "--force",
        ];
        let said = place.does(&[&words[..], more].concat());
        let read = |name| read_song(&std::fs::read(place.path(name)).unwrap()).unwrap();
        (said, read("draft.mid"), read("new.mid"))
    };
    let (said, draft, new) = again(&[
        "--bars",
        "17-20",
        "--parts",
        "Clarinet 3, trumpet 1",
        "--stay",
        "0",
    ]);
    assert!(said.contains("\nsolved again: "), "{said}");
    let (start, end) = (
        draft.meters.bar_start(BarNumber(17)),
        draft.meters.bar_end(BarNumber(20)),
    );
    for (was, is) in draft.tracks.iter().zip(&new.tracks) {
        let may = ["Clarinet 3", "Trumpet 1"].contains(&was.name.as_str());
        let stays = |n: &&Note| !may || n.onset < start || end < n.end();
        let (a, b): (Vec<&Note>, Vec<&Note>) = (
            was.notes.iter().filter(stays).collect(),
            is.notes.iter().filter(stays).collect(),
        );
        assert_eq!(a, b, "{}", was.name);
    }
    let (said, ..) = again(&["--stay", "10"]);
    assert!(said.contains("solved again: 0 new notes"), "{said}");
    let bytes = |name| std::fs::read(place.path(name)).unwrap();
    assert_eq!(bytes("draft.mid"), bytes("new.mid"));
    let new = ["voice", "--draft", "draft.mid", "--out", "other.mid"];
    let refuses = |more: &[&str], word| place.refuses(&[&new[..], more].concat(), word);
    refuses(&["--parts", "Kazoo"], "no part `Kazoo`");
    refuses(&["--bars", "900"], "after the last, 64");
    refuses(&["--bars", "x"], "names no bars");
    for words in [
        &["voice", "--draft", "draft.mid", "--stay", "11"][..],
        &["voice", "--stay", "3"],
    ] {
        assert_eq!(place.run(words).status.code(), Some(2));
    }
    place.refuses(
        &[
            "voice",
            "--draft",
            "draft.mid",
            "--out",
            "draft.mid",
            "--force",
        ],
        "both read and written",
    );
}

/// Told to stop at once, the program writes what it has and says so.
#[test]
fn a_limit_of_time_gives_the_best_so_far() {
    let place = Place::new();
    let said = place.does(&["voice", "--seconds", "0.000000001", "--json", "all.json"]);
    assert!(said.contains("\nchords: stopped; "), "{said}");
    let json = std::fs::read_to_string(place.path("all.json")).unwrap();
    assert!(json.contains("\"status\": \"stopped\""));
    assert_eq!(place.names(), ["all.json", "draft.mid"]);
    assert_eq!(
        place.run(&["voice", "--seconds", "0"]).status.code(),
        Some(2)
    );
}
