//! Styles do what they say, measured on the demo and on a chorale of our own; limits and locks hold under all of
//! them, and whatever term is switched off.

use super::strategies::{band, lanes, locks, said, sketch, with_remarks};
use super::{faults_of, whole_way};
use crate::midi_file::{File, tone};
use bandwright::band::loudness::{Decibels, part_level};
use bandwright::band::{Band, preset};
use bandwright::cli::files::DEMO_SKETCH;
use bandwright::music::{Beats, Dynamic, Sounding, Tick};
use bandwright::project::given::Given;
use bandwright::project::whole_way::WholeWay;
use bandwright::score::{DraftNote, Role};
use bandwright::sketch::{Line, Song, read_song};
use bandwright::voicing::styles::{combined, combined_plan, read_style, style, style_words};
use bandwright::voicing::{Term, Weights};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// A chorale of our own, sixteen bars of four parts: tune, alto, tenor, bass, a chord a beat.
fn chorale() -> File {
    const CHORDS: [[u8; 4]; 16] = [
        [72, 67, 64, 48],
        [72, 69, 65, 53],
        [74, 67, 65, 55],
        [76, 67, 60, 48],
        [77, 69, 60, 53],
        [76, 67, 60, 55],
        [74, 65, 59, 55],
        [72, 64, 60, 57],
        [69, 65, 62, 50],
        [71, 65, 62, 55],
        [72, 64, 60, 48],
        [76, 67, 60, 52],
        [74, 69, 65, 50],
        [72, 67, 64, 55],
        [71, 65, 62, 55],
        [72, 64, 60, 48],
    ];
    let beat = |i: u32| CHORDS[(i % 16) as usize].map(|p| tone(i * 480, p, 480));
    File::piano((0..64).flat_map(beat).collect())
}

fn ways(song: &Song) -> BTreeMap<&'static str, WholeWay> {
    let band = preset("demo").unwrap();
    let go = |word| {
        let styles = style(word).into_iter().collect::<Vec<_>>();
        let given = Given {
            weights: combined(&styles),
            plan_weights: combined_plan(&styles),
            ..Given::default()
        };
        (word, whole_way(song, &band, &given, &mut |_| {}))
    };
    ["usual"].into_iter().chain(style_words()).map(go).collect()
}

struct Piece {
    song: Song,
    band: Band,
    ways: BTreeMap<&'static str, WholeWay>,
}

impl Piece {
    fn of(song: Song) -> Self {
        Self {
            ways: ways(&song),
            band: preset("demo").unwrap(),
            song,
        }
    }

    /// What a style comes to, by some measure.
    fn of_style(&self, style: &str, measure: impl Fn(&Self, &WholeWay) -> f64) -> f64 {
        measure(self, &self.ways[style])
    }

    /// The middle of every beat.
    fn beats(&self) -> impl Iterator<Item = Tick> {
        let quarter = self.song.quarter.ticks(Beats(1.0)).0;
        let end = self.song.end().0;
        (0..end / quarter).map(move |b| Tick(b * quarter + quarter / 4))
    }
}

static DEMO: LazyLock<Piece> = LazyLock::new(|| Piece::of(read_song(DEMO_SKETCH).unwrap()));
static CHORALE: LazyLock<Piece> = LazyLock::new(|| Piece::of(chorale().song()));

fn each_piece(holds: impl Fn(&Piece)) {
    holds(&DEMO);
    holds(&CHORALE);
}

/// What every part sounds at a tick, where it fills the chord of its own accord.
fn chord(way: &WholeWay, at: Tick) -> Vec<Option<Sounding>> {
    let sounding = |n: &&DraftNote| n.onset <= at && at < n.end();
    let free = |n: &DraftNote| n.role == Role::Harmony && !n.locked;
    let of = |l: &bandwright::score::PartLine| l.notes.iter().find(sounding).copied();
    let lines = way.voiced.draft.lines.iter();
    lines.map(|l| of(l).filter(free).map(|n| n.pitch)).collect()
}

/// What the sketch's tune or bass sounds at a tick.
fn line(way: &WholeWay, line: Line, at: Tick) -> Option<Sounding> {
    let mut notes = way.reading.line(line);
    let found = notes.find(|n| n.onset <= at && at < n.end());
    found.map(|n| n.pitch)
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = values.fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    sum / f64::max(n, 1.0)
}

/// How far parts of one instrument are from their neighbours, semitones.
fn gap(piece: &Piece, way: &WholeWay) -> f64 {
    let parts = &piece.band.parts;
    let at = |t| {
        let chord = chord(way, t);
        let pair = |i: usize| {
            let same = parts[i].instrument.id == parts[i + 1].instrument.id;
            let apart = chord[i]?.distance(chord[i + 1]?);
            same.then_some(f64::from(apart))
        };
        (0..parts.len() - 1).filter_map(pair).collect::<Vec<_>>()
    };
    mean(piece.beats().flat_map(at))
}

fn pitch(piece: &Piece, way: &WholeWay) -> f64 {
    let sounding = piece.beats().flat_map(|t| chord(way, t)).flatten();
    mean(sounding.map(|p| f64::from(p.midi())))
}

/// The share of the harmony's sound power that is below middle C.
fn low(piece: &Piece, way: &WholeWay) -> f64 {
    let (mut low, mut all) = (0.0, 0.0);
    for at in piece.beats() {
        for (part, pitch) in piece.band.parts.iter().zip(chord(way, at)) {
            let Some(pitch) = pitch else { continue };
            let power = part_level(part, pitch, Dynamic::Mf).map_or(0.0, Decibels::power);
            all += power;
            low += if pitch.midi() < 60 { power } else { 0.0 };
        }
    }
    low / all
}

/// Of a hundred moves, how many are octaves and fifths in the same direction, with tune or bass or within an
/// instrument's parts.
fn parallels(piece: &Piece, way: &WholeWay) -> f64 {
    let beats: Vec<Tick> = piece.beats().collect();
    let (mut count, mut moves) = (0, 0);
    for (s, t) in beats.iter().zip(beats.iter().skip(1)) {
        let (before, now) = (chord(way, *s), chord(way, *t));
        let own = |i: usize| before[i].zip(now[i]);
        let of = |l| line(way, l, *s).zip(line(way, l, *t));
        for (i, part) in piece.band.parts.iter().enumerate() {
            let next = piece.band.parts.get(i + 1);
            let pair = next.is_some_and(|n| n.instrument.id == part.instrument.id);
            let others = [
                of(Line::Melody),
                of(Line::Bass),
                pair.then(|| own(i + 1)).flatten(),
            ];
            let Some(own) = own(i).filter(|(a, b)| a != b) else {
                continue;
            };
            for other in others.into_iter().flatten().filter(|(a, b)| a != b) {
                moves += 1;
                count += usize::from(is_parallel(own, other));
            }
        }
    }
    100.0 * count as f64 / moves.max(1) as f64
}

fn is_parallel(one: (Sounding, Sounding), other: (Sounding, Sounding)) -> bool {
    let by = |(a, b): (Sounding, Sounding)| i32::from(b.midi()) - i32::from(a.midi());
    let apart = |a: Sounding, b: Sounding| a.distance(b) % 12;
    let (was, is) = (apart(one.0, other.0), apart(one.1, other.1));
    by(one) * by(other) > 0 && was == is && matches!(is, 0 | 7)
}

/// The share of the harmony that has a tone of the tune or the bass, beat by beat: where the tune moves on under a
/// held note, the note is counted against.
fn doubling(piece: &Piece, way: &WholeWay) -> f64 {
    let of = |t: Tick| {
        let lines = [Line::Melody, Line::Bass].map(|l| line(way, l, t));
        let is = move |p: Sounding| lines.iter().flatten().any(|l| l.class() == p.class());
        let doubles = chord(way, t).into_iter().flatten().map(is);
        doubles.map(f64::from).collect::<Vec<_>>()
    };
    mean(piece.beats().flat_map(of))
}

/// How far the harmony stands above the sketch's tune, all together, semitones.
fn above(piece: &Piece, way: &WholeWay) -> f64 {
    let of = |t: Tick| {
        let tune = line(way, Line::Melody, t);
        let over = move |p: Sounding| tune.map_or(0, |t| p.midi().saturating_sub(t.midi()));
        let sounding = chord(way, t).into_iter().flatten();
        sounding.map(|p| f64::from(over(p))).sum::<f64>()
    };
    piece.beats().map(of).sum()
}

#[test]
fn close_open_and_spread_are_wider_one_than_the_other() {
    each_piece(|piece| {
        let [close, usual, open, spread] =
            ["close", "usual", "open", "spread"].map(|s| piece.of_style(s, gap));
        let told = format!("{close:.2} {usual:.2} {open:.2} {spread:.2}");
        println!("gaps: {told}");
        assert!(close + 0.5 < usual && usual + 0.5 < open, "{told}");
        assert!(open + 0.5 < spread, "{told}");
    });
}

#[test]
fn bright_is_above_the_usual_and_dark_under_it() {
    each_piece(|piece| {
        let [bright, usual, dark] = ["bright", "usual", "dark"].map(|s| piece.of_style(s, pitch));
        let told = format!("{bright:.2} {usual:.2} {dark:.2}");
        println!("mean pitch: {told}");
        assert!(bright > usual + 1.0 && usual > dark + 1.0, "{told}");
    });
}

#[test]
fn a_chorale_has_fewer_parallels() {
    each_piece(|piece| {
        let [usual, strict] = ["usual", "chorale"].map(|s| piece.of_style(s, parallels));
        println!("parallels: {usual} {strict}");
        assert!(strict < usual, "{usual} {strict}");
    });
}

#[test]
fn a_pyramid_has_more_of_its_sound_low() {
    each_piece(|piece| {
        let [usual, pyramid] = ["usual", "pyramid"].map(|s| piece.of_style(s, low));
        println!("low: {usual:.3} {pyramid:.3}");
        assert!(pyramid > 1.1 * usual, "{usual} {pyramid}");
    });
}

#[test]
fn in_unison_and_octaves_nearly_all_doubles_tune_or_bass() {
    each_piece(|piece| {
        let [usual, unison] = ["usual", "unison"].map(|s| piece.of_style(s, doubling));
        println!("doubling: {usual:.3} {unison:.3}");
        assert!(unison > 0.9 && usual < 0.7, "{usual} {unison}");
    });
}

#[test]
fn an_accompaniment_stays_under_the_tune() {
    each_piece(|piece| {
        let [usual, melody] = ["usual", "melody"].map(|s| piece.of_style(s, above));
        println!("above: {usual} {melody}");
        assert!(melody < 0.7 * usual, "{usual} {melody}");
    });
}

#[test]
fn limits_and_locks_hold_in_every_style() {
    each_piece(|piece| {
        for (style, way) in &piece.ways {
            let wrong = faults_of(way, &piece.song, &piece.band, None);
            assert_eq!(wrong, Vec::<String>::new(), "{style}");
        }
    });
}

#[test]
fn of_styles_laid_over_one_another_the_later_holds() {
    let mine =
        read_style("name = \"mine\"\n[weights]\nmotion = 2\nparallel_octaves = 3\n").unwrap();
    let chorale = style("chorale").unwrap();
    let (one, other) = (combined([&mine, &chorale]), combined([&chorale, &mine]));
    assert_eq!(one.points(Term::ParallelOctave), 12.0);
    assert_eq!(other.points(Term::ParallelOctave), 3.0);
    for weights in [one, other] {
        assert_eq!(weights.points(Term::Motion), 2.0);
        assert_eq!(weights.points(Term::OwnFifth), 8.0);
        assert_eq!(weights.points(Term::Unison), 2.0);
    }
}

#[test]
fn every_style_that_comes_along_can_be_read_and_changes_something() {
    for word in style_words() {
        let own = style(word).unwrap();
        assert!(
            !own.what.is_empty() && own.source.contains("ours"),
            "{word}"
        );
        let usual = Weights::default();
        assert!(
            own.weights.iter().all(|(t, p)| usual.points(*t) != *p),
            "{word}"
        );
        assert!(own.plan.iter().all(|(_, times)| *times != 1.0), "{word}");
    }
}

/// Who carries what follows the style too: with no price on tired lips and rests that are due, brass rests less.
#[test]
fn a_style_changes_the_plan() {
    let (song, band) = (read_song(DEMO_SKETCH).unwrap(), preset("demo").unwrap());
    let rests = |text: &str| {
        let own = read_style(&format!("name = \"mine\"\n[plan]\n{text}\n")).unwrap();
        let given = Given {
            plan_weights: combined_plan([&own]),
            ..Given::default()
        };
        let way = whole_way(&song, &band, &given, &mut |_| {});
        let roles = way.plan.passages.iter().flat_map(|p| p.roles.clone());
        roles.filter(|r| r.role == Role::Rest).count()
    };
    let (usual, tireless) = (rests("clean = 1"), rests("load = 0\nrest_due = 0"));
    assert!(tireless < usual, "{tireless} {usual}");
}

#[test]
fn faulty_styles_are_refused_with_line_and_remedy() {
    let head = "name = \"mine\"\n[weights]\n";
    for (text, told) in [
        (
            "motoin = 1",
            "line 3: unknown term `motoin`; did you mean `motion`?",
        ),
        (
            "qqqq = 1",
            "line 3: unknown term `qqqq`; `bandwright styles --terms` lists the terms",
        ),
        (
            "motion = -1",
            "line 3: `motion` must weigh 0 to 100 points; 0 switches it off",
        ),
        (
            "motion = nan",
            "line 3: `motion` must weigh 0 to 100 points; 0 switches it off",
        ),
        (
            "motion = 1e9",
            "line 3: `motion` must weigh 0 to 100 points; 0 switches it off",
        ),
        ("motion = \"much\"", "line 3: `motion` must be a number"),
        (
            "leap_into_a_fixed_note = 0",
            "line 3: `leap_into_a_fixed_note` stands for a limit, which no style changes; leave the line out",
        ),
        (
            "",
            "line 2: a style changes at least one weight, under `[weights]` or `[plan]`; `bandwright styles --terms` lists the terms",
        ),
    ] {
        let error = read_style(&format!("{head}{text}\n")).unwrap_err();
        assert_eq!(error.to_string(), told);
    }
    for (text, told) in [
        (
            "presense = 1",
            "line 3: unknown term `presense`; did you mean `presence`?",
        ),
        (
            "presence = 21",
            "line 3: `presence` must weigh 0 to 20 times as much as usual; 0 switches it off",
        ),
        (
            "never_alone = 0",
            "line 3: `never_alone` stands for what the director said, which no style changes; leave the line out",
        ),
    ] {
        let error = read_style(&format!("name = \"mine\"\n[plan]\n{text}\n")).unwrap_err();
        assert_eq!(error.to_string(), told);
    }
    let error = read_style("name = \"mine\"\n").unwrap_err().to_string();
    assert!(error.starts_with("line 1: a style changes at least one weight"));
    let error = read_style("[weights]\nmotion = 1\n").unwrap_err();
    assert_eq!(error.to_string(), "line 1: `name` is missing");
    let error = read_style("name = \"a\"\nweight = 1\n").unwrap_err();
    assert_eq!(
        error.to_string(),
        "line 2: unknown key `weight`; did you mean `weights`?"
    );
    assert!(read_style("name = [\n").is_err());
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(150) })]

    #[test]
    fn limits_and_locks_hold_whatever_weighs_nothing_or_much(
        band in band(),
        said in said(),
        sketch in sketch(),
        own in locks(),
        term in 0..Term::ALL.len(),
        points in prop_oneof![3 => Just(0.0), 1 => Just(100.0)],
        word in prop::sample::select(style_words().collect::<Vec<_>>()),
    ) {
        let band = with_remarks(&band, &said);
        let mut sketch = sketch;
        let own = lanes(&own, &band, &sketch);
        sketch.lanes.extend(own);
        let song = sketch.song();
        for weights in [Weights::default(), combined([&style(word).unwrap()])] {
            let given = Given {
                weights: weights.with(Term::ALL[term], points),
                ..Given::default()
            };
            let way = whole_way(&song, &band, &given, &mut |_| {});
            let wrong = faults_of(&way, &song, &band, None);
            prop_assert_eq!(wrong, Vec::<String>::new(), "{:?} {} {}", Term::ALL[term], points, word);
        }
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "(name = \"a\"\n)?(\\[weights\\]\n)?\\PC{0,60}") {
        if let Err(error) = read_style(&text) {
            prop_assert!(error.line >= 1 && !error.text.is_empty());
        }
    }
}
