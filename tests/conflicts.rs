//! Locks against remarks: every kind of conflict is found, said, and gone once its relaxation is granted.

use crate::midi_file::{File, Lane, Tone, tone};
use crate::whole_way::resolve::with_problem;
use bandwright::band::{Band, read_band};
use bandwright::score::{Locks, own_passages};
use bandwright::sketch::Song;
use bandwright::voicing::conflicts::Kind;
use bandwright::voicing::{Conflict, Status, Voiced, voice};

/// A part by name, instrument and remarks.
type PartOf<'a> = (&'a str, &'a str, &'a str);

fn band(parts: &[PartOf<'_>]) -> Band {
    let part = |(name, instrument, remarks): &PartOf<'_>| {
        format!(
            "[[part]]\nname = \"{name}\"\ninstrument = \"{instrument}\"\nplayers = {{ advanced = 2 }}\nremarks = {{ {remarks} }}\n"
        )
    };
    let text: String = parts.iter().map(part).collect();
    read_band(&format!("name = \"Hall\"\n{text}")).unwrap()
}

/// Four bars of a tune in quarters from C5 up over chords in C, and a bass.
fn sketch() -> File {
    let tune = (0..16).map(|i| tone(i * 480, 72 + [0, 4, 7, 4][i as usize % 4], 480));
    let chords = (0..4).flat_map(|b| [48, 60, 64, 67].map(|p| tone(b * 1920, p, 1920)));
    File::piano(tune.chain(chords).collect())
}

fn locked(name: &str, notes: Vec<Tone>) -> Song {
    let mut file = sketch();
    file.lanes.push(Lane::new(name, notes));
    file.song()
}

fn voiced(song: &Song, band: &Band, locks: Option<&Locks>) -> Voiced {
    with_problem(song, band, locks, |problem| voice(problem, &mut |_| {}))
}

/// The conflict of a kind, which must be gone once its relaxation is granted.
fn conflict(song: &Song, band: &Band, kind: Kind) -> (Conflict, String) {
    let found = voiced(song, band, None);
    let of_kind = |v: &Voiced| v.conflicts.iter().find(|c| c.kind == kind).cloned();
    let all: Vec<&str> = found.conflicts.iter().map(|c| c.says.as_str()).collect();
    let conflict = of_kind(&found).unwrap_or_else(|| panic!("{kind:?} is not among {all:?}"));
    assert_eq!(
        found.status == Status::Impossible,
        found.conflicts.iter().any(|c| c.kind.is_hard())
    );
    let own = own_passages(song, band, (&song.meters, song.quarter)).locks;
    let (relaxed, locks) = conflict.relaxed(band, &own);
    let after = voiced(song, &relaxed, Some(&locks));
    assert_eq!(of_kind(&after), None, "{:?}", conflict.relaxation);
    let words = conflict.relaxation_in_words(band);
    (conflict, words)
}

const REST: [PartOf<'_>; 3] = [
    ("Clarinet 1", "clarinet_bb", ""),
    ("Trumpet", "trumpet", ""),
    ("Tuba", "tuba", ""),
];

fn with_flute(remarks: &'static str) -> Band {
    let mut parts = vec![("Flute", "flute", remarks)];
    parts.extend(REST);
    band(&parts)
}

#[test]
fn a_sound_band_has_none() {
    let band = with_flute("");
    let song = locked("Flute bars 2-2", vec![tone(1920, 79, 1920)]);
    let found = voiced(&song, &band, None);
    assert_eq!(found.conflicts, Vec::new());
    assert_ne!(found.status, Status::Impossible);
}

#[test]
fn a_lock_above_what_the_director_allows() {
    let band = with_flute("highest = \"G5\"");
    let song = locked(
        "Flute bars 2-3",
        vec![tone(1920, 81, 1920), tone(3840, 79, 1920)],
    );
    let (found, words) = conflict(&song, &band, Kind::LockRange);
    assert_eq!(words, "allow Flute up to written A5 (2 semitones more)");
    assert_eq!(
        found.says,
        "Flute is locked to written A5 in bar 2, but the director allows Flute nothing above written G5"
    );
}

#[test]
fn a_lock_over_the_break_and_one_that_nobody_reaches() {
    let band = band(&[
        ("Flute", "flute", ""),
        ("Low", "clarinet_bb", "below_the_break = true"),
        REST[2],
    ]);
    // Written C5, over the break.
    let song = locked("Low bars 2-2", vec![tone(1920, 70, 1920)]);
    let (_, words) = conflict(&song, &band, Kind::LockRange);
    assert_eq!(
        words,
        "allow Low over the break, up to written C5 (2 semitones more)"
    );
    let song = locked("Low bars 2-2", vec![tone(1920, 120, 1920)]);
    let (found, words) = conflict(&song, &band, Kind::LockRange);
    assert_eq!(words, "unlock Low in bar 2");
    assert!(found.says.contains("reach nothing above"), "{}", found.says);
}

#[test]
fn two_locked_notes_too_far_apart_cost_nothing_but_are_told() {
    let band = with_flute("no_leaps_over = 7");
    let song = locked(
        "Flute bars 2-3",
        vec![tone(1920, 72, 1920), tone(3840, 84, 1920)],
    );
    let (found, words) = conflict(&song, &band, Kind::LockLeap);
    assert_eq!(words, "allow Flute leaps of 12 semitones (5 more)");
    assert_eq!(found.bars.len(), 1);
    let far = voiced(&song, &band, None);
    let near = voiced(
        &locked(
            "Flute bars 2-3",
            vec![tone(1920, 79, 1920), tone(3840, 84, 1920)],
        ),
        &band,
        None,
    );
    // A forced leap is no cost: ten thousand points would show.
    assert!(
        (far.cost - near.cost).abs() < 1_000.0,
        "{} {}",
        far.cost,
        near.cost
    );
    assert!(far.lower_bound < 5_000.0);
}

#[test]
fn a_lock_faster_than_the_director_allows() {
    let band = with_flute("no_faster_than = 1.5");
    let notes = (0..4).map(|i| tone(1920 + 480 * i, 76, 480)).collect();
    let song = locked("Flute bars 2-2", notes);
    let (_, words) = conflict(&song, &band, Kind::LockSpeed);
    assert_eq!(words, "allow Flute 2.0 notes a second");
}

#[test]
fn a_lock_in_too_hard_a_key() {
    let band = band(&[
        ("Flute", "flute", ""),
        ("Alto", "sax_alto", "accidentals_at_most = 1"),
        REST[1],
        REST[2],
    ]);
    let mut file = sketch();
    file.keys = vec![(0, 0, false)];
    file.lanes
        .push(Lane::new("Alto bars 2-2", vec![tone(1920, 64, 1920)]));
    // C major is A major, three sharps, for the alto.
    let (_, words) = conflict(&file.song(), &band, Kind::LockKey);
    assert_eq!(words, "allow Alto 3 sharps or flats");
}

#[test]
fn a_lock_without_the_rest_asked_for() {
    let band = with_flute("rests_every = 2");
    let notes = (0..4).map(|i| tone(1920 * i, 79, 1920)).collect();
    let song = locked("Flute bars 1-4", notes);
    let (_, words) = conflict(&song, &band, Kind::LockRest);
    assert_eq!(words, "allow Flute 4 bars without a bar of rest");
}

#[test]
fn a_lock_that_is_alone_of_a_part_that_never_is_to_be() {
    let band = with_flute("exposed = \"never\"");
    // Nothing of the sketch sounds in the fifth bar.
    let song = locked("Flute bars 6-6", vec![tone(1920 * 5, 79, 1920)]);
    let (_, words) = conflict(&song, &band, Kind::LockAlone);
    assert_eq!(words, "allow Flute to be heard alone");
}

#[test]
fn players_of_two_parts_locked_in_both() {
    let band = band(&[
        ("Flute", "flute", "doubles = \"piccolo\""),
        ("Piccolo", "piccolo", ""),
        REST[0],
        REST[2],
    ]);
    let mut file = sketch();
    file.lanes
        .push(Lane::new("Flute bars 2-2", vec![tone(1920, 79, 1920)]));
    file.lanes
        .push(Lane::new("Piccolo bars 2-2", vec![tone(1920, 91, 1920)]));
    let song = file.song();
    let found = voiced(&song, &band, None);
    if found.conflicts.iter().any(|c| c.kind == Kind::LockPlayers) {
        let (_, words) = conflict(&song, &band, Kind::LockPlayers);
        assert!(words.starts_with("unlock "), "{words}");
    } else {
        panic!("{:?}", found.conflicts);
    }
}

/// All that could carry the tune may not: the part that is nearest to it is named.
#[test]
fn a_tune_that_nobody_may_play() {
    let parts = [
        (
            "Clarinet 1",
            "clarinet_bb",
            "lowest = \"C4\", highest = \"F4\"",
        ),
        ("Tuba", "tuba", "lowest = \"A1\", highest = \"D2\""),
    ];
    let band = band(&parts);
    let (found, words) = conflict(&sketch().song(), &band, Kind::NobodyTune);
    assert!(
        words.starts_with("allow Clarinet 1") || words.starts_with("allow Tuba"),
        "{words}"
    );
    assert!(found.says.starts_with("nobody may play "), "{}", found.says);
    assert_eq!(
        voiced(&sketch().song(), &band, None).status,
        Status::Impossible
    );
}

#[test]
fn a_bass_that_nobody_may_play() {
    let bass = (0..4).map(|b| tone(b * 1920, 37, 1920));
    let tune = (0..16).map(|i| tone(i * 480, 72 + [0, 4, 7, 4][i as usize % 4], 480));
    let file = File::piano(tune.chain(bass).collect());
    let parts = [
        ("Flute", "flute", "lowest = \"C5\", highest = \"C6\""),
        ("Tuba", "tuba", "lowest = \"D2\", highest = \"C3\""),
    ];
    let (_, words) = conflict(&file.song(), &band(&parts), Kind::NobodyBass);
    assert_eq!(words, "allow Tuba down to written C#2 (1 semitone more)");
}

#[test]
fn a_third_that_nobody_free_may_play() {
    // The tune and the bass have no third; all who fill the chord are kept from it.
    let tune = (0..4).map(|i| tone(i * 1920, 79, 1920));
    let chords = (0..4).flat_map(|b| [36, 60, 64, 67].map(|p| tone(b * 1920, p, 1920)));
    let file = File::piano(tune.chain(chords).collect());
    let narrow = "lowest = \"A4\", highest = \"D5\"";
    let parts = [
        ("Flute", "flute", "lowest = \"F5\", highest = \"G5\""),
        ("Clarinet 1", "clarinet_bb", narrow),
        ("Clarinet 2", "clarinet_bb", narrow),
        ("Clarinet 3", "clarinet_bb", narrow),
        ("Tuba", "tuba", "highest = \"D2\""),
    ];
    let (found, words) = conflict(&file.song(), &band(&parts), Kind::NobodyThird);
    assert!(!found.kind.is_hard());
    assert!(words.starts_with("allow Clarinet"), "{words}");
}
