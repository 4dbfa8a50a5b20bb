//! What the director said, on the whole way: each remark by itself.

use super::strategies::retold;
use super::{faults_of, go};
use crate::checker::not_carried;
use crate::midi_file::{File, Lane, Tone, tone};
use bandwright::band::{
    Band, Exposure, GoEasy, NotesPerSecond, Remarks, find_instrument, preset, preset_names,
    read_band,
};
use bandwright::cli::files::demo_song;
use bandwright::music::Interval;
use bandwright::project::whole_way::WholeWay;
use bandwright::review::{Sheet, check_limits};
use bandwright::score::{DraftNote, Role};
use bandwright::sketch::Line;
use std::collections::BTreeSet;

const WINDS: [(&str, &str); 7] = [
    ("Flute", "flute"),
    ("Clarinet 1", "clarinet_bb"),
    ("Clarinet 2", "clarinet_bb"),
    ("Alto Sax", "sax_alto"),
    ("Trumpet", "trumpet"),
    ("Trombone", "trombone"),
    ("Tuba", "tuba"),
];

fn band_of(parts: &[(&str, &str)]) -> Band {
    let part = |(name, instrument): &(&str, &str)| {
        format!(
            "[[part]]\nname = \"{name}\"\ninstrument = \"{instrument}\"\nplayers = {{ advanced = 2 }}\n"
        )
    };
    let text: String = parts.iter().map(part).collect();
    read_band(&format!("name = \"Winds\"\n{text}")).unwrap()
}

/// Sixteen bars: a tune of three quarters and a rest in every other bar, chords and a bass below.
fn sketch() -> File {
    let mut notes = Vec::new();
    for bar in 0..16_u32 {
        let (at, root) = (bar * 1920, [48_u8, 53, 55, 48][bar as usize % 4]);
        let beats = if bar % 2 == 1 { 3 } else { 4 };
        notes.extend((0..beats).map(|b| {
            let up = [24, 28, 31, 28][(b + bar) as usize % 4];
            tone(at + b * 480, root + up, 480)
        }));
        notes.extend([0, 7, 16].map(|up| tone(at, root + up, 1920)));
    }
    File::piano(notes)
}

/// The way with a band of which some parts were given remarks; the checker finds nothing.
fn told(file: &File, plain: &Band, said: &[(usize, Remarks)]) -> (WholeWay, Band) {
    let mut band = plain.clone();
    for (part, remarks) in said {
        band.parts[*part] = retold(&band.parts[*part], remarks.clone()).unwrap();
    }
    let song = file.song();
    let way = go(&song, &band, None);
    assert_eq!(faults_of(&way, &song, &band, None), Vec::<String>::new());
    (way, band)
}

fn notes(way: &WholeWay, part: usize) -> &[DraftNote] {
    &way.voiced.draft.lines[part].notes
}

fn played_bars(way: &WholeWay, part: usize) -> BTreeSet<u64> {
    let bars = notes(way, part)
        .iter()
        .flat_map(|n| n.onset.0 / 1920..n.end().0.div_ceil(1920));
    bars.collect()
}

fn tune_is_kept(way: &WholeWay) {
    assert_eq!(way.voiced.draft.melody_changes, []);
    let lost = not_carried(&way.reading, &way.voiced.draft, Line::Melody);
    assert_eq!(lost, Vec::<&_>::new());
}

/// What is fixed before the sketch begins is led out of too.
#[test]
fn no_leap_is_too_great_out_of_a_lock_before_the_sketch() {
    let mut file = sketch();
    for note in &mut file.lanes[0].notes {
        note.onset += 3840;
    }
    for high in [84, 86, 88] {
        let mut file = file.clone();
        file.lanes
            .push(Lane::new("Clarinet 2", vec![tone(0, high, 240)]));
        let said = Remarks {
            no_leaps_over: Some(Interval(7)),
            ..Remarks::default()
        };
        told(&file, &band_of(&WINDS), &[(2, said)]);
    }
}

#[test]
fn a_slow_part_leaves_the_tune_to_others_and_holds_chords() {
    let slow = Remarks {
        no_faster_than: Some(NotesPerSecond(1.0)),
        ..Remarks::default()
    };
    // The tune is two notes a second, the chords half of one.
    let said = [0, 1, 4].map(|part| (part, slow.clone()));
    let (way, _) = told(&sketch(), &band_of(&WINDS), &said);
    tune_is_kept(&way);
    for part in [0, 1, 4] {
        assert!(notes(&way, part).iter().all(|n| n.role != Role::Melody));
    }
    let held = [0, 1, 4].iter().flat_map(|p| notes(&way, *p));
    assert!(held.count() > 16, "slow parts still fill the chord");
}

#[test]
fn harmony_that_comes_too_fast_is_held_over_or_left_out() {
    let mut file = sketch();
    let chords = |bar: u32| {
        (0..8).flat_map(move |i| {
            let top = [60_u8, 62][i as usize % 2];
            [48, 55, top].map(|p| tone(bar * 1920 + i * 240, p, 240))
        })
    };
    let tune = (0..32).map(|i| tone(i * 960, 72 + [0, 4, 7, 4][i as usize % 4], 960));
    file.lanes = vec![
        Lane::new("Right", tune.collect()),
        Lane::new("Left", (0..16).flat_map(chords).collect::<Vec<Tone>>()),
    ];
    let slow = Remarks {
        no_faster_than: Some(NotesPerSecond(1.5)),
        ..Remarks::default()
    };
    let said: Vec<_> = (1..6).map(|part| (part, slow.clone())).collect();
    let (way, _) = told(&file, &band_of(&WINDS), &said);
    tune_is_kept(&way);
    let harmony = (1..6).flat_map(|p| notes(&way, p));
    assert!(harmony.filter(|n| n.role == Role::Harmony).count() > 8);
}

#[test]
fn everybody_rests_in_time_and_the_tune_is_handed_over() {
    for every in [2, 3, 5] {
        let rests = Remarks {
            rests_every: Some(every),
            ..Remarks::default()
        };
        let all: Vec<_> = (0..7).map(|part| (part, rests.clone())).collect();
        let (way, _) = told(&sketch(), &band_of(&WINDS), &all);
        tune_is_kept(&way);
        for part in 0..7 {
            let bars = played_bars(&way, part);
            let run = |from: u64| (from..).take_while(|b| bars.contains(b)).count();
            assert!(bars.iter().all(|b| run(*b) <= usize::from(every)));
        }
    }
}

#[test]
fn the_tune_changes_hands_at_breaths() {
    let rests = Remarks {
        rests_every: Some(4),
        ..Remarks::default()
    };
    let (way, _) = told(
        &sketch(),
        &band_of(&WINDS),
        &[(0, rests.clone()), (1, rests)],
    );
    tune_is_kept(&way);
    let tune: Vec<u64> = way.reading.line(Line::Melody).map(|n| n.onset.0).collect();
    let mut carried = 0;
    for part in [0, 1] {
        let own: BTreeSet<u64> = notes(&way, part)
            .iter()
            .filter(|n| n.role == Role::Melody)
            .map(|n| n.onset.0)
            .collect();
        carried += own.len();
        // Two bars of the sketch are a breath.
        for breath in tune.chunk_by(|a, b| a / 3840 == b / 3840) {
            let here = breath.iter().filter(|t| own.contains(t)).count();
            assert!(here == 0 || here == breath.len(), "torn at {}", breath[0]);
        }
    }
    assert!(carried > 0);
}

#[test]
fn a_part_rests_where_the_key_is_too_hard_and_a_finding_says_so() {
    let mut file = sketch();
    let up = |t: &Tone| Tone {
        pitch: t.pitch + 4,
        ..*t
    };
    for lane in &mut file.lanes {
        lane.notes = lane.notes.iter().map(up).collect();
    }
    file.keys = vec![(0, 4, false)];
    let easy = Remarks {
        accidentals_at_most: Some(4),
        ..Remarks::default()
    };
    // E major has four sharps; a clarinet reads six, an alto sax the five flats of D flat.
    let said = [0, 1, 3].map(|part| (part, easy.clone()));
    let (way, _) = told(&file, &band_of(&WINDS), &said);
    tune_is_kept(&way);
    assert!(!notes(&way, 0).is_empty() && !notes(&way, 2).is_empty());
    assert!(notes(&way, 1).is_empty() && notes(&way, 3).is_empty());
    let found = way.findings.iter().filter(|f| f.kind == "key_rest");
    let said: Vec<String> = found.map(ToString::to_string).collect();
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].contains("F# major (6 sharps)") || said[0].contains("Gb major (6 flats)"));
    assert!(said[1].contains("Db major (5 flats)"));
    assert!(said.iter().all(|s| s.contains("`bandwright keys`")));
}

#[test]
fn who_is_never_heard_alone_goes_with_another_or_rests() {
    let never = Remarks {
        exposure: Exposure::Never,
        ..Remarks::default()
    };
    // Alone in the band it plays nothing, and the tune is listed.
    let (way, _) = told(&sketch(), &band_of(&WINDS[..1]), &[(0, never.clone())]);
    assert!(notes(&way, 0).is_empty());
    let tune = way.reading.line(Line::Melody).count();
    assert_eq!(way.voiced.draft.melody_changes.len(), tune);
    // Two of them go together.
    let both = [(0, never.clone()), (1, never.clone())];
    let (way, _) = told(&sketch(), &band_of(&WINDS[..2]), &both);
    tune_is_kept(&way);
    // And where others are, all of them may be shy but one.
    let all: Vec<_> = (0..7).map(|part| (part, never.clone())).collect();
    let (way, _) = told(&sketch(), &band_of(&WINDS), &all);
    tune_is_kept(&way);
    assert_eq!(
        not_carried(&way.reading, &way.voiced.draft, Line::Bass),
        Vec::<&_>::new()
    );
}

#[test]
fn one_weak_player_has_the_tune_alone_only_where_nobody_goes_along() {
    let text = "name = \"Duo\"
[[part]]
name = \"Flute\"
instrument = \"flute\"
players = { second_year = 1 }
[[part]]
name = \"Alto Sax\"
instrument = \"sax_alto\"
players = { advanced = 1 }
";
    let band = read_band(text).unwrap();
    let tune = (0..32).map(|i| tone(i * 960, 72 + [0, 4, 7, 4][i as usize % 4], 960));
    let (way, _) = told(&File::piano(tune.collect()), &band, &[]);
    let own: BTreeSet<u64> = notes(&way, 1).iter().map(|n| n.onset.0).collect();
    assert!(
        way.reading
            .line(Line::Melody)
            .all(|n| own.contains(&n.onset.0))
    );
    let alone = Band {
        parts: band.parts[..1].to_vec(),
        ..band
    };
    let (way, _) = told(&sketch(), &alone, &[]);
    tune_is_kept(&way);
    assert!(way.findings.iter().any(|f| f.kind == "weak_alone"));
}

#[test]
fn two_instruments_of_the_same_players_take_turns() {
    let parts = [
        WINDS[0],
        WINDS[1],
        WINDS[4],
        WINDS[5],
        WINDS[6],
        ("Piccolo", "piccolo"),
    ];
    let doubles = Remarks {
        doubles: find_instrument("flute"),
        ..Remarks::default()
    };
    let band = band_of(&parts);
    let at = |name: &str| band.parts.iter().position(|p| p.name == name).unwrap();
    let (piccolo, flute) = (at("Piccolo"), at("Flute"));
    let (way, _) = told(&sketch(), &band, &[(piccolo, doubles.clone())]);
    tune_is_kept(&way);
    assert!(notes(&way, piccolo).is_empty() || notes(&way, flute).is_empty());
    // Where the arranger fixed the piccolo, the flute keeps away from it.
    let mut fixed = sketch();
    let own = vec![tone(8 * 1920, 84, 1920)];
    fixed.lanes.push(Lane::new("Piccolo", own));
    let (way, _) = told(&fixed, &band, &[(piccolo, doubles)]);
    tune_is_kept(&way);
    assert!(notes(&way, piccolo).iter().any(|n| n.locked));
}

#[test]
fn braces_and_injuries_come_with_a_caution() {
    let easy = |why| Remarks {
        go_easy: Some(why),
        ..Remarks::default()
    };
    let said = [(4, easy(GoEasy::Braces)), (0, easy(GoEasy::Injury))];
    let (way, _) = told(&sketch(), &band_of(&WINDS), &said);
    tune_is_kept(&way);
    let found = way.findings.iter().filter(|f| f.kind == "go_easy");
    let texts: Vec<&str> = found.map(|f| f.message.as_str()).collect();
    assert_eq!(texts, [GoEasy::Injury.caution(), GoEasy::Braces.caution()]);
}

#[test]
fn the_demo_keeps_its_tune_with_remarks_on_every_band() {
    let song = demo_song().unwrap();
    for name in preset_names() {
        let mut band = preset(name).unwrap();
        for (i, part) in band.parts.iter_mut().enumerate() {
            let remarks = Remarks {
                no_faster_than: (i % 4 == 1).then_some(NotesPerSecond(2.5)),
                rests_every: (i % 3 == 0).then_some(8),
                accidentals_at_most: (i % 5 == 2).then_some(3),
                exposure: [Exposure::Unsaid, Exposure::Never][i % 2],
                ..part.remarks.clone()
            };
            *part = retold(part, remarks).unwrap();
        }
        let way = go(&song, &band, None);
        assert_eq!(faults_of(&way, &song, &band, None), Vec::<String>::new());
        let changes = way.voiced.draft.melody_changes.len();
        assert_eq!(changes, 0, "{name}: the tune is changed");
    }
}

/// What the reviewer says of a draft that was made before the director spoke.
fn said_after(part: usize, remarks: Remarks) -> BTreeSet<&'static str> {
    let song = sketch().song();
    let mut band = band_of(&WINDS);
    let way = go(&song, &band, None);
    band.parts[part] = retold(&band.parts[part], remarks).unwrap();
    let keys = super::keys(&way, &song);
    let sheet = Sheet {
        band: &band,
        lines: &way.voiced.draft.lines,
        meters: &song.meters,
        tempo: &song.tempo,
        keys: &[&keys[0], &keys[1]],
    };
    check_limits(&sheet).iter().map(|f| f.kind).collect()
}

#[test]
fn the_reviewer_sees_every_broken_remark() {
    let plain = Remarks::default();
    let speed = Remarks {
        no_faster_than: Some(NotesPerSecond(0.4)),
        ..plain.clone()
    };
    let rests = Remarks {
        rests_every: Some(1),
        ..plain.clone()
    };
    let key = Remarks {
        accidentals_at_most: Some(1),
        ..plain.clone()
    };
    let second = Remarks {
        doubles: find_instrument("clarinet_bb"),
        ..plain.clone()
    };
    assert!(said_after(6, speed).contains("too_fast"));
    assert!(said_after(6, rests).contains("no_rest"));
    assert!(said_after(1, key).contains("hard_key"));
    assert!(said_after(3, second).contains("two_instruments"));
    assert_eq!(said_after(1, plain), BTreeSet::new());
}
