//! Players one by one: names, seats, words, and what may not be.

use bandwright::band::{Level, read_band, write_band};

use super::refusals::{one, refused};

fn with(players: &str) -> String {
    one(&format!("name = \"P\"\ninstrument = \"flute\"\n{players}"))
}

#[test]
fn players_are_given_by_level_in_words_or_one_by_one() {
    let text = with(
        "players = \"1 all state + 2 first-years\"\n[[part.player]]\nname = \"Ann\"\nlevel = \"second year\"\n[[part.player]]\nlevel = \"advanced\"\ncount = 2",
    );
    let band = read_band(&text).unwrap();
    assert_eq!(band.parts[0].players.0, [2, 1, 0, 2, 1]);
    let seats: Vec<(Level, String)> = band.parts[0]
        .seats
        .iter()
        .map(|id| band.seat(*id).unwrap())
        .map(|s| (s.level, s.name.clone()))
        .collect();
    assert_eq!(seats[0], (Level::AllState, String::new()));
    assert_eq!(seats[3], (Level::SecondYear, "Ann".to_owned()));
    assert_eq!(read_band(&write_band(&band)), Ok(band));
}

#[test]
fn what_is_wrong_with_players_is_told_with_its_line() {
    refused(
        &with("players = \"2 advancd\""),
        5,
        "did you mean `advanced`?",
    );
    refused(&with("players = \"advanced\""), 5, "no number of players");
    refused(&with("players = \"\""), 5, "no players");
    refused(&with("players = 3"), 5, "\"2 first-year\"");
    refused(&with("players = \"501 advanced\""), 5, "more than 500");
    refused(&with("player = 3"), 5, "[[part.player]]");
    let player = |lines: &str| with(&format!("[[part.player]]\n{lines}"));
    refused(&player("name = \"Ann\""), 5, "`level` is missing");
    refused(
        &player("level = \"advanced\"\nnam = \"Ann\""),
        7,
        "did you mean `name`?",
    );
    refused(&player("level = \"expert\""), 6, "unknown level `expert`");
    refused(
        &player("level = \"advanced\"\nabsent = \"yes\""),
        7,
        "true or false",
    );
    refused(
        &player("level = \"advanced\"\ncount = 0"),
        7,
        "from 1 to 500",
    );
    let twins = "level = \"advanced\"\nname = \"Ann\"\ncount = 2";
    refused(&player(twins), 8, "a player with a name is one");
    refused(&player("level = \"advanced\"\npart = 1"), 7, "is one part");
    refused(&player("level = \"advanced\"\nname = \"\""), 7, "empty");
    refused(
        &player("level = \"advanced\"\nremarks = { lowst = \"C4\" }"),
        7,
        "did you mean `lowest`?",
    );
}

#[test]
fn what_is_wrong_with_sections_is_told_with_its_line() {
    let section = |lines: &str| {
        format!(
            "name = \"T\"\n[[section]]\nname = \"Trumpet\"\ninstrument = \"trumpet\"\n{lines}\n"
        )
    };
    refused(&section(""), 2, "no players");
    refused(
        &section("parts = 0\nplayers = \"2 advanced\""),
        5,
        "from 1 to 6",
    );
    refused(
        &section("parts = 7\nplayers = \"2 advanced\""),
        5,
        "from 1 to 6",
    );
    let seat = |part: &str| {
        let seat = format!("[[section.player]]\nlevel = \"advanced\"\npart = {part}");
        section(&format!("parts = 2\nplayers = \"2 advanced\"\n{seat}"))
    };
    assert!(read_band(&seat("2")).is_ok());
    assert!(read_band(&seat("\"trumpet 2\"")).is_ok());
    refused(&seat("3"), 9, "from 1 to 2");
    refused(&seat("\"Flute 1\""), 9, "`Trumpet 1`");
    let twice =
        "[[part]]\nname = \"Trumpet 2\"\ninstrument = \"trumpet\"\nplayers = \"1 advanced\"";
    let text = section(&format!("parts = 2\nplayers = \"2 advanced\"\n{twice}"));
    refused(&text, 7, "two parts are named `Trumpet 2`");
    refused(
        &with("parts = 2\nplayers = \"1 advanced\""),
        5,
        "unknown key `parts`",
    );
    refused("name = \"T\"\nsection = []", 2, "no parts");
}

/// Sections and parts stay in the order of the file, and are written back as they were.
#[test]
fn the_structure_is_kept() {
    let text = "name = \"T\"\nnote = \"Free text.\"\n\n[[section]]\nname = \"Trumpet\"\ninstrument = \"trumpet\"\nparts = 2\nplayers = \"1 all-state, 3 intermediate\"\n\n[[part]]\nname = \"Flute\"\ninstrument = \"flute\"\nplayers = { first_year = 2 }\nremarks = { rests_every = 8 }\n\n[[section]]\nname = \"Horn\"\ninstrument = \"horn\"\nplayers = { second_year = 2 }\n\n[[section.player]]\nname = \"Ann\"\nlevel = \"advanced\"\nabsent = true\npart = 1\nremarks = { no_faster_than = 4.5 }\n";
    assert_eq!(write_band(&read_band(text).unwrap()), text);
}
