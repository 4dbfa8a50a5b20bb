//! The tables of playing against published figures: every place where ours is wider is printed, and
//! is one of the known ones.
//!
//! Most published figures are what an audition or a school asks for: a floor for those who pass, so that
//! ours may stand above it with a reason.

use super::brass::rows;
use bandwright::band::playing::{Playing, level_dynamics, usual_sizes};
use bandwright::band::{Instrument, Level, instruments};
use bandwright::music::Dynamic;
use std::collections::BTreeSet;

const SPEEDS: &str = include_str!("../../fixtures/published_speeds.csv");
const BREATH: &str = include_str!("../../fixtures/published_breath.csv");
const DYNAMICS: &str = include_str!("../../fixtures/published_dynamics.csv");
const WIDER_SPEEDS: &str = include_str!("../../fixtures/wider_speeds.csv");
const SIZES: &str = include_str!("../../fixtures/published_sizes.csv");

/// A place where our table is wider than a source, and by what.
type Case = String;

/// What is wider in the program, with the reason beside it.
type Known<'a> = &'a [(&'static str, &'static str)];

/// Fails where a case appears that is not known, or a known one is gone.
fn all_known(what: &str, found: &BTreeSet<Case>, known: Known<'_>) {
    println!("{what}: wider than a source: {found:#?}");
    let known: BTreeSet<Case> = known.iter().map(|(case, _)| (*case).to_owned()).collect();
    let new: Vec<_> = found.difference(&known).collect();
    let gone: Vec<_> = known.difference(found).collect();
    assert!(
        new.is_empty(),
        "{what}: wider, and nobody says why: {new:#?}"
    );
    assert!(gone.is_empty(), "{what}: no longer wider: {gone:#?}");
}

fn level(word: &str) -> Level {
    Level::ALL.into_iter().find(|l| l.word() == word).unwrap()
}

fn is_meant(words: &str, instrument: &Instrument) -> bool {
    let id = instrument.id.as_str();
    let trombone = id.starts_with("trombone");
    let deep = ["flute", "piccolo", "tuba", "sousaphone", "marching_contra"].contains(&id);
    match words {
        "winds" => instrument.wind,
        "trombones" => trombone,
        "winds but trombones" => instrument.wind && !trombone,
        "flutes and tubas" => deep,
        "winds but flutes and tubas" => instrument.wind && !deep,
        one => id == one,
    }
}

fn meant(words: &str) -> Vec<std::sync::Arc<Instrument>> {
    let all = instruments().unwrap().iter();
    let meant: Vec<_> = all.filter(|i| is_meant(words, i)).cloned().collect();
    assert!(!meant.is_empty(), "{words}");
    meant
}

/// Instruments whose numbers are alike come as one case: `flute, piccolo`.
fn gather(cases: impl IntoIterator<Item = (String, String)>) -> BTreeSet<Case> {
    let mut by_value: std::collections::BTreeMap<String, Vec<String>> = Default::default();
    for (value, id) in cases {
        by_value.entry(value).or_default().push(id);
    }
    by_value
        .into_iter()
        .map(|(value, ids)| format!("{value}: {}", ids.join(" ")))
        .collect()
}

fn speeds(of: &Playing, kind: &str) -> Vec<(&'static str, [f64; 5])> {
    let s = of.speeds;
    let all = [
        ("repeated", s.repeated.0),
        ("slurred", s.slurred.0),
        ("tongued", s.tongued.0),
    ];
    all.into_iter()
        .filter(|(name, _)| kind == "all" || kind == *name)
        .collect()
}

/// Ours above the published figure; `factor` makes ours faster, to see that the test can fail.
fn faster(factor: f64) -> BTreeSet<Case> {
    let mut cases = Vec::new();
    for row in rows(SPEEDS) {
        let [source, _, word, words, kind, published] = row[..] else {
            panic!("{row:?}")
        };
        let limit: f64 = published.parse().unwrap();
        for instrument in meant(words) {
            for (name, numbers) in speeds(&instrument.playing, kind) {
                let ours = numbers[level(word).index()] * factor;
                // The published figures have two places.
                if ours > limit + 0.005 {
                    cases.push((
                        format!("{source} {word} {name} {ours:.1} over {limit}"),
                        instrument.id.clone(),
                    ));
                }
            }
        }
    }
    gather(cases)
}

#[test]
fn speeds_are_within_the_published_ones_but_for_known_cases() {
    all_known("speeds", &faster(1.0), &known_in(WIDER_SPEEDS));
    assert_ne!(faster(1.05), faster(1.0));
    assert_ne!(faster(0.95), faster(1.0));
}

fn longer(factor: f64) -> BTreeSet<Case> {
    let mut cases = Vec::new();
    for row in rows(BREATH) {
        let [source, _, word, words, seconds] = row[..] else {
            panic!("{row:?}")
        };
        let limit: f64 = seconds.parse().unwrap();
        for instrument in meant(words) {
            let ours = instrument.playing.breath.unwrap().seconds.at(level(word)) * factor;
            if ours > limit {
                cases.push((
                    format!("{source} {word} {ours} s over {limit}"),
                    instrument.id.clone(),
                ));
            }
        }
    }
    gather(cases)
}

#[test]
fn breath_is_within_the_published_long_tones_but_for_known_cases() {
    all_known("breath", &longer(1.0), WIDER_BREATH);
    assert_ne!(longer(1.01), longer(1.0));
}

#[test]
fn dynamics_are_within_the_published_ones() {
    let mut wider = BTreeSet::new();
    let dynamic = |word: &str| word.parse::<Dynamic>().unwrap();
    for row in rows(DYNAMICS) {
        let ours = level_dynamics(level(row[2])).unwrap();
        let (softest, loudest) = (dynamic(row[3]), dynamic(row[4]));
        if ours.softest < softest {
            wider.insert(format!("{} {} softest", row[0], row[2]));
        }
        if ours.loudest > loudest {
            wider.insert(format!("{} {} loudest", row[0], row[2]));
        }
    }
    all_known("dynamics", &wider, &[]);
}

/// Numbers of players in large bands beyond the published ones.
const WIDER_SIZES: Known<'static> = &[
    (
        "S51 clarinet_bass fewest 0 under 1",
        "many large bands march none; ours is a usual range, not a wanted one",
    ),
    (
        "S51 sax_baritone most 5 over 4",
        "the worked example of 120 winds has 4; one more left open (CP)",
    ),
];

#[test]
fn numbers_of_players_are_within_the_published_ones_but_for_known_cases() {
    let mut wider = BTreeSet::new();
    let mut read = 0;
    for row in rows(SIZES) {
        let mut all = usual_sizes().unwrap();
        let (_, ours) = all
            .find(|(ids, _)| ids.iter().any(|i| i == row[1]))
            .unwrap();
        let (fewest, most): (u16, u16) = (row[2].parse().unwrap(), row[3].parse().unwrap());
        assert_eq!(ours.published, Some([fewest, most]), "{}", row[1]);
        if ours.large[0] < fewest {
            wider.insert(format!(
                "S51 {} fewest {} under {fewest}",
                row[1], ours.large[0]
            ));
        }
        if ours.large[1] > most {
            wider.insert(format!("S51 {} most {} over {most}", row[1], ours.large[1]));
        }
        read += 1;
    }
    assert_eq!(read, 11);
    all_known("players", &wider, WIDER_SIZES);
}

/// A fixture of cases and reasons.
fn known_in(text: &'static str) -> Vec<(&'static str, &'static str)> {
    let data = text.lines().filter(|l| !l.starts_with('#')).skip(1);
    let known: Vec<_> = data.map(|l| l.split_once(';').unwrap()).collect();
    assert!(known.iter().all(|(_, reason)| !reason.trim().is_empty()));
    known
}
/// Long tones of ours beyond the published ones.
const WIDER_BREATH: Known<'static> = &[
    (
        "S61 first_year 6 s over 5: bassoon clarinet_eb clarinet_bb clarinet_alto clarinet_bass sax_soprano sax_alto sax_tenor sax_baritone cornet trumpet flugelhorn horn mellophone trombone baritone_bc baritone_tc marching_baritone_bc marching_baritone_tc euphonium_bc euphonium_tc",
        "the source speaks of the first weeks, flutes on the head joint; ours of the whole first year (CP)",
    ),
    (
        "S61 first_year 7 s over 5: oboe",
        "as the others, and an oboe takes the least air",
    ),
];
