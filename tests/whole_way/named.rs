//! Cases with a name: the demo, every preset, small and great bands, odd sketches.

use super::{drafted, faults_of, fixed_by, go, go_well, moved_by_relocking};
use crate::checker::not_carried;
use crate::midi_file::{File, Lane, tone};
use bandwright::band::{Band, preset, preset_names, read_band};
use bandwright::cli::files::demo_song;
use bandwright::review::Severity;
use bandwright::sketch::Line;

fn band(parts: &[(&str, &str, &str)]) -> Band {
    let part = |(name, instrument, more): &(&str, &str, &str)| {
        format!("[[part]]\nname = \"{name}\"\ninstrument = \"{instrument}\"\n{more}\n")
    };
    let text: String = parts.iter().map(part).collect();
    read_band(&format!("name = \"Some\"\n{text}")).unwrap()
}

const GOOD: &str = "players = { all_state = 2 }";

fn chorale() -> File {
    let mut notes = Vec::new();
    for (bar, root) in [48_u8, 53, 55, 48].iter().enumerate() {
        let at = bar as u32 * 1920;
        notes.extend([0, 7, 16].map(|up| tone(at, root + up, 1920)));
        notes.extend((0..4).map(|beat| tone(at + beat * 480, 72 + beat as u8, 480)));
    }
    File::piano(notes)
}

#[test]
fn the_demo_goes_the_whole_way_with_every_preset() {
    let song = demo_song().unwrap();
    for name in preset_names() {
        let band = preset(name).unwrap();
        let way = go(&song, &band, None);
        assert_eq!(faults_of(&way, &song, &band, None), Vec::<String>::new());
        let count = way.reading.line(Line::Melody).count();
        assert!(count > 60, "{name}: only {count} notes of tune");
        let changes = way.voiced.draft.melody_changes.len();
        assert_eq!(changes, 0, "{name}: the tune is changed");
        let lost = not_carried(&way.reading, &way.voiced.draft, Line::Bass);
        assert_eq!(lost, Vec::<&_>::new(), "{name}: bass is lost");
        let lines = &way.voiced.draft.lines;
        let busy = lines.iter().filter(|l| !l.notes.is_empty()).count();
        assert!(
            busy * 10 >= lines.len() * 9,
            "{name}: {busy} of {} parts play",
            lines.len()
        );
    }
}

#[test]
fn the_demo_band_keeps_its_own_passages() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    let way = go(&song, &band, None);
    assert_eq!(faults_of(&way, &song, &band, None), Vec::<String>::new());
    let fixed = fixed_by(&song, &band, &song);
    assert!(fixed.len() >= 4, "own passages of {} parts", fixed.len());
    for (part, fixed) in &fixed {
        let all = &way.voiced.draft.lines[*part].notes;
        let locked = all.iter().filter(|n| n.locked).count();
        assert_eq!(locked, fixed.notes.len());
        assert!(
            locked < all.len(),
            "part {part} plays nothing but what is fixed"
        );
    }
    assert_eq!(moved_by_relocking(&way, &song, &band), Vec::<String>::new());
    let out = way
        .findings
        .iter()
        .filter(|f| f.severity == Severity::OutOfLimit);
    assert_eq!(out.count(), 0);
}

#[test]
fn one_part_plays_the_tune() {
    let way = go_well(&chorale(), &band(&[("Flute", "flute", GOOD)]));
    let tune = way.reading.line(Line::Melody).count();
    assert_eq!(way.voiced.draft.melody_changes, []);
    assert!(way.voiced.draft.lines[0].notes.len() >= tune);
}

#[test]
fn two_parts_play_the_tune_and_the_bass() {
    let band = band(&[("Flute", "flute", GOOD), ("Tuba", "tuba", GOOD)]);
    let way = go_well(&chorale(), &band);
    let draft = &way.voiced.draft;
    assert_eq!(draft.melody_changes, []);
    assert_eq!(
        not_carried(&way.reading, draft, Line::Bass),
        Vec::<&_>::new()
    );
    assert_eq!(drafted(draft, 1).len(), 4);
}

#[test]
fn a_part_that_reaches_nothing_rests_and_the_tune_is_listed() {
    let narrow = "players = { first_year = 1 }\nremarks = { lowest = \"G4\", highest = \"G4\" }";
    let way = go_well(&chorale(), &band(&[("Flute", "flute", narrow)]));
    let tune = way.reading.line(Line::Melody).count();
    let changes = &way.voiced.draft.melody_changes;
    assert_eq!(changes.len(), tune, "no note of this tune is a G");
    assert!(changes.iter().all(|c| !c.reason.is_empty()));
}

#[test]
fn a_lock_out_of_range_is_kept_and_reported() {
    let mut file = chorale();
    file.lanes
        .push(Lane::new("Flute", vec![tone(1920, 20, 1920)]));
    let way = go_well(&file, &band(&[("Flute", "flute", GOOD)]));
    assert!(
        way.findings
            .iter()
            .any(|f| f.kind == "below_range" && f.at.0 == 1920)
    );
}

#[test]
fn drums_alone_are_no_sketch() {
    let mut file = File::piano(vec![tone(0, 38, 240), tone(480, 38, 240)]);
    file.lanes[0].channel = 9;
    let way = go_well(&file, &band(&[("Flute", "flute", GOOD)]));
    assert!(way.reading.notes.is_empty());
    assert_eq!(drafted(&way.voiced.draft, 0), []);
    assert!(
        way.warnings
            .iter()
            .any(|w| w.text.contains("no pitched notes"))
    );
}

#[test]
fn one_note_and_all_notes_at_once() {
    let band = band(&[("Flute", "flute", GOOD), ("Tuba", "tuba", GOOD)]);
    let way = go_well(&File::piano(vec![tone(0, 60, 1)]), &band);
    let played: usize = way.voiced.draft.lines.iter().map(|l| l.notes.len()).sum();
    assert!(played >= 1);
    let all = (0..128).map(|p| tone(0, p, 480)).collect();
    go_well(&File::piano(all), &band);
}

#[test]
fn two_hundred_parts_and_no_more() {
    let ids = ["flute", "clarinet_bb", "trumpet", "trombone", "tuba"];
    let parts = |count: usize| {
        let part = |i: usize| {
            let id = ids[i % ids.len()];
            format!("[[part]]\nname = \"P {i}\"\ninstrument = \"{id}\"\n{GOOD}\n")
        };
        let all: String = (0..count).map(part).collect();
        read_band(&format!("name = \"Many\"\n{all}"))
    };
    let error = parts(201).unwrap_err().to_string();
    assert!(error.contains("200"), "{error}");
    let way = go_well(&chorale(), &parts(200).unwrap());
    assert_eq!(way.voiced.draft.lines.len(), 200);
}

#[test]
fn names_that_tracks_cannot_tell_apart_are_refused() {
    let part =
        |name: &str| format!("[[part]]\nname = \"{name}\"\ninstrument = \"flute\"\n{GOOD}\n");
    let text = format!("name = \"Twins\"\n{}{}", part("Flute 1"), part("flute-1"));
    let error = read_band(&text).unwrap_err().to_string();
    assert!(error.contains("two parts are named"), "{error}");
}
