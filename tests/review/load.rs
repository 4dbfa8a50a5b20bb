//! Load over several movements, tired sections, tired lips before a peak, and what would relieve them.

use super::{Note, band, line, meters, tempo};
use bandwright::band::load::{
    Conditions, Start, TimedNote, after_pause, muscle_of, player_load, player_load_from,
};
use bandwright::band::playing::Posture;
use bandwright::band::{Band, Level, PartId};
use bandwright::music::{BarNumber, Dynamic, Sounding, TempoMap, Tick};
use bandwright::review::{
    Carried, LoadSheet, Stretch, load_findings, peak_findings, section_findings, strains,
    strains_after, stretches,
};
use bandwright::score::{PartLine, Passage, Role};
use proptest::collection::vec;
use proptest::prelude::*;

const SEATED: Conditions = Conditions {
    posture: Posture::Seated,
    start: Start::Fresh,
};

/// The reference's values: three times 60 s at .4 and 60 s of rest.
#[test]
fn pauses_recover_as_worked() {
    let muscle = muscle_of(Level::Advanced).unwrap();
    let mut tired = 0.0;
    for expected in [0.2266, 0.0999, 0.3211, 0.1416, 0.3606, 0.1590].chunks(2) {
        tired = muscle.after(tired, 0.4, 60.0);
        assert!((tired - expected[0]).abs() < 5e-5, "{tired}");
        tired = after_pause(Level::Advanced, tired, 60.0).unwrap();
        assert!((tired - expected[1]).abs() < 5e-5, "{tired}");
    }
    // Half of it is gone after 50.8 s, whatever it was and whoever they are.
    for level in Level::ALL {
        for tired in [0.1, 0.5, 1.0] {
            let half = after_pause(level, tired, 2.0_f64.ln() / (15.0 * 0.00091)).unwrap();
            assert!((half - tired / 2.0).abs() < 1e-12);
        }
    }
    assert!((2.0_f64.ln() / (15.0 * 0.00091) - 50.8).abs() < 0.05);
}

fn trumpets() -> Band {
    band(&[
        ("Alto", "sax_alto", "advanced = 2"),
        ("Trumpet 1", "trumpet", "intermediate = 1, advanced = 1"),
        ("Trumpet 2", "trumpet", "second_year = 2"),
    ])
}

fn strained(
    band: &Band,
    lines: &[PartLine],
    clock: &TempoMap,
) -> Vec<bandwright::review::PartStrain> {
    strains(band, lines, clock, &meters(), SEATED)
}

/// Two movements with a pause are as one show with a rest of that length.
#[test]
fn a_pause_between_movements_is_a_rest() {
    let (band, clock) = (trumpets(), tempo(60.0));
    let first: Vec<Note> = (0..40).map(|i| (i, 1, 72, 100)).collect();
    let second: Vec<Note> = (0..40).map(|i| (i, 1, 74, 100)).collect();
    let one = [line(1, Role::Melody, &first)];
    let two = [line(1, Role::Melody, &second)];
    // The movement ends four seconds after the last note, and the pause takes 26.
    let shifted = second.iter().map(|n| (n.0 + 40 + 30, n.1, n.2, n.3));
    let both: Vec<Note> = first.iter().copied().chain(shifted).collect();
    let whole = strained(&band, &[line(1, Role::Melody, &both)], &clock);
    let before = strained(&band, &one, &clock);
    let end = Tick(44 * 480);
    let left = Carried::default().over(&band, (&one, &before), (&clock, end), 26.0);
    let after = strains_after(&band, &two, (&clock, &meters()), SEATED, &left);
    for (w, a) in whole[0].load.levels.iter().zip(&after[0].load.levels) {
        assert_eq!(w.level, a.level);
        for (x, y) in w.tired[40..].iter().zip(&a.tired) {
            assert!((x - y).abs() < 1e-12, "{x} {y}");
        }
    }
    // Who did not play is rested; who does not play in the next goes on recovering.
    assert_eq!(left.tired(PartId(0), Level::Advanced), 0.0);
    let later = left.over(&band, (&[], &[]), (&clock, Tick(50 * 480)), 0.8);
    let was = left.tired(PartId(1), Level::Advanced);
    assert!((later.tired(PartId(1), Level::Advanced) - was / 2.0).abs() < 1e-4);
}

fn sheet<'a>(
    band: &'a Band,
    lines: &'a [PartLine],
    clock: &'a TempoMap,
    meters: &'a bandwright::music::MeterMap,
    bars: &'a [Stretch],
) -> LoadSheet<'a> {
    LoadSheet {
        band,
        lines,
        tempo: clock,
        meters,
        conditions: SEATED,
        stretches: bars,
    }
}

fn passage(first: u32, last: u32, intensity: f64) -> Passage {
    Passage {
        start: meters().bar_start(BarNumber(first)),
        end: meters().bar_end(BarNumber(last)),
        first_bar: BarNumber(first),
        last_bar: BarNumber(last),
        intensity,
        repeats: None,
        peak: false,
    }
}

#[test]
fn who_carries_the_peak_should_come_to_it_rested() {
    let (band, clock, meters) = (trumpets(), tempo(100.0), meters());
    // 24 bars that only fill, then the tune of the peak.
    let mut lines = vec![
        line(
            1,
            Role::Harmony,
            &(0..96).map(|i| (i, 1, 74, 100)).collect::<Vec<_>>(),
        ),
        line(2, Role::Harmony, &[]),
        line(0, Role::Harmony, &[]),
    ];
    let tune = line(
        1,
        Role::Melody,
        &(96..128).map(|i| (i, 1, 76, 110)).collect::<Vec<_>>(),
    );
    lines[0].notes.extend(tune.notes);
    let passages = [
        passage(1, 8, 4.0),
        passage(9, 16, 6.0),
        passage(17, 24, 7.0),
        passage(25, 32, 9.5),
    ];
    let bars: Vec<Stretch> = passages.iter().map(Stretch::from).collect();
    let sheet = sheet(&band, &lines, &clock, &meters, &bars);
    let found = peak_findings(&sheet, &strained(&band, &lines, &clock), &passages);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!((found[0].kind, found[0].place.bar.0), ("tired_at_peak", 25));
    assert!(
        found[0]
            .remedy
            .starts_with("Rest it in bars 17-24, where it only fills the chord: that is enough."),
        "{}",
        found[0].remedy
    );
    // Done, it is gone.
    let mut rested = lines.clone();
    rested[0]
        .notes
        .retain(|n| n.onset < bars[2].start || bars[3].start <= n.onset);
    let sheet = LoadSheet {
        lines: &rested,
        ..sheet
    };
    assert_eq!(
        peak_findings(&sheet, &strained(&band, &rested, &clock), &passages),
        []
    );
    // Where it carries something before, others may take that over.
    let mut carries = lines.clone();
    carries[0]
        .notes
        .iter_mut()
        .for_each(|n| n.role = Role::Melody);
    let sheet = LoadSheet {
        lines: &carries,
        ..sheet
    };
    let found = peak_findings(&sheet, &strained(&band, &carries, &clock), &passages);
    assert!(
        found[0].remedy.contains("and 17-24 to") || found[0].remedy.contains("17-24 to Alto"),
        "{}",
        found[0].remedy
    );
    // Without a passage of 9 or more the most intense is the peak.
    let mut calm = passages;
    calm[3].intensity = 7.5;
    assert_eq!(
        peak_findings(&sheet, &strained(&band, &carries, &clock), &calm).len(),
        1
    );
    calm[0].intensity = 8.0;
    assert_eq!(
        peak_findings(&sheet, &strained(&band, &carries, &clock), &calm),
        []
    );
}

#[test]
fn a_tired_section_is_marked_once() {
    let (band, clock, meters) = (trumpets(), tempo(100.0), meters());
    let chord = |part, pitch: u8, bars: std::ops::Range<u64>| {
        line(
            part,
            Role::Harmony,
            &bars.map(|b| (4 * b, 4, pitch, 80)).collect::<Vec<_>>(),
        )
    };
    let of = |long: u64| {
        let lines = vec![
            chord(1, 70, 0..long),
            chord(2, 66, 0..long),
            chord(0, 60, 0..2),
        ];
        let bars = stretches(&lines, &meters);
        let sheet = sheet(&band, &lines, &clock, &meters, &bars);
        section_findings(&sheet, &strained(&band, &lines, &clock))
    };
    assert_eq!(of(4), []);
    let long = (8..200).step_by(8).find(|long| !of(*long).is_empty());
    let found = of(long.unwrap());
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].kind, "section_tired");
    // The second-year players tire most.
    assert_eq!(found[0].part.as_deref(), Some("Trumpet 2"));
    assert!(
        found[0].remedy.starts_with("Rest it in bar"),
        "{}",
        found[0].remedy
    );
    assert!(found[0].remedy.ends_with("medical advice decide."));
}

#[test]
fn rests_and_takers_are_named() {
    let (band, clock, meters) = (trumpets(), tempo(100.0), meters());
    let all: Vec<Note> = (0..32).map(|b| (4 * b, 4, 67, 80)).collect();
    let lines = vec![
        line(1, Role::Melody, &all),
        line(2, Role::Harmony, &[]),
        line(0, Role::Harmony, &[]),
    ];
    let bars = stretches(&lines, &meters);
    let sheet = sheet(&band, &lines, &clock, &meters, &bars);
    let found = load_findings(&sheet, &strained(&band, &lines, &clock));
    let rest = found.iter().find(|f| f.kind == "not_rested").unwrap();
    assert!(
        rest.remedy.contains("hand bars") || rest.remedy.contains("Hand bars"),
        "{}",
        rest.remedy
    );
    assert!(rest.remedy.contains("Alto"), "{}", rest.remedy);
    // Nobody is free.
    let mut busy = lines.clone();
    for (at, part) in [(1, 2), (2, 0)] {
        busy[at] = line(part, Role::Harmony, &all);
    }
    let sheet = LoadSheet {
        lines: &busy,
        ..sheet
    };
    let found = load_findings(&sheet, &strained(&band, &busy, &clock));
    let rest = found
        .iter()
        .find(|f| f.part.as_deref() == Some("Trumpet 1"))
        .unwrap();
    assert!(!rest.remedy.contains("Alto"), "{}", rest.remedy);
}

fn any_notes() -> impl Strategy<Value = Vec<TimedNote>> {
    vec((0.0..3.0_f64, 0.1..4.0_f64, 55..80_u8, 0..7_usize), 0..30).prop_map(|all| {
        let mut now = 0.0;
        let mut notes = Vec::new();
        for (gap, long, pitch, dynamic) in all {
            let from = now + gap;
            now = from + long;
            notes.push(TimedNote {
                from,
                to: now,
                pitch: Sounding::new(pitch).unwrap(),
                dynamic: Dynamic::ALL[dynamic],
            });
        }
        notes
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A show cut in two at a rest is the same show.
    #[test]
    fn a_show_may_be_cut_at_a_rest(first in any_notes(), second in any_notes(), pause in 0.6..90.0_f64) {
        let band = trumpets();
        let part = &band.parts[1];
        let end = first.last().map_or(0.0, |n| n.to);
        let moved = |n: &TimedNote| TimedNote { from: n.from + end + pause, to: n.to + end + pause, ..*n };
        let whole: Vec<TimedNote> = first.iter().copied().chain(second.iter().map(moved)).collect();
        for level in [Level::Intermediate, Level::Advanced] {
            let one = player_load(part, level, &whole, SEATED).unwrap();
            let before = player_load(part, level, &first, SEATED).unwrap();
            let left = before.tired.last().copied().unwrap_or(0.0);
            let left = after_pause(level, left, pause).unwrap();
            let after = player_load_from(part, level, &second, SEATED, left).unwrap();
            for (a, b) in one.tired[first.len()..].iter().zip(&after.tired) {
                prop_assert!((a - b).abs() < 1e-9, "{a} {b}");
            }
            prop_assert!(after.tired.iter().all(|t| (0.0..=1.0).contains(t)));
        }
    }

    /// A longer pause never leaves anybody more tired.
    #[test]
    fn a_longer_pause_helps(notes in any_notes(), short in 0.0..100.0_f64, more in 0.0..100.0_f64, tired in 0.0..1.0_f64) {
        let band = trumpets();
        let of = |pause: f64| {
            let left = after_pause(Level::SecondYear, tired, pause).unwrap();
            player_load_from(&band.parts[2], Level::SecondYear, &notes, SEATED, left).unwrap()
        };
        let (a, b) = (of(short), of(short + more));
        for (x, y) in a.tired.iter().zip(&b.tired) {
            prop_assert!(y <= &(x + 1e-12));
        }
    }
}
