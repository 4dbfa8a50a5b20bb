//! The table against figures from outside: an independent library's, the General MIDI list, and
//! published ranges.

use bandwright::band::{Instrument, Level, find_instrument, instruments};
use bandwright::music::Written;
use std::sync::Arc;

const LIBRARY: &str = include_str!("../fixtures/music21_instruments.csv");
const PUBLISHED: &str = include_str!("../fixtures/published_ranges.csv");

fn rows(text: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    let data = text.lines().filter(|l| !l.starts_with('#')).skip(1);
    data.map(|l| l.split(',').collect())
}

fn found(id: &str) -> Arc<Instrument> {
    find_instrument(id).unwrap_or_else(|| panic!("{id}"))
}

/// Where our lowest note or transposition differs from the library's, and why ours stands.
const DIFFER: [(&str, &str, &str); 9] = [
    (
        "flute",
        "lowest",
        "B3 with a B foot; as a stretch of all-state players only",
    ),
    (
        "clarinet_bass",
        "lowest",
        "C3 professional; school instruments stop at Eb3",
    ),
    ("sax_baritone", "lowest", "A3 with the low-A key"),
    (
        "horn",
        "lowest",
        "written C2 is a pedal note, not a band note",
    ),
    (
        "trombone_bass",
        "lowest",
        "F1 professional; the levels stop at Bb1",
    ),
    (
        "glockenspiel",
        "transpose",
        "sounds two octaves above what is read (S27)",
    ),
    (
        "xylophone",
        "transpose",
        "sounds an octave above what is read (S28)",
    ),
    (
        "electric_bass",
        "transpose",
        "is read an octave above what sounds",
    ),
    ("electric_bass", "lowest", "E1 sounding is E2 written"),
];

#[test]
fn transpositions_lowest_notes_and_programs_agree_with_the_library() {
    let mut differ = Vec::new();
    for row in rows(LIBRARY) {
        let ours = found(row[1]);
        let transpose: i16 = row[2].parse().unwrap();
        if ours.transposition.interval().0 != transpose {
            differ.push((row[1], "transpose"));
        }
        let lowest: Option<i16> = row[3].parse().ok();
        if lowest.is_some_and(|l| ours.professional.low != Written(l)) {
            differ.push((row[1], "lowest"));
        }
        assert_eq!(ours.program, row[4].parse::<u8>().unwrap(), "{}", row[1]);
    }
    let mut known: Vec<_> = DIFFER.iter().map(|(id, what, _)| (*id, *what)).collect();
    known.sort_unstable();
    differ.sort_unstable();
    assert_eq!(differ, known);
}

/// General MIDI level 1 programs, from 0 (S62).
const PROGRAMS: [(u8, &[&str]); 24] = [
    (9, &["glockenspiel"]),
    (11, &["vibraphone"]),
    (12, &["marimba"]),
    (13, &["xylophone"]),
    (14, &["chimes"]),
    (33, &["electric_bass"]),
    (43, &["double_bass"]),
    (47, &["timpani"]),
    (56, &["trumpet", "cornet", "flugelhorn"]),
    (
        57,
        &["trombone", "trombone_bass", "baritone_bc", "baritone_tc"],
    ),
    (57, &["marching_baritone_bc", "marching_baritone_tc"]),
    (57, &["euphonium_bc", "euphonium_tc"]),
    (58, &["tuba", "sousaphone", "marching_contra"]),
    (60, &["horn", "mellophone"]),
    (64, &["sax_soprano"]),
    (65, &["sax_alto"]),
    (66, &["sax_tenor"]),
    (67, &["sax_baritone"]),
    (68, &["oboe"]),
    (70, &["bassoon"]),
    (
        71,
        &[
            "clarinet_eb",
            "clarinet_bb",
            "clarinet_alto",
            "clarinet_bass",
        ],
    ),
    (72, &["piccolo"]),
    (73, &["flute"]),
    (89, &["synth"]),
];

#[test]
fn programs_are_those_of_general_midi() {
    let mut count = 0;
    for (program, ids) in PROGRAMS {
        for id in ids {
            assert_eq!(found(id).program, program, "{id}");
            count += 1;
        }
    }
    assert_eq!(count, instruments().unwrap().len());
}

/// The level that plays what a published scope asks; `None` where no level fits.
fn level(source: &str, scope: &str) -> Option<Level> {
    Some(match (source, scope) {
        ("S1", "publisher grade 1") => Level::FirstYear,
        ("S1", "publisher grade 2") | ("S10", _) => Level::SecondYear,
        ("S4", "state all-state; grades 6-8") | ("S5" | "S7", _) => Level::Intermediate,
        ("S9", "state solo list grade B") | ("S11", _) => Level::Advanced,
        ("S4", _) | ("S8" | "S14", _) => Level::AllState,
        ("S9", "state solo list grade A (hardest)") => Level::AllState,
        _ => return None,
    })
}

/// The instruments that a published row speaks of.
fn ids(name: &str) -> Vec<&str> {
    let one = |n| match n {
        "sax" | "sax(all)" => vec!["sax_alto", "sax_tenor", "sax_baritone"],
        "clarinets(all)" => vec!["clarinet_eb", "clarinet_bb", "clarinet_bass"],
        "clarinet_bb(part1)" => vec!["clarinet_bb"],
        "baritone" => vec!["baritone_bc"],
        "contra" => vec![],
        other => vec![other],
    };
    name.split('+').flat_map(one).collect()
}

/// Where our comfortable range is wider than a published one (source, level, instrument, end),
/// and why ours stands.
const WIDER: [(&str, &str); 13] = [
    (
        "S10 second_year flute high",
        "one course of study stops at C6; S1 grades 1.5 and 2 go to D6 and F6",
    ),
    (
        "S14 all_state horn low",
        "asks for C4 to G5 only; S4 and S8 give horns F3",
    ),
    (
        "S14 all_state mellophone low",
        "asks for C4 to G5 only; the instrument plays down to F#3 (S24)",
    ),
    (
        "S4 all_state clarinet_bass low",
        "asks all low clarinets from E3; the low E flat key is common",
    ),
    (
        "S5 intermediate bassoon low",
        "asks from F2; S4 for the same grades from Bb1",
    ),
    (
        "S5 intermediate clarinet_bb high",
        "stops at F5; S4 for the same grades goes to D6",
    ),
    (
        "S5 intermediate clarinet_bb low",
        "begins at F3; S4 for the same grades at E3",
    ),
    (
        "S7 intermediate clarinet_bb high",
        "stops at G5; S4 for the same grades goes to D6",
    ),
    (
        "S7 intermediate clarinet_bb low",
        "begins at G3; S4 for the same grades at E3",
    ),
    (
        "S7 intermediate flute low",
        "begins at F4; S4 for the same grades at C4",
    ),
    ("S8 all_state bassoon high", "stops at G4; S4 goes to Bb4"),
    (
        "S8 all_state clarinet_bass low",
        "asks all clarinets from E3; the low E flat key is common",
    ),
    ("S8 all_state oboe high", "stops at C6; S4 goes to D6"),
];

#[test]
fn comfortable_ranges_are_within_the_published_ones_but_for_known_cases() {
    let mut wider = Vec::new();
    for row in rows(PUBLISHED) {
        let Some(level) = level(row[0], row[1]) else {
            continue;
        };
        let (low, high): (Written, Written) = (row[3].parse().unwrap(), row[4].parse().unwrap());
        for id in ids(row[2]) {
            let ours = found(id).range(level).comfortable;
            if ours.low < low {
                wider.push(format!("{} {} {id} low", row[0], level.word()));
            }
            if ours.high > high {
                wider.push(format!("{} {} {id} high", row[0], level.word()));
            }
        }
    }
    let known = WIDER.iter().map(|(case, _)| (*case).to_owned());
    let mut known: Vec<String> = known.collect();
    known.sort();
    wider.sort();
    assert_eq!(wider, known);
}
