//! Who covers a line, and what would uncover it.

use super::{Note, band, line, meters};
use bandwright::band::loudness::{Decibels, Situation};
use bandwright::band::{Band, PartId};
use bandwright::music::BarNumber;
use bandwright::music::Tick;
use bandwright::review::{
    Change, PresenceBook, Stretch, presence_findings, presences, stretches, uncover,
};
use bandwright::score::{DraftNote, PartLine, Role};
use proptest::collection::vec;
use proptest::prelude::*;

fn six() -> Band {
    band(&[
        ("Flute", "flute", "intermediate = 2"),
        (
            "Clarinet",
            "clarinet_bb",
            "intermediate = 2, first_year = 1",
        ),
        ("Trumpet", "trumpet", "advanced = 2"),
        ("Horn", "horn", "intermediate = 1"),
        ("Trombone", "trombone", "intermediate = 2"),
        ("Tuba", "tuba", "intermediate = 1"),
    ])
}

/// A flute in the octave of the brass.
fn covered(velocity: u8) -> Vec<PartLine> {
    let tune: Vec<Note> = (0..16).map(|i| (i, 1, 62 + (i % 3) as u8, 80)).collect();
    let chord = |pitch: u8| -> Vec<Note> { (0..4).map(|b| (4 * b, 4, pitch, velocity)).collect() };
    vec![
        line(0, Role::Melody, &tune),
        line(1, Role::Harmony, &[]),
        line(2, Role::Harmony, &chord(67)),
        line(3, Role::Harmony, &[]),
        line(4, Role::Harmony, &chord(60)),
        line(5, Role::Bass, &chord(36)),
    ]
}

fn whole(lines: &[PartLine]) -> Vec<Stretch> {
    stretches(lines, &meters())
}

#[test]
fn who_covers_is_told_by_its_share() {
    let (band, lines) = (six(), covered(96));
    let stretch = whole(&lines)[0];
    let about = uncover(&band, &lines, &stretch, Role::Melody, 1);
    let sum: f64 = about.covers.iter().map(|c| c.share).sum();
    assert!((sum - 1.0).abs() < 1e-9);
    assert!(about.covers.windows(2).all(|w| w[0].share >= w[1].share));
    let parts: Vec<PartId> = about.covers.iter().map(|c| c.part).collect();
    assert_eq!(parts.len(), 3, "{about:?}");
    // The trombone just under the flute covers it most, for loud tones cover upwards; a tuba two octaves below least.
    assert_eq!((parts[0], parts[2]), (PartId(4), PartId(5)));
    // One alone covers all.
    let mut alone = lines.clone();
    alone[4].notes.clear();
    alone[5].notes.clear();
    let about = uncover(&band, &alone, &stretch, Role::Melody, 1);
    assert_eq!(about.covers.len(), 1);
    assert!((about.covers[0].share - 1.0).abs() < 1e-12);
    // Two alike cover by halves.
    let twins = super::band(&[
        ("Flute", "flute", "intermediate = 2"),
        ("Trumpet 1", "trumpet", "advanced = 2"),
        ("Trumpet 2", "trumpet", "advanced = 2"),
    ]);
    let chord = &lines[2].notes;
    let of = |part: usize| PartLine {
        part: PartId(part),
        notes: chord.clone(),
    };
    let both = vec![lines[0].clone(), of(1), of(2)];
    let about = uncover(&twins, &both, &stretch, Role::Melody, 1);
    assert!(about.covers.iter().all(|c| (c.share - 0.5).abs() < 1e-9));
}

#[test]
fn the_finding_says_by_whom_and_what_would_help() {
    let (band, lines) = (six(), covered(96));
    let found = presences(&band, &lines, &whole(&lines));
    assert!(found[0].tune.unwrap().covered());
    let all = presence_findings(&band, &lines, &found, &meters());
    let finding = all.iter().find(|f| f.kind == "tune_covered").unwrap();
    assert!(
        finding.message.contains("covered most by Trombone ("),
        "{}",
        finding.message
    );
    let about = uncover(&band, &lines, &whole(&lines)[0], Role::Melody, 1);
    match about.enough.first() {
        Some(least) => {
            let says = format!("With {} it would", least.change.in_words(&band));
            assert!(finding.remedy.starts_with(&says), "{}", finding.remedy);
            assert!(finding.remedy.contains(&least.then.plain_db.to_string()));
        }
        None => assert!(finding.remedy.starts_with("None of "), "{}", finding.remedy),
    }
}

/// Every kind of change is found enough in some case.
#[test]
fn softer_higher_and_others_help_where_they_do() {
    let band = six();
    let mut kinds = std::collections::BTreeSet::new();
    for velocity in [60, 70, 80, 96, 112] {
        for up in [0, 5, 12, 15, 17, 19, 21] {
            let mut lines = covered(velocity);
            for note in &mut lines[0].notes {
                note.pitch = note.pitch.up(bandwright::music::Interval(up)).unwrap();
            }
            let stretch = whole(&lines)[0];
            for one in uncover(&band, &lines, &stretch, Role::Melody, usize::MAX).enough {
                kinds.insert(match one.change {
                    Change::Softer(..) => "softer",
                    Change::Louder(..) => "louder",
                    Change::Up(_) => "up",
                    Change::Down(_) => "down",
                    Change::Rest(_) => "rest",
                    Change::PlayToo { .. } => "play too",
                });
            }
        }
    }
    for kind in ["softer", "up", "play too"] {
        assert!(kinds.contains(kind), "{kinds:?}");
    }
}

/// Where nothing small helps, that is said.
#[test]
fn where_nothing_helps_it_says_so() {
    let band = band(&[
        ("Flute", "flute", "first_year = 1"),
        ("Trumpet", "trumpet", "all_state = 12"),
        ("Trombone", "trombone", "all_state = 12"),
    ]);
    let tune: Vec<Note> = (0..16).map(|i| (i, 1, 67, 80)).collect();
    let chord = |pitch: u8| -> Vec<Note> { (0..4).map(|b| (4 * b, 4, pitch, 127)).collect() };
    let mut lines = vec![
        line(0, Role::Melody, &tune),
        line(1, Role::Bass, &chord(67)),
        line(2, Role::Bass, &chord(55)),
    ];
    // Nobody who has locked notes is asked.
    for note in lines.iter_mut().skip(1).flat_map(|l| &mut l.notes) {
        note.locked = true;
    }
    let stretch = whole(&lines)[0];
    let about = uncover(&band, &lines, &stretch, Role::Melody, usize::MAX);
    assert!(about.enough.is_empty(), "{about:?}");
    let found = presences(&band, &lines, &[stretch]);
    let findings = presence_findings(&band, &lines, &found, &meters());
    let remedy = &findings[0].remedy;
    assert!(
        remedy.contains("other ways of scoring these bars"),
        "{remedy}"
    );
}

#[test]
fn a_bass_is_weighed_against_all_else() {
    let band = six();
    let lines = covered(80);
    let bass = presences(&band, &lines, &whole(&lines))[0].bass.unwrap();
    assert_eq!(bass.situation, Situation::Bass);
    // The levels of a moment add up as the plain sums say.
    let level = |part: usize, pitch: u8| {
        let pitch = bandwright::music::Sounding::new(pitch).unwrap();
        let dynamic = bandwright::music::Dynamic::Mf;
        bandwright::band::loudness::part_level(&band.parts[part], pitch, dynamic).unwrap()
    };
    let flutes = [62, 63, 64].map(|p| level(0, p).power());
    // Sixteen quarters of the tune: six of the first pitch, five of each of the others.
    let tune = (6.0 * flutes[0] + 5.0 * flutes[1] + 5.0 * flutes[2]) / 16.0;
    let rest = tune + level(2, 67).power() + level(4, 60).power();
    let expected = level(5, 36) - Decibels::of_power(rest);
    assert!((bass.plain_db - expected).0.abs() < 1e-9);
}

fn any_notes(low: u8, high: u8) -> impl Strategy<Value = Vec<(u64, u64, u8, u8)>> {
    vec((0..12_u64, 1..4_u64, low..high, 20..127_u8), 0..10)
}

/// Lines of one note at a time.
fn any_lines() -> impl Strategy<Value = Vec<PartLine>> {
    let role = prop_oneof![
        Just(Role::Melody),
        Just(Role::Counterline),
        Just(Role::Harmony),
        Just(Role::Bass)
    ];
    let ranges = [(60, 84), (55, 80), (58, 78), (50, 70), (45, 65), (30, 48)];
    vec((role, any::<proptest::sample::Index>()), 6).prop_flat_map(move |roles| {
        let of: Vec<_> = ranges.iter().map(|(a, b)| any_notes(*a, *b)).collect();
        of.prop_map(move |all| {
            let mut lines = Vec::new();
            for (part, (notes, (role, _))) in all.iter().zip(&roles).enumerate() {
                let mut made = line(part, *role, notes);
                made.notes.sort();
                let mut until = Tick::ZERO;
                made.notes.retain(|n| {
                    let free = n.onset >= until;
                    if free {
                        until = n.end();
                    }
                    free
                });
                lines.push(made);
            }
            lines
        })
    })
}

fn two_stretches() -> Vec<Stretch> {
    let of = |bar: u32| Stretch {
        start: meters().bar_start(BarNumber(bar)),
        end: meters().bar_end(BarNumber(bar + 1)),
        first_bar: BarNumber(bar),
        last_bar: BarNumber(bar + 1),
    };
    vec![of(1), of(3)]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Softening what covers a line never lowers its power against the rest.
    #[test]
    fn a_softer_cover_never_lowers_presence(lines in any_lines(), steps in 1..3_u8, who in 0..6_usize) {
        let band = six();
        let stretch = &two_stretches()[0];
        let role = Role::Melody;
        let before = presences(&band, &lines, &[*stretch])[0].line(role);
        let softer = Change::Softer(vec![PartId(who)], steps);
        let changed = softer.made(&band, &lines, stretch, role);
        let after = presences(&band, &changed, &[*stretch])[0].line(role);
        prop_assert_eq!(before.is_some(), after.is_some());
        if let (Some(b), Some(a)) = (before, after) {
            prop_assert!(a.plain_db.0 >= b.plain_db.0 - 1e-9);
        }
        // Nothing but the velocities of that part moved.
        for (old, new) in lines.iter().zip(&changed) {
            let bare = |n: &DraftNote| (n.onset, n.pitch, n.duration, n.role);
            prop_assert!(old.notes.iter().map(bare).eq(new.notes.iter().map(bare)));
            prop_assert!(old.part == PartId(who) || old == new);
        }
    }

    /// What is said to be enough is enough, when it is done; and it is no more than is said.
    #[test]
    fn what_is_enough_is_enough(lines in any_lines()) {
        let band = six();
        for stretch in two_stretches() {
            for role in [Role::Melody, Role::Counterline, Role::Bass] {
                let before = presences(&band, &lines, &[stretch])[0];
                let about = uncover(&band, &lines, &stretch, role, usize::MAX);
                let covered = before.line(role).is_some_and(|l| l.covered());
                prop_assert_eq!(about == Default::default(), !covered);
                let sum: f64 = about.covers.iter().map(|c| c.share).sum();
                prop_assert!(about.covers.is_empty() || (sum - 1.0).abs() < 1e-9);
                prop_assert!(about.enough.windows(2).all(|w| w[0].change.size() <= w[1].change.size()));
                for one in about.enough.iter().chain(&about.nearest) {
                    let changed = one.change.made(&band, &lines, &stretch, role);
                    let after = presences(&band, &changed, &[stretch])[0].line(role);
                    prop_assert_eq!(after, Some(one.then));
                }
                prop_assert!(about.enough.iter().all(|u| !u.then.covered()));
                prop_assert!(about.nearest.iter().all(|u| u.then.covered()));
            }
        }
    }

    /// A book that was kept says what a new one says.
    #[test]
    fn a_kept_book_says_the_same(drafts in vec(any_lines(), 1..4)) {
        let band = six();
        let stretches = two_stretches();
        let mut book = PresenceBook::of(&band);
        for lines in &drafts {
            prop_assert_eq!(book.presences(lines, &stretches), presences(&band, lines, &stretches));
            prop_assert_eq!(book.presences(lines, &stretches), presences(&band, lines, &stretches));
        }
    }
}
