//! Presence and load of drafts: what is told must follow from the notes.

use super::go;
use bandwright::band::load::{Conditions, Start};
use bandwright::band::loudness::{Decibels, Situation};
use bandwright::band::playing::Posture;
use bandwright::band::{Band, preset, read_band};
use bandwright::cli::files::demo_song;
use bandwright::music::{Sounding, Tick, Ticks};
use bandwright::project::given::Given;
use bandwright::project::whole_way::whole_way;
use bandwright::review::{Stretch, presences, strains, stretches, tired, with_roles};
use bandwright::score::{DraftNote, PartLine, Role};

fn band(parts: &[(&str, &str)]) -> Band {
    let part = |(name, rest): &(&str, &str)| format!("[[part]]\nname = \"{name}\"\n{rest}\n");
    let parts: String = parts.iter().map(part).collect();
    read_band(&format!("name = \"Test\"\n{parts}")).unwrap()
}

fn two() -> Band {
    band(&[
        (
            "Flute",
            "instrument = \"flute\"\nplayers = { advanced = 4 }",
        ),
        (
            "Trombone",
            "instrument = \"trombone\"\nplayers = { advanced = 2 }",
        ),
    ])
}

fn notes(name: &str, band: &Band, role: Role, all: &[(u64, u64, u8, u8)]) -> PartLine {
    let one = |(onset, long, pitch, velocity): &(u64, u64, u8, u8)| DraftNote {
        onset: Tick(*onset),
        duration: Ticks(*long),
        pitch: Sounding::new(*pitch).unwrap(),
        velocity: *velocity,
        role,
        locked: false,
    };
    PartLine {
        part: band.ids().find(|(_, p)| p.name == name).unwrap().0,
        notes: all.iter().map(one).collect(),
    }
}

/// The plain presence of a stretch is the ratio of energies over the time of the line.
#[test]
fn presence_follows_from_the_levels() {
    let (band, song) = (two(), demo_song().unwrap());
    let tune = notes("Flute", &band, Role::Melody, &[(0, 960, 86, 80)]);
    let rest = |long| notes("Trombone", &band, Role::Harmony, &[(0, long, 55, 80)]);
    let of = |long| {
        let lines = [tune.clone(), rest(long)];
        let bars = stretches(&lines, &song.meters);
        presences(&band, &lines, &bars)[0].tune.unwrap()
    };
    let (whole, half) = (of(960), of(480));
    assert!((half.plain_db - whole.plain_db).0 > 3.01 - 0.01);
    assert!((half.plain_db - whole.plain_db).0 < 3.01 + 0.01);
    assert!(half.heard >= whole.heard);
    // What sounds while the line rests does not count.
    assert_eq!(of(1920), whole);
    assert_eq!(whole.situation, Situation::SameFamily);
    // Alone, it stands above by any measure.
    let alone = presences(
        &band,
        std::slice::from_ref(&tune),
        &stretches(std::slice::from_ref(&tune), &song.meters),
    );
    assert_eq!(alone[0].tune.unwrap().plain_db, Decibels(f64::INFINITY));
    assert!(alone[0].tune.unwrap().heard > 0.999);
    assert_eq!(alone[0].counterline, None);
}

#[test]
fn situations() {
    let (band, song) = (two(), demo_song().unwrap());
    let lies = |tune: &[(u64, u64, u8, u8)], rest: &[(u64, u64, u8, u8)], swap: bool| {
        let (a, b) = if swap {
            ("Trombone", "Flute")
        } else {
            ("Flute", "Trombone")
        };
        let lines = [
            notes(a, &band, Role::Melody, tune),
            notes(b, &band, Role::Harmony, rest),
        ];
        let bars = stretches(&lines, &song.meters);
        presences(&band, &lines, &bars)[0].tune.unwrap().situation
    };
    let quarters: Vec<_> = (0..4).map(|i| (i * 480, 480, 80, 80)).collect();
    let held = [(0, 1920, 55, 80)];
    assert_eq!(lies(&quarters, &held, false), Situation::OnTop);
    let under: Vec<_> = (0..4).map(|i| (i * 480, 480, 64, 80)).collect();
    assert_eq!(lies(&under, &[(0, 1920, 79, 80)], true), Situation::Inside);
    let low: Vec<_> = (0..4).map(|i| (i * 480, 480, 50, 80)).collect();
    assert_eq!(lies(&low, &[(0, 1920, 79, 80)], true), Situation::Low);
    let chords: Vec<_> = (0..4).map(|i| (i * 480, 480, 55, 80)).collect();
    assert_eq!(lies(&quarters, &chords, false), Situation::SameFamily);
}

#[test]
fn the_more_careful_conditions_tire_more() {
    let (band, song) = (preset("demo").unwrap(), demo_song().unwrap());
    let way = go(&song, &band, None);
    let lines = &way.voiced.draft.lines;
    let how = |posture, start| {
        let conditions = Conditions { posture, start };
        strains(&band, lines, &song.tempo, &song.meters, conditions)
    };
    let seated = how(Posture::Seated, Start::Fresh);
    let marching = how(Posture::Marching, Start::Fresh);
    let later = how(Posture::Marching, Start::MidProgramme);
    assert_eq!(marching, way.weighed.strains);
    assert!(seated.len() > 15);
    for ((s, m), l) in seated.iter().zip(&marching).zip(&later) {
        let reserve = |p: &bandwright::review::PartStrain| p.least_reserve().unwrap();
        assert!(reserve(s) >= reserve(m) && reserve(m) >= reserve(l));
        assert!(s.exceeded().len() <= m.exceeded().len());
    }
    // Mallets have no load; MF by note is that of the weakest.
    let has = |name: &str| marching.iter().any(|s| band.part(s.part).name == name);
    assert!(has("Trumpet 1") && has("Flute 1") && !has("Marimba"));
    for strain in &marching {
        let part = band.part(strain.part);
        let line = lines.iter().find(|l| l.part == strain.part).unwrap();
        let found = tired(part, &line.notes, &song.tempo, Conditions::default());
        assert_eq!(found, strain.load.weakest().unwrap().tired);
        assert!(found.iter().all(|t| (0.0..=1.0).contains(t)));
    }
}

/// Where a draft does not say who carries the tune, it is found again in most of the time.
#[test]
fn who_carries_the_tune_is_found_again() {
    let (band, song) = (preset("demo").unwrap(), demo_song().unwrap());
    let way = go(&song, &band, None);
    let lines = &way.voiced.draft.lines;
    let found = with_roles(lines, &way.reading, &song.meters);
    let all = || lines.iter().flat_map(|l| &l.notes);
    let (mut right, mut tune, mut said) = (0, 0, 0);
    for (a, b) in all().zip(found.iter().flat_map(|l| &l.notes)) {
        tune += usize::from(a.role == Role::Melody);
        said += usize::from(b.role == Role::Melody);
        right += usize::from(a.role == Role::Melody && b.role == Role::Melody);
    }
    assert!(right * 10 >= tune * 8, "{right} of {tune}");
    assert!(right * 10 >= said * 8, "{right} of {said}");
}

#[test]
fn stretches_follow_one_another() {
    let (band, song) = (preset("thin").unwrap(), demo_song().unwrap());
    let way = whole_way(&song, &band, &Given::default(), &mut |_| {});
    let bars: Vec<Stretch> = stretches(&way.voiced.draft.lines, &song.meters);
    assert_eq!(bars.len(), 8);
    assert!(bars.windows(2).all(|w| w[0].end == w[1].start));
    assert_eq!(bars[7].last_bar.0, 64);
    assert_eq!(stretches(&[], &song.meters).len(), 1);
    assert_eq!(way.weighed.presence.len(), way.plan.passages.len());
}
