//! What `voice` tells of how good its chords are, and what others may hold against it.

use crate::command_line::{Place, err};

#[test]
fn bars_are_solved_by_themselves_and_written_as_a_network() {
    let place = Place::new();
    let words = [
        "voice",
        "--bars",
        "5-6",
        "--network",
        "bars.cfn",
        "--json",
        "bars.json",
    ];
    let output = place.run(&words);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    assert_eq!(place.names(), ["bars.cfn", "bars.json", "draft.mid"]);
    let text = std::fs::read_to_string(place.path("bars.cfn")).unwrap();
    let network: serde_json::Value = serde_json::from_str(&text).unwrap();
    let named = |what: &str| network[what].as_object().unwrap().len();
    assert!(named("variables") > 20 && named("functions") > 20);
    let answer = std::fs::read(place.path("bars.json")).unwrap();
    let answer: serde_json::Value = serde_json::from_slice(&answer).unwrap();
    let whole = place.run(&["voice", "--force", "--json", "-"]);
    let whole: serde_json::Value = serde_json::from_slice(&whole.stdout).unwrap();
    let number = |of: &serde_json::Value, key: &str| of[key].as_f64().unwrap();
    assert!(number(&answer, "lower_bound") <= number(&answer, "cost"));
    assert!(number(&answer, "cost") < number(&whole, "cost"));
    assert_eq!(answer["draft"], whole["draft"]);

    let refuses = |words: &[&str], word: &str| Place::new().refuses(words, word);
    refuses(&["voice", "--bars", "x"], "names no bars");
    refuses(&["voice", "--bars", "3-4, 7"], "names no bars");
    refuses(
        &["voice", "--bars", "500-501"],
        "no chord begins in bars 500-501",
    );
    let twice = ["voice", "--bars", "3", "--network", "a", "--json", "a"];
    refuses(&twice, "choose another name");
}

#[test]
fn the_draft_is_the_same_with_any_number_of_threads() {
    let place = Place::new();
    for (threads, out) in [("1", "one.mid"), ("2", "two.mid"), ("7", "seven.mid")] {
        let output = place.run(&["voice", "--threads", threads, "--out", out]);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    }
    let bytes = |name| std::fs::read(place.path(name)).unwrap();
    assert_eq!(bytes("one.mid"), bytes("two.mid"));
    assert_eq!(bytes("one.mid"), bytes("seven.mid"));
}
