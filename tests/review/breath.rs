//! Where players breathe.

use super::{Note, band, line, meters, tempo};
use bandwright::band::PartId;
use bandwright::band::playing::Posture;
use bandwright::music::{TempoMap, Tick};
use bandwright::review::breath::{Place, least};
use bandwright::review::{Breath, BreathFrame, BreathKind, Breathing, breath_findings, breathing};
use bandwright::score::{PartLine, Role};
use proptest::collection::vec;
use proptest::prelude::*;

fn breathe(
    band: &bandwright::band::Band,
    lines: &[PartLine],
    tempo: &TempoMap,
    phrases: &[Tick],
) -> Breathing {
    let frame = BreathFrame {
        tempo,
        meters: &meters(),
        phrases,
        posture: Posture::Seated,
    };
    breathing(band, lines, &frame)
}

fn at(breaths: &[Breath]) -> Vec<u64> {
    breaths.iter().map(|b| b.at.0 / 480).collect()
}

/// Seated, mf, an intermediate trumpet plans 0.6 of 17 seconds: 10.2.
#[test]
fn a_run_longer_than_a_breath_gets_places() {
    let band = band(&[("Trumpet", "trumpet", "intermediate = 1")]);
    let clock = tempo(60.0);
    let quarters = |count: u64| -> Vec<Note> {
        let pitch = |i: u64| [67, 69, 71, 72][i as usize % 4];
        (0..count).map(|i| (i, 1, pitch(i), 80)).collect()
    };
    let of = |count| {
        let lines = [line(0, Role::Melody, &quarters(count))];
        breathe(&band, &lines, &clock, &[])
    };
    assert_eq!(of(10), Breathing::default());
    let eleven = of(11);
    assert_eq!(eleven.breaths.len(), 1);
    assert_eq!(
        eleven.breaths[0].kind,
        BreathKind::Between(Place::WeakBeat),
        "{eleven:?}"
    );
    // A phrase that begins at quarter 4 is worth more than any other place.
    let lines = [line(0, Role::Melody, &quarters(11))];
    let phrased = breathe(&band, &lines, &clock, &[Tick(4 * 480)]);
    assert_eq!(at(&phrased.breaths), [4]);
    assert_eq!(phrased.breaths[0].kind, BreathKind::Between(Place::Phrase));
    // A rest is a breath.
    let mut rested = quarters(20);
    rested.remove(9);
    let lines = [line(0, Role::Melody, &rested)];
    let found = breathe(&band, &lines, &clock, &[]);
    assert_eq!(found.breaths, []);
}

#[test]
fn long_notes_are_held_in_turns() {
    let clock = tempo(60.0);
    // 17 seconds are the longest breath of intermediate trumpets; here it is 24.
    let held = [line(0, Role::Harmony, &[(0, 24, 67, 80)])];
    let two = band(&[("Trumpet", "trumpet", "intermediate = 2")]);
    let found = breathe(&two, &held, &clock, &[]);
    assert_eq!(found.too_long, []);
    assert_eq!(found.staggered.len(), 1);
    assert_eq!(
        found.staggered[0].says,
        "player 1 of 2 breathes at bar 2, beat 2 and bar 4, beat 4; player 2 of 2 breathes at bar 3, beat 3 and bar 6, beat 1"
    );
    // Two parts of one player each, who hold the same note.
    let parts = band(&[
        ("Trumpet 1", "trumpet", "intermediate = 1"),
        ("Trumpet 2", "trumpet", "intermediate = 1"),
    ]);
    let both = [
        line(0, Role::Harmony, &[(0, 24, 67, 80)]),
        line(1, Role::Harmony, &[(0, 24, 67, 80)]),
    ];
    let found = breathe(&parts, &both, &clock, &[]);
    assert_eq!(found.staggered.len(), 2);
    assert_eq!(found.staggered[0].with, [PartId(1)]);
    let of = |part| {
        let own: Vec<Breath> = found
            .breaths
            .iter()
            .filter(|b| b.part == part)
            .copied()
            .collect();
        at(&own)
    };
    assert_eq!(of(PartId(0)), [5, 15]);
    assert_eq!(of(PartId(1)), [10, 20]);
    // Another octave does not hide a breath.
    let octave = [both[0].clone(), line(1, Role::Harmony, &[(0, 24, 55, 80)])];
    assert_eq!(breathe(&parts, &octave, &clock, &[]).too_long.len(), 2);
}

#[test]
fn what_nobody_can_hold_is_a_finding() {
    let band = band(&[
        ("Alto", "sax_alto", "advanced = 2"),
        ("Trumpet", "trumpet", "intermediate = 1"),
        ("Drum", "marimba", "advanced = 1"),
    ]);
    let clock = tempo(60.0);
    let of = |long| {
        let lines = [
            line(1, Role::Harmony, &[(0, long, 67, 80)]),
            line(0, Role::Harmony, &[]),
            line(2, Role::Harmony, &[]),
        ];
        let found = breathe(&band, &lines, &clock, &[]);
        let findings = breath_findings(&band, &lines, &found, &meters());
        (found, findings)
    };
    // More than is planned, on one long breath.
    assert_eq!(of(17).0, Breathing::default());
    let (found, findings) = of(18);
    assert_eq!(found.breaths[0].kind, BreathKind::Inside);
    assert_eq!(at(&found.breaths), [10]);
    assert_eq!(findings.len(), 1);
    assert_eq!(findings[0].kind, "breath_too_long");
    assert_eq!(findings[0].part.as_deref(), Some("Trumpet"));
    assert_eq!(
        findings[0].message,
        "The note lasts 18.0 seconds and has one player, whose longest breath is 17.0 here."
    );
    assert!(
        findings[0]
            .remedy
            .starts_with("Hand it over to Alto; or end it by bar 5, beat 2"),
        "{}",
        findings[0].remedy
    );
    // The march takes more.
    let lines = [line(1, Role::Harmony, &[(0, 12, 67, 80)])];
    let frame = BreathFrame {
        tempo: &clock,
        meters: &meters(),
        phrases: &[],
        posture: Posture::Marching,
    };
    let march = breathing(&band, &lines, &frame);
    assert_eq!(march.too_long.len(), 1);
    assert!((march.too_long[0].longest - 17.0 * 2.0 / 3.0).abs() < 1e-9);
}

/// All ways of breathing, gone through.
fn brute(air: &[f64], costs: &[u32]) -> Option<u32> {
    let gaps = air.len().saturating_sub(1);
    let allowed = |chosen: u32| {
        let (mut sum, mut cost) = (0.0, 0);
        let mut fits = true;
        let mut notes = 0;
        for (i, a) in air.iter().enumerate() {
            if i > 0 && chosen >> (i - 1) & 1 == 1 {
                cost += costs[i - 1];
                sum = 0.0;
                notes = 0;
            }
            sum += a;
            notes += 1;
            fits &= sum <= 1.0 + 1e-9 || notes == 1;
        }
        fits.then_some(cost)
    };
    (0..1_u32 << gaps).filter_map(allowed).min()
}

fn any_run() -> impl Strategy<Value = Vec<(u64, u8, u8)>> {
    // Eighths to whole notes; pitch; velocity.
    vec((1..9_u64, 60..75_u8, 30..120_u8), 1..40)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn the_path_is_the_cheapest(run in vec((1..13_u32, 1..13_u32), 1..11)) {
        let air: Vec<f64> = run.iter().map(|(a, _)| f64::from(*a) / 10.0).collect();
        let costs: Vec<u32> = run.iter().skip(1).map(|(_, c)| *c).collect();
        let places = least(&air, &costs);
        prop_assert!(places.windows(2).all(|w| w[0] < w[1]));
        let cost: u32 = places.iter().map(|p| costs[p - 1]).sum();
        prop_assert_eq!(Some(cost), brute(&air, &costs));
        let mut edges = vec![0];
        edges.extend(&places);
        edges.push(air.len());
        for edge in edges.windows(2) {
            let sum: f64 = air[edge[0]..edge[1]].iter().sum();
            prop_assert!(sum <= 1.0 + 1e-6 || edge[1] - edge[0] == 1);
        }
    }

    /// Between two breaths or rests lies no more than may be planned, but for one note on one long breath; and
    /// nobody breathes in a note that could be held.
    #[test]
    fn no_stretch_is_too_long(run in any_run(), beats in 40.0..180.0_f64, players in 1..4_u16) {
        let band = band(&[("Horn", "horn", &format!("second_year = {players}"))]);
        let mut now = 0;
        let mut made = line(0, Role::Harmony, &[]);
        for (eighths, pitch, velocity) in &run {
            let mut one = line(0, Role::Harmony, &[(0, 1, *pitch, *velocity)]).notes[0];
            one.onset = Tick(now);
            one.duration = bandwright::music::Ticks(eighths * 240);
            now = one.end().0;
            made.notes.push(one);
        }
        let clock = tempo(beats);
        let lines = [made.clone()];
        let found = breathe(&band, &lines, &clock, &[]);
        let part = &band.parts[0];
        let breath = part.instrument.playing.breath.unwrap();
        let low = |n: &bandwright::score::DraftNote| {
            let range = part.instrument.professional;
            let third = range.low.0 + (range.high.0 - range.low.0) / 3;
            part.instrument.transposition.written(n.pitch).0 <= third
        };
        let level = bandwright::band::Level::SecondYear;
        let dynamic = |n: &bandwright::score::DraftNote| bandwright::music::Dynamic::of_velocity(n.velocity);
        let planned = |n: &bandwright::score::DraftNote| breath.planned(level, dynamic(n), low(n), Posture::Seated);
        let longest = |n: &bandwright::score::DraftNote| breath.longest(level, dynamic(n), low(n));
        // Everybody breathes between notes; in a shared note each group by its own.
        let groups: Vec<u8> = (1..=4).collect();
        for group in groups {
            let own: Vec<Tick> = found.breaths.iter().filter(|b| match b.kind {
                BreathKind::Staggered(g, _) => g == group,
                _ => true,
            }).map(|b| b.at).collect();
            if group > 1 && !found.breaths.iter().any(|b| matches!(b.kind, BreathKind::Staggered(g, _) if g == group)) {
                continue;
            }
            let mut edges = vec![Tick::ZERO];
            edges.extend(own);
            edges.push(Tick(now));
            for edge in edges.windows(2) {
                let inside = made.notes.iter().filter(|n| n.onset < edge[1] && edge[0] < n.end());
                let inside: Vec<_> = inside.collect();
                let air: f64 = inside.iter().map(|n| {
                    let seconds = clock.seconds(n.end().min(edge[1])) - clock.seconds(n.onset.max(edge[0]));
                    seconds / planned(n)
                }).sum();
                let alone = inside.len() == 1 && {
                    let n = inside[0];
                    clock.seconds(n.end()) - clock.seconds(n.onset) <= longest(n) + 1e-9
                };
                // A group of a shared note of fewer groups has none of its own there.
                let shared = inside.iter().any(|n| found.staggered.iter().any(|s| s.from == n.onset));
                prop_assert!(air <= 1.0 + 1e-6 || alone || shared, "{air} in {edge:?}: {found:?}");
            }
        }
        for b in &found.breaths {
            let onset = made.notes.iter().any(|n| n.onset == b.at);
            let too_long = found.too_long.iter().any(|t| t.from < b.at && b.at < t.to);
            let shared = found.staggered.iter().any(|t| t.from < b.at && b.at < t.to);
            prop_assert_eq!(onset, matches!(b.kind, BreathKind::Between(_)));
            prop_assert!(onset || too_long || shared);
        }
        prop_assert!(found.too_long.is_empty() || players == 1);
    }
}
