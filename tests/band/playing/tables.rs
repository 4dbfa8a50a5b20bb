//! What always holds in the tables of playing.

use bandwright::band::playing::{
    BandSize, ByLevel, Drum, OverTheBreak, Playing, band_size, burst_factor, ceiling, crossings,
    drums, level_dynamics, over_the_break, set_of, slide_travel, tuning, usual_sizes,
};
use bandwright::band::{BELOW_THE_BREAK, Family, Level, find_instrument, instruments};
use bandwright::music::{Interval, Written};
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::path::Path;

fn rising<T: PartialOrd + Copy>(values: ByLevel<T>) -> bool {
    values.0.windows(2).all(|w| w[0] <= w[1])
}

#[test]
fn every_instrument_has_its_rows_and_they_rise_with_the_level() {
    for instrument in instruments().unwrap() {
        let id = instrument.id.as_str();
        let playing = Playing::of(id).unwrap();
        assert_eq!(playing, instrument.playing, "{id}");
        let s = playing.speeds;
        assert!(
            [s.repeated, s.slurred, s.tongued].into_iter().all(rising),
            "{id}"
        );
        assert!(s.tongued.0[0] > 0.0, "{id}");
        // On the timpani and the chimes any leap is alike; without wind nobody runs out of it.
        assert_eq!(
            playing.leaps.is_none(),
            ["timpani", "chimes"].contains(&id),
            "{id}"
        );
        assert_eq!(playing.breath.is_some(), instrument.wind, "{id}");
        assert!(playing.leaps.is_none_or(|l| rising(l.semitones)), "{id}");
        let over = playing.leaps.and_then(|l| l.over_the_break);
        assert_eq!(over.is_some(), id.starts_with("clarinet"), "{id}");
        assert!(over.is_none_or(rising), "{id}");
        if let (Some(over), Some(leaps)) = (over, playing.leaps) {
            assert!(
                over.0.iter().zip(leaps.semitones.0).all(|(a, b)| *a <= b),
                "{id}"
            );
        }
        assert!(playing.breath.is_none_or(|b| rising(b.seconds)), "{id}");
        assert!(
            playing
                .breath
                .is_none_or(|b| b.low_third > 0.0 && b.low_third <= 1.0),
            "{id}"
        );
    }
}

#[test]
fn tables_by_level_alone_go_one_way() {
    for crossing in crossings().unwrap() {
        let falling = crossing.cost.0.windows(2).all(|w| w[0] >= w[1]);
        assert!(falling && crossing.cost.0[0] <= 3, "{crossing:?}");
    }
    let all = Level::ALL.map(|l| level_dynamics(l).unwrap());
    for d in &all {
        assert!(
            d.softest <= d.reliable.0 && d.reliable.0 <= d.reliable.1 && d.reliable.1 <= d.loudest
        );
    }
    for pair in all.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        assert!(
            b.softest <= a.softest && b.loudest >= a.loudest,
            "{a:?} {b:?}"
        );
        assert!(
            b.reliable.0 <= a.reliable.0 && b.reliable.1 >= a.reliable.1,
            "{a:?} {b:?}"
        );
    }
    assert!(rising(slide_travel().unwrap().positions_a_second));
}

#[test]
fn trouble_spots_lie_in_the_professional_range() {
    let mut spots = 0;
    for instrument in instruments().unwrap() {
        let widest = instrument.professional;
        for spot in &instrument.playing.trouble {
            let inside = widest.low <= spot.low && spot.high <= widest.high;
            assert!(
                inside && spot.low <= spot.high,
                "{}: {spot:?}",
                instrument.id
            );
            assert!(
                (1..=3).contains(&spot.severity) && !spot.issue.is_empty(),
                "{spot:?}"
            );
            spots += 1;
        }
    }
    assert!(spots >= 70, "{spots}");
}

/// Bass clef, treble clef, and by how much the treble-clef player reads higher.
const TWINS: [(&str, &str); 3] = [
    ("baritone_bc", "baritone_tc"),
    ("marching_baritone_bc", "marching_baritone_tc"),
    ("euphonium_bc", "euphonium_tc"),
];

#[test]
fn bass_clef_and_treble_clef_twins_are_one_instrument() {
    for (bass, treble) in TWINS {
        let [bass, treble] = [bass, treble].map(|id| find_instrument(id).unwrap());
        let (a, b) = (&bass.playing, &treble.playing);
        assert_eq!((a.speeds, a.leaps, a.breath), (b.speeds, b.leaps, b.breath));
        assert!(!a.trouble.is_empty());
        let moved: Vec<_> = a
            .trouble
            .iter()
            .map(|s| {
                (
                    s.low.up(Interval(14)),
                    s.high.up(Interval(14)),
                    &s.issue,
                    s.severity,
                )
            })
            .collect();
        let theirs: Vec<_> = b
            .trouble
            .iter()
            .map(|s| (s.low, s.high, &s.issue, s.severity))
            .collect();
        assert_eq!(moved, theirs);
        for n in bass.professional.low.0..=bass.professional.high.0 {
            let (low, high) = (Written(n), Written(n + 14));
            assert_eq!(a.action.cents(low), b.action.cents(high), "{low}");
            assert_eq!(a.action.fingering(low), b.action.fingering(high), "{low}");
        }
        for level in Level::ALL {
            let (x, y) = (bass.range(level), treble.range(level));
            assert_eq!(x.comfortable.low.up(Interval(14)), y.comfortable.low);
            assert_eq!(x.stretch.high.up(Interval(14)), y.stretch.high);
        }
    }
    // A marching baritone is a baritone that is carried.
    for (bass, treble) in TWINS {
        let ours = |id: &str| find_instrument(id).unwrap().playing.trouble.clone();
        if bass.starts_with("marching") {
            assert_eq!(
                (ours(bass), ours(treble)),
                (ours("baritone_bc"), ours("baritone_tc"))
            );
        }
    }
}

/// Every table of a file that says something has a source, and each source is a mark that we know.
fn check_sources(name: &str, value: &toml::Value, codes: &BTreeSet<String>, rows: &mut usize) {
    let tables: Vec<&toml::Table> = match value {
        toml::Value::Array(all) => all.iter().filter_map(toml::Value::as_table).collect(),
        toml::Value::Table(one) => vec![one],
        _ => Vec::new(),
    };
    for table in tables {
        let source = table.get("source").and_then(toml::Value::as_str);
        let source = source.unwrap_or_else(|| panic!("{name}: no source: {table:?}"));
        let bad = unknown_mark(source, codes);
        assert_eq!(bad, None, "{name}: {source}");
        *rows += 1;
    }
}

/// What is wrong with a source's words: a code that is not in the list, or no mark at all.
fn unknown_mark(source: &str, codes: &BTreeSet<String>) -> Option<String> {
    let words = source.split(|c: char| !c.is_ascii_alphanumeric());
    let mut marks = 0;
    for word in words {
        let number = word
            .strip_prefix('S')
            .map(|n| n.trim_end_matches(char::is_lowercase));
        if number.is_some_and(|n| n.parse::<u32>().is_ok()) {
            if !codes.contains(word) {
                return Some(word.to_owned());
            }
            marks += 1;
        }
        if ["CP", "MEM", "CALC", "ours"].contains(&word) {
            marks += 1;
        }
    }
    (marks == 0).then(|| "no mark".to_owned())
}

#[test]
fn every_row_has_a_source_that_is_known() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("presets");
    let read =
        |path: &Path| -> toml::Table { std::fs::read_to_string(path).unwrap().parse().unwrap() };
    let sources = read(&root.join("sources.toml"));
    let codes: BTreeSet<String> = sources["source"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| s["code"].as_str().unwrap().to_owned())
        .collect();
    let mut rows = 0;
    let mut files = 0;
    for entry in std::fs::read_dir(root.join("playing")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        for value in read(&path).values() {
            check_sources(&name, value, &codes, &mut rows);
        }
        files += 1;
    }
    assert!(files >= 13 && rows > 300, "{files} files, {rows} rows");
    // The check can fail.
    assert_eq!(unknown_mark("S999; CP", &codes), Some("S999".to_owned()));
    assert_eq!(unknown_mark("somebody", &codes), Some("no mark".to_owned()));
}

/// Factors for short runs are ratios of the tempos that S45 gives for one beat, two beats, one bar and two.
#[test]
fn bursts_are_the_ratios_of_the_published_tempos() {
    let tempos = [(1.0, 160.0), (2.0, 140.0), (4.0, 120.0), (8.0, 110.0)];
    for (beats, tempo) in tempos {
        let ours = burst_factor(beats, 4.0);
        assert!(
            (ours - tempo / 110.0_f64).abs() < 0.0051,
            "{beats} beats: {ours}"
        );
    }
}

#[test]
fn lower_parts_lie_lower_and_never_under_what_is_comfortable() {
    for instrument in instruments().unwrap() {
        for level in Level::ALL {
            let range = instrument.range(level).comfortable;
            let tops: Vec<Written> = (1..=6)
                .map(|rank| ceiling(instrument, level, rank))
                .collect();
            assert!(
                tops.is_sorted_by(|a, b| a >= b),
                "{} {tops:?}",
                instrument.id
            );
            assert!(tops.iter().all(|t| range.low <= *t && *t <= range.high));
            assert_eq!((tops[2], tops[3]), (tops[2], tops[2]));
            let moves = matches!(instrument.family, Family::Woodwind | Family::Brass);
            assert_eq!(
                tops[0] != tops[1],
                moves && tops[0] > range.low,
                "{} {level}",
                instrument.id
            );
        }
    }
    let top = |level, rank| ceiling(&find_instrument("clarinet_bb").unwrap(), level, rank);
    assert_eq!(top(Level::SecondYear, 1), Written(76));
    assert_eq!(top(Level::SecondYear, 2), BELOW_THE_BREAK);
    assert_eq!(top(Level::Intermediate, 3), Written(77));
    use OverTheBreak::{ByStep, No, Yes};
    let rules = |rank| Level::ALL.map(|level| over_the_break(level, rank));
    assert_eq!(rules(1), [No, Yes, Yes, Yes, Yes]);
    assert_eq!(rules(2), [No, No, Yes, Yes, Yes]);
    assert_eq!(rules(3), [No, No, ByStep, Yes, Yes]);
    assert_eq!((rules(0), rules(4)), (rules(1), rules(3)));
}

#[test]
fn sets_of_timpani_are_the_usual_ones() {
    let span = |count| {
        let set: Vec<Drum> = set_of(count).unwrap();
        (
            set.len(),
            set[0].low.to_string(),
            set[set.len() - 1].high.to_string(),
        )
    };
    assert_eq!(span(2), (2, "F2".to_owned(), "F3".to_owned()));
    assert_eq!(span(3), (3, "F2".to_owned(), "A3".to_owned()));
    assert_eq!(span(4), (4, "D2".to_owned(), "A3".to_owned()));
    assert_eq!(span(5), (5, "D2".to_owned(), "C4".to_owned()));
    // A perfect fifth each (S31).
    assert!(drums().unwrap().iter().all(|d| d.high.0 - d.low.0 == 7));
    // The range of the instrument is that of its set of four.
    let timpani = find_instrument("timpani").unwrap().professional;
    assert_eq!((timpani.low, timpani.high), (Written(38), Written(57)));
}

/// Whether every note can have a drum of its own, tried in every way.
fn can_be(set: &[Drum], notes: &[Written]) -> bool {
    let Some((note, rest)) = notes.split_first() else {
        return true;
    };
    (0..set.len()).any(|i| {
        let mut others = set.to_vec();
        set[i].reaches(*note) && {
            others.remove(i);
            can_be(&others, rest)
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

    #[test]
    fn timpani_have_all_notes_at_once_exactly_where_some_way_is(count in 2_u8..=5, notes in proptest::collection::btree_set(36_i16..62, 0..6)) {
        let set = set_of(count).unwrap();
        let notes: Vec<Written> = notes.into_iter().map(Written).collect();
        let tuned: Option<Vec<_>> = tuning(&set, &notes).map(Iterator::collect);
        prop_assert_eq!(tuned.is_some(), can_be(&set, &notes));
        for (drum, note) in tuned.iter().flatten() {
            prop_assert!(drum.reaches(*note));
        }
        if let Some(tuned) = tuned {
            let used: BTreeSet<u8> = tuned.iter().map(|(d, _)| d.inches).collect();
            prop_assert_eq!(used.len(), notes.len());
            prop_assert_eq!(tuned.iter().map(|(_, n)| *n).collect::<Vec<_>>(), notes);
        }
    }
}

#[test]
fn larger_bands_have_no_fewer_players() {
    let mut kinds = 0;
    for (ids, size) in usual_sizes().unwrap() {
        for id in ids {
            assert!(find_instrument(id).is_some(), "{id}");
        }
        let all = [size.small, size.medium, size.large];
        assert!(all.iter().all(|[a, b]| a <= b), "{ids:?}");
        assert!(
            all.windows(2)
                .all(|w| w[0][0] <= w[1][0] && w[0][1] <= w[1][1]),
            "{ids:?}"
        );
        for (example, sizes) in size.examples.iter().zip(all) {
            assert!((sizes[0]..=sizes[1]).contains(example), "{ids:?}");
        }
        kinds += 1;
    }
    assert_eq!(kinds, 12);
    let sizes = [40, 41, 80, 81].map(|n| band_size(n).unwrap());
    use BandSize::{Large, Medium, Small};
    assert_eq!(sizes, [Small, Medium, Medium, Large]);
}
