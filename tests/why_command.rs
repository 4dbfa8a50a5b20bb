//! `voice --why`, run as people run it.

use crate::command_line::Place;

#[test]
fn voice_tells_why_and_refuses_places_and_parts_that_are_not_there() {
    let place = Place::new();
    let ask = |more: &[&str]| {
        let words = [&["voice", "--force", "--json", "d.json"][..], more].concat();
        place.run(&words)
    };
    let found = ask(&["--why", "41:1", "--part", "clarinet 3"]);
    assert!(found.status.success());
    let text = String::from_utf8(found.stdout).unwrap();
    assert!(text.contains("what costs most"), "{text}");
    assert!(text.contains("bars 41-44: how they are scored"), "{text}");
    assert!(text.contains("would cost"), "{text}");
    assert!(
        text.contains("Clarinet 3, bar 41, beat 1: written "),
        "{text}"
    );
    assert!(text.contains("what else it could do"), "{text}");
    let answer = std::fs::read_to_string(place.path("d.json")).unwrap();
    let answer: serde_json::Value = serde_json::from_str(&answer).unwrap();
    assert_eq!(answer["why"][0]["part"], "Clarinet 3");
    let said = answer["passage_why"].as_array().unwrap();
    assert!(said.len() >= 3, "{said:?}");
    assert_eq!(answer["costs_most"].as_array().unwrap().len(), 3);
    for (words, what) in [
        (
            &["--why", "999"][..],
            "there is no bar 999; the sketch has 64 bars",
        ),
        (&["--why", "41:9"], "bar 41 has no such beat"),
        (&["--why", "0"], "counted from 1"),
        (&["--why", "4", "--part", "Kazoo"], "has no part `Kazoo`"),
        (&["--part", "Clarinet 3"], "--why"),
    ] {
        let refused = ask(words);
        assert!(!refused.status.success());
        let text = String::from_utf8(refused.stderr).unwrap();
        assert!(text.contains(what), "{text}");
    }
}
