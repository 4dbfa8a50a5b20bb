//! Rosters that are read, and written back.

use bandwright::band::{
    Level, find_instrument, preset, preset_names, preset_source, read_band, write_band,
};
use bandwright::cli::bands::table;
use bandwright::music::{Interval, Written};
use proptest::prelude::*;

use super::any_roster::any_band;
use super::refusals::with_remarks;

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

/// The worked examples of 32, 64 and 120 winds (common practice, no source).
#[test]
fn marching_presets_have_the_winds_they_promise() {
    for (name, winds) in [
        ("small-marching", 32),
        ("medium-marching", 64),
        ("large-marching", 120),
    ] {
        let parts = preset(name).unwrap().parts;
        let players = parts.iter().filter(|p| p.instrument.wind);
        let count: u32 = players.map(|p| p.players.count()).sum();
        assert_eq!(count, winds, "{name}");
    }
}

#[test]
fn the_table_shows_written_notes() {
    let text = table(&preset("demo").unwrap());
    let third = text.lines().find(|l| l.starts_with("Clarinet 3 ")).unwrap();
    let cells: Vec<_> = third
        .split("  ")
        .filter(|c| !c.is_empty())
        .map(str::trim)
        .collect();
    assert_eq!(
        cells[1..6],
        ["B-flat clarinet", "4 first-year", "E3", "G3-A4", "Bb4"]
    );
    assert!(cells[6].starts_with("below the break; no leaps over 7 semitones"));
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
