//! The rules behind the pages, on small drafts whose answers are plain to see.

use bandwright::band::load::Conditions;
use bandwright::band::{Band, PartId, read_band};
use bandwright::music::{BarNumber, MeterMap, Sounding, TempoMap, Tick, Ticks, TicksPerQuarter};
use bandwright::review::{
    Exposed, Frame, clean_lines, exposed_moments, ladder, played_bars, spots,
};
use bandwright::score::{DraftNote, PartLine, Role};

const BAND: &str = "name = \"Alder Creek\"\n\
[[part]]\nname = \"Flute\"\ninstrument = \"flute\"\nplayers = { advanced = 2 }\n\
[[part]]\nname = \"Clarinet\"\ninstrument = \"clarinet_bb\"\nplayers = { first_year = 3 }\n\
[[part]]\nname = \"Tuba\"\ninstrument = \"tuba\"\nplayers = { intermediate = 1 }\n";

fn quarter() -> TicksPerQuarter {
    TicksPerQuarter::new(480).unwrap()
}

fn note(bar: u64, beat: u64, pitch: u8, beats: u64, role: Role) -> DraftNote {
    DraftNote {
        onset: Tick(1920 * (bar - 1) + 480 * (beat - 1)),
        pitch: Sounding::new(pitch).unwrap(),
        duration: Ticks(480 * beats),
        velocity: 80,
        role,
        locked: false,
    }
}

fn lines(notes: [Vec<DraftNote>; 3]) -> Vec<PartLine> {
    let all = notes.into_iter().enumerate();
    all.map(|(i, notes)| PartLine {
        part: PartId(i),
        notes,
    })
    .collect()
}

fn setting() -> (Band, MeterMap, TempoMap) {
    let band = read_band(BAND).unwrap();
    (
        band,
        MeterMap::new(quarter(), []),
        TempoMap::new(quarter(), []),
    )
}

#[test]
fn who_is_heard_by_itself() {
    let (band, meters, tempo) = setting();
    let held = |bar, pitch| note(bar, 1, pitch, 4, Role::Harmony);
    let tune = |bar: u64| (1..=4).map(move |b| note(bar, b, 74 + b as u8, 1, Role::Melody));
    let all = lines([
        // Bar 1 alone, bar 2 with the tuba (three players), bar 3 with all, the tune in bar 4 over all.
        [held(1, 74), held(2, 74), held(3, 74)]
            .into_iter()
            .chain(tune(4))
            .collect(),
        vec![held(3, 62), held(4, 62)],
        vec![held(2, 40), held(3, 40), held(4, 40)],
    ]);
    let found = exposed_moments(&band, &all, &meters, &tempo);
    let told: Vec<(usize, Exposed, u32, u32, u32)> = found
        .iter()
        .map(|m| (m.part.0, m.why, m.place.bar.0, m.last_bar.0, m.players))
        .collect();
    assert_eq!(
        told,
        [
            (0, Exposed::Alone, 1, 1, 2),
            (0, Exposed::Few, 2, 2, 3),
            (0, Exposed::Tune, 4, 4, 2),
            (2, Exposed::Few, 2, 2, 3),
        ]
    );
    assert!((found[0].seconds - 2.0).abs() < 1e-9);
    // Where another part has the tune too, in any octave, nobody has it alone.
    let mut doubled = all;
    doubled[1].notes = tune(4)
        .map(|n| DraftNote {
            pitch: Sounding::new(n.pitch.midi() - 12).unwrap(),
            ..n
        })
        .collect();
    let found = exposed_moments(&band, &doubled, &meters, &tempo);
    assert!(found.iter().all(|m| m.why != Exposed::Tune));
}

#[test]
fn a_bar_that_comes_again_is_one_spot_and_counts_twice_where_it_is_exposed() {
    let (band, meters, tempo) = setting();
    // Written C6 and more is out of reach of first-year clarinets: sounding B flat 5.
    let hard = |bar| note(bar, 1, 82, 4, Role::Harmony);
    let bass = |bar| note(bar, 1, 40, 4, Role::Bass);
    let flutes = |bar| note(bar, 1, 76, 4, Role::Harmony);
    let all = lines([
        vec![flutes(1), flutes(3)],
        vec![hard(1), hard(3), hard(5)],
        vec![bass(1), bass(3)],
    ]);
    let frame = Frame {
        tempo: &tempo,
        meters: &meters,
        keys: &[],
    };
    let clean = clean_lines(&band, &all, &frame, Conditions::default());
    let exposed = exposed_moments(&band, &all, &meters, &tempo);
    let found = spots(&band, &all, &meters, &clean, &exposed);
    let first = &found[0];
    assert_eq!(first.part, PartId(1));
    assert_eq!(first.bars, [1, 3, 5].map(BarNumber));
    assert_eq!(first.exposed, Some(Exposed::Alone));
    let each: Vec<f64> = clean[1].notes.iter().map(|p| 3.0 * (1.0 - p)).collect();
    let missed: f64 = each.iter().sum();
    assert!((first.missed - missed).abs() < 1e-12);
    // Alone in bar 5; in bars 1 and 3 six players sound.
    assert!((first.points - missed - each[2]).abs() < 1e-12);
}

#[test]
fn bars_are_counted_from_barline_to_barline() {
    let (_, meters, _) = setting();
    let notes = [
        note(3, 4, 60, 2, Role::Harmony),
        note(8, 2, 60, 1, Role::Harmony),
    ];
    let found = played_bars(&notes, &meters, Tick(1920 * 10));
    assert_eq!((found.bars, found.played), (10, 3));
    assert_eq!(found.longest, Some((BarNumber(3), BarNumber(4))));
    let rests: Vec<(u32, u32, Option<u32>)> = found
        .rests
        .iter()
        .map(|r| (r.first.0, r.count(), r.comes_in.map(|p| p.bar.0)))
        .collect();
    assert_eq!(rests, [(1, 2, Some(3)), (5, 3, Some(8)), (9, 2, None)]);
    assert_eq!(found.rests[1].comes_in.unwrap().beat, 2.0);
    assert_eq!(played_bars(&[], &meters, Tick::ZERO).rests, []);
}

#[test]
fn ladders_begin_where_the_table_says_it_is_easy() {
    let (band, meters, tempo) = setting();
    let frame = Frame {
        tempo: &tempo,
        meters: &meters,
        keys: &[],
    };
    // Eighths at 120: four notes a second. First-year clarinets keep up two.
    let eighths: Vec<DraftNote> = (0..8)
        .map(|i| DraftNote {
            onset: Tick(240 * i),
            duration: Ticks(240),
            ..note(1, 1, 60 + (i % 3) as u8, 1, Role::Harmony)
        })
        .collect();
    let found = ladder(&band.parts[1], &eighths, BarNumber(1), &frame).unwrap();
    assert_eq!((found.speed, found.kept_up), (Some(4.0), 2.0));
    // Three quarters of two of four notes a second would be 45; not under 0.4 of the tempo.
    assert_eq!((found.tempos[0], found.tempos.last()), (48, Some(&120)));
    assert!(found.too_fast());
    let flutes = ladder(&band.parts[0], &eighths, BarNumber(1), &frame).unwrap();
    assert_eq!(flutes.kept_up, 6.4);
    assert_eq!(flutes.tempos[0], 90);
    assert!(!flutes.too_fast());
}
