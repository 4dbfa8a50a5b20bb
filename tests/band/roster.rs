//! Rosters: every refusal with its line, and what is read.

use bandwright::band::{
    Band, Level, Part, Players, Remarks, find_instrument, instruments, limits, preset,
    preset_names, preset_source, read_band, write_band,
};
use bandwright::cli::bands::table;
use bandwright::music::{Interval, Written};
use proptest::prelude::*;

/// A band of one part from lines of the part; the first of them is line 3 of the text.
fn one(lines: &str) -> String {
    format!("name = \"Test\"\n[[part]]\n{lines}\n")
}

fn with_remarks(instrument: &str, remarks: &str) -> String {
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
fn refused(text: &str, line: usize, words: &str) {
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
    refused(&with_remarks("flute", "soloist = 1"), 6, "true or false");
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

#[test]
fn parts_are_put_in_score_order_with_their_ranks() {
    let part = |name: &str, instrument: &str| {
        format!(
            "[[part]]\nname = \"{name}\"\ninstrument = \"{instrument}\"\nplayers = {{ advanced = 1 }}\n"
        )
    };
    let text = format!(
        "name = \"T\"\n{}{}{}{}",
        part("Tuba", "tuba"),
        part("Second", "trumpet"),
        part("Flute", "flute"),
        part("First", "trumpet"),
    );
    let band = read_band(&text).unwrap();
    let order: Vec<_> = band
        .parts
        .iter()
        .map(|p| (p.name.as_str(), p.rank))
        .collect();
    assert_eq!(
        order,
        [("Flute", 1), ("Second", 1), ("First", 2), ("Tuba", 1)]
    );
}

#[test]
fn limits_are_those_of_the_weakest_narrowed_by_the_remarks() {
    let text = with_remarks(
        "clarinet_bb",
        "below_the_break = true, highest = \"A4\", no_leaps_over = 7",
    )
    .replace("first_year = 1", "first_year = 1, all_state = 1");
    let part = &read_band(&text).unwrap().parts[0];
    // First year: stretch E3 to Bb4, comfortable G3 to A4, written; a tone lower sounding.
    assert_eq!(
        (part.limits.range.low.midi(), part.limits.range.high.midi()),
        (50, 67)
    );
    let easy = part.limits.comfortable;
    assert_eq!((easy.low.midi(), easy.high.midi()), (53, 67));
    assert_eq!(part.limits.max_leap, Some(Interval(7)));
    // Where nothing comfortable is left, the hard range stands in.
    let text = with_remarks("clarinet_bb", "highest = \"F3\"");
    let limits = read_band(&text).unwrap().parts[0].limits;
    assert_eq!(limits.comfortable, limits.range);
}

#[test]
fn all_presets_read_and_write_back() {
    assert_eq!(preset_names().count(), 6);
    for name in preset_names() {
        let band = preset(name).unwrap();
        assert_eq!(read_band(&write_band(&band)).as_ref(), Ok(&band), "{name}");
        let lines = table(&band);
        assert_eq!(lines.lines().count(), band.parts.len() + 3);
        assert!(lines.lines().all(|l| l == l.trim_end()));
    }
    assert!(
        preset_source("Demo")
            .unwrap_err()
            .to_string()
            .contains("`demo`")
    );
    let thin = preset("thin").unwrap();
    let lacking = ["oboe", "bassoon", "horn", "mellophone"];
    assert!(
        thin.parts
            .iter()
            .all(|p| !lacking.contains(&p.instrument.id.as_str()))
    );
    let demo = preset("demo").unwrap();
    let third = demo.parts.iter().find(|p| p.name == "Clarinet 3").unwrap();
    assert!(third.remarks.below_the_break && third.players.0 == [4, 0, 0, 0, 0]);
}

fn any_part() -> impl Strategy<Value = Part> {
    let note = proptest::option::of(21_i16..=108);
    (
        (
            "[ -~éß\"\\\\]{0,20}",
            0..37_usize,
            [0_u16..4, 0..4, 0..4, 0..4, 0..4],
        ),
        (
            note.clone(),
            note,
            any::<bool>(),
            proptest::option::of(1_i16..24),
        ),
        (any::<bool>(), "\\PC{0,20}|[\\x00-\\x1f\\x7f\"\\\\]{0,9}"),
    )
        .prop_filter_map(
            "a part that can be",
            |((name, i, players), (lo, hi, low_reg, leap), (soloist, note))| {
                let instrument = instruments().unwrap()[i].clone();
                let remarks = Remarks {
                    lowest: lo.map(Written),
                    highest: hi.map(Written),
                    below_the_break: low_reg && instrument.id.starts_with("clarinet"),
                    no_leaps_over: leap.map(Interval),
                    soloist,
                    note,
                };
                let players = Players(players);
                let limits = limits(&instrument, players, &remarks).ok()?;
                Some(Part {
                    name: name.trim().to_owned(),
                    instrument,
                    players,
                    remarks,
                    limits,
                    rank: 1,
                })
            },
        )
}

fn any_band() -> impl Strategy<Value = Band> {
    (proptest::collection::vec(any_part(), 1..6), "\\PC{0,30}").prop_map(|(mut parts, note)| {
        parts.sort_by_key(|p| p.instrument.score_order);
        for i in 0..parts.len() {
            parts[i].name = format!("{} {i}", parts[i].name).trim().to_owned();
            let same = |p: &&Part| p.instrument.id == parts[i].instrument.id;
            parts[i].rank = 1 + parts[..i].iter().filter(same).count() as u8;
        }
        Band {
            name: "Any".to_owned(),
            note,
            parts,
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn written_bands_read_back(band in any_band()) {
        prop_assert_eq!(read_band(&write_band(&band)), Ok(band));
    }

    #[test]
    fn any_text_is_read_or_refused(text in "(name|part|=|\\[|\\]|\"|\\{|\\}|\n|[a-z]|é){0,40}") {
        if let Err(error) = read_band(&text) {
            prop_assert!(error.line >= 1 && error.line <= text.lines().count() + 1);
        }
    }
}

#[test]
fn instruments_are_found() {
    assert_eq!(
        find_instrument("horn")
            .unwrap()
            .range(Level::FirstYear)
            .comfortable
            .low,
        Written(60)
    );
    assert!(find_instrument("Horn").is_none());
}
