//! Rosters: every refusal with its line and suggestion.

use bandwright::band::read_band;

/// A band of one part from lines of the part; the first of them is line 3 of the text.
pub fn one(lines: &str) -> String {
    format!("name = \"Test\"\n[[part]]\n{lines}\n")
}

pub fn with_remarks(instrument: &str, remarks: &str) -> String {
    one(&format!(
        "name = \"P\"\ninstrument = \"{instrument}\"\nplayers = {{ first_year = 1 }}\nremarks = {{ {remarks} }}"
    ))
}

fn with_players(players: &str) -> String {
    one(&format!(
        "name = \"P\"\ninstrument = \"flute\"\nplayers = {{ {players} }}"
    ))
}

fn named(name: &str) -> String {
    one(&format!(
        "name = \"{name}\"\ninstrument = \"flute\"\nplayers = {{ first_year = 1 }}"
    ))
}

#[track_caller]
pub fn refused(text: &str, line: usize, words: &str) {
    let error = read_band(text).expect_err(text);
    assert_eq!(error.line, line, "{error}");
    assert!(error.text.contains(words), "{error}");
}

#[test]
fn unknown_words_are_refused_with_the_nearest_known() {
    let text = with_remarks("flute", "").replace("\"flute\"", "\"clarinet_b\"");
    refused(
        &text,
        4,
        "unknown instrument `clarinet_b`; did you mean `clarinet_bb`?",
    );
    let text = text.replace("clarinet_b\"", "Clarinet\"");
    refused(&text, 4, "did you mean `clarinet_bb`?");
    refused(
        &text.replace("Clarinet", "qqqqqqqqqqq"),
        4,
        "unknown instrument `qqqqqqqqqqq`",
    );
    refused(
        &with_players("frist_year = 2"),
        5,
        "did you mean `first_year`?",
    );
    refused(
        &with_remarks("flute", "heighest = \"C6\""),
        6,
        "did you mean `highest`?",
    );
    refused(
        &one("nam = \"P\""),
        3,
        "unknown key `nam`; did you mean `name`?",
    );
    refused("name = \"T\"\nprat = 1", 2, "did you mean `part`?");
}

#[test]
fn what_is_missing_is_refused() {
    refused("", 1, "`name` is missing");
    refused("name = \"T\"", 1, "no parts");
    refused("name = \"T\"\npart = []", 2, "no parts");
    refused("name = \"T\"\n[part]\nname = \"P\"", 2, "double brackets");
    refused(&one("instrument = \"flute\""), 2, "`name` is missing");
    refused(&one("name = \"P\""), 2, "`instrument` is missing");
    refused(
        &one("name = \"P\"\ninstrument = \"flute\""),
        2,
        "no players",
    );
    refused(&with_players(""), 5, "no players");
    refused(&with_players("advanced = 0"), 5, "no players");
}

#[test]
fn bad_names_are_refused() {
    refused("name = \" \"", 1, "empty");
    refused(&named(""), 3, "empty");
    refused(&named("a\\nb"), 3, "control character");
    refused("\"a\\u001b\" = 1", 1, "unknown key `a\u{fffd}`");
    refused(&named(&"x".repeat(61)), 3, "longer than 60");
    assert!(read_band(&named(&"é".repeat(60))).is_ok());
    let second =
        "[[part]]\nname = \"trumpet1\"\ninstrument = \"trumpet\"\nplayers = { advanced = 1 }\n";
    let text = format!("{}{second}", named("Trumpet 1"));
    refused(&text, 7, "two parts are named");
}

#[test]
fn bad_numbers_are_refused() {
    refused(&with_players("advanced = -1"), 5, "from 0 to 500");
    refused(&with_players("advanced = 501"), 5, "from 0 to 500");
    refused(
        &with_players("advanced = 300, all_state = 201"),
        5,
        "more than 500",
    );
    refused(&with_players("advanced = 1.5"), 5, "whole number");
    refused(&with_players("advanced = \"two\""), 5, "whole number");
    refused(
        &with_remarks("flute", "no_leaps_over = 0"),
        6,
        "from 1 to 127",
    );
    refused(
        &with_remarks("flute", "no_leaps_over = 99999999999999999999"),
        6,
        "whole number",
    );
}

#[test]
fn bad_remarks_are_refused() {
    refused(
        &with_remarks("flute", "lowest = \"H4\""),
        6,
        "`H4` is no note name",
    );
    refused(&with_remarks("flute", "lowest = 60"), 6, "text in quotes");
    refused(&with_remarks("flute", "exposed = 1"), 6, "text");
    let crossed = "lowest = \"C5\", highest = \"B4\"";
    refused(
        &with_remarks("flute", crossed),
        6,
        "lowest C5 is above highest B4",
    );
    refused(&with_remarks("flute", "highest = \"C3\""), 6, "no notes");
    refused(
        &with_remarks("flute", "below_the_break = true"),
        6,
        "for clarinets",
    );
    assert!(read_band(&with_remarks("clarinet_bass", "below_the_break = true")).is_ok());
    refused(
        &one("remarks = 3\nname = \"P\"\ninstrument = \"flute\"\nplayers = { advanced = 1 }"),
        3,
        "must be a table",
    );
}

#[test]
fn text_that_is_no_toml_is_refused_with_its_line() {
    refused("name = \"T\"\n[[part]\n", 2, "");
    refused("name = \"T\"\nname = \"U\"\n", 2, "duplicate key");
    refused("name = 5", 1, "text in quotes");
}
