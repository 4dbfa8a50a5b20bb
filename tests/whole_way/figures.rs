//! Figures on the whole way: held as chords, kept by an agile part, or shared in turn.

use super::{faults_of, go};
use crate::midi_file::{File, tone};
use bandwright::band::{Band, read_band};
use bandwright::project::whole_way::WholeWay;
use bandwright::score::Role;
use bandwright::sketch::FigureWay;

const WINDS: [(&str, &str); 9] = [
    ("Flute 1", "flute"),
    ("Flute 2", "flute"),
    ("Clarinet 1", "clarinet_bb"),
    ("Clarinet 2", "clarinet_bb"),
    ("Clarinet 3", "clarinet_bb"),
    ("Alto Sax 1", "sax_alto"),
    ("Trumpet 1", "trumpet"),
    ("Trombone 1", "trombone"),
    ("Tuba", "tuba"),
];

fn band(level: &str) -> Band {
    let part = |(name, instrument): &(&str, &str)| {
        format!(
            "[[part]]\nname = \"{name}\"\ninstrument = \"{instrument}\"\nplayers = {{ {level} = 2 }}\n"
        )
    };
    let text: String = WINDS.iter().map(part).collect();
    read_band(&format!("name = \"Winds\"\n{text}")).unwrap()
}

/// Eight bars of a tune in halves over an Alberti bass without pedal, `step` ticks a note.
fn sketch(step: u32) -> File {
    let mut notes = Vec::new();
    for bar in 0..8_u32 {
        let at = bar * 1920;
        let (root, third) = [(48, 4), (45, 3), (41, 4), (43, 4)][bar as usize % 4];
        let top = [72, 69, 69, 71][bar as usize % 4];
        notes.extend([tone(at, top, 960), tone(at + 960, top + 3, 960)]);
        let low = [root, root + 7, root + third, root + 7];
        let run = (0..1920 / step).zip(low.iter().cycle());
        notes.extend(run.map(|(i, p)| tone(at + i * step, *p, step)));
    }
    File::piano(notes)
}

fn ways(way: &WholeWay) -> Vec<FigureWay> {
    let figures = way.plan.passages.iter().filter_map(|p| p.figure.as_ref());
    figures.map(|f| f.way).collect()
}

fn sound(way: &WholeWay, file: &File, band: &Band) {
    assert_eq!(
        faults_of(way, &file.song(), band, None),
        Vec::<String>::new()
    );
    for planned in &way.plan.passages {
        let why = planned.figure.as_ref().map_or("", |f| f.why.as_str());
        assert!(!why.is_empty() && why.len() < 100, "{why}");
    }
}

/// Notes of a role in the whole draft, and how long they are on average in quarters.
fn of_role(way: &WholeWay, role: Role) -> (usize, f64) {
    let lines = way.voiced.draft.lines.iter().flat_map(|l| &l.notes);
    let lengths: Vec<f64> = lines
        .filter(|n| n.role == role)
        .map(|n| n.duration.0 as f64 / 480.0)
        .collect();
    let mean = lengths.iter().sum::<f64>() / lengths.len().max(1) as f64;
    (lengths.len(), mean)
}

#[test]
fn a_quick_broken_chord_is_held_by_a_young_band() {
    let (file, band) = (sketch(120), band("first_year"));
    let way = go(&file.song(), &band, None);
    sound(&way, &file, &band);
    assert!(
        ways(&way).iter().all(|w| *w == FigureWay::Sustained),
        "{:?}",
        ways(&way)
    );
    let (count, length) = of_role(&way, Role::Harmony);
    assert!(
        count >= 16 && length >= 1.5,
        "{count} notes of {length} quarters"
    );
    assert_eq!(of_role(&way, Role::Figure).0, 0);
}

#[test]
fn a_slow_one_is_kept_by_an_agile_part_of_a_good_band() {
    let (file, band) = (sketch(240), band("all_state"));
    let way = go(&file.song(), &band, None);
    sound(&way, &file, &band);
    assert!(ways(&way).contains(&FigureWay::Kept), "{:?}", ways(&way));
    for planned in &way.plan.passages {
        let figure = planned.figure.as_ref().unwrap();
        let carriers = planned
            .roles
            .iter()
            .filter(|r| r.role == Role::Figure)
            .count();
        assert_eq!(figure.carriers.len(), carriers);
    }
    let (count, length) = of_role(&way, Role::Figure);
    assert!(
        count >= 60 && length < 0.6,
        "{count} notes of {length} quarters"
    );
    // The others hold the chord meanwhile.
    let (count, length) = of_role(&way, Role::Harmony);
    assert!(
        count >= 12 && length >= 1.5,
        "{count} notes of {length} quarters"
    );
}

#[test]
fn what_is_too_quick_for_one_is_shared_in_turn() {
    // At 120 quarters a minute eight sixteenths a second: over the 6.5 of an advanced player.
    let (file, band) = (sketch(120), band("advanced"));
    let way = go(&file.song(), &band, None);
    sound(&way, &file, &band);
    assert!(ways(&way).contains(&FigureWay::Shared), "{:?}", ways(&way));
    for planned in &way.plan.passages {
        let figure = planned.figure.as_ref().unwrap();
        if figure.way != FigureWay::Shared {
            continue;
        }
        assert_eq!(figure.carriers.len(), 2);
        // Nobody plays the figure in two bars that follow one another.
        for id in &figure.carriers {
            let notes = &way.voiced.draft.lines[id.0].notes;
            let bars: Vec<u64> = notes
                .iter()
                .filter(|n| n.role == Role::Figure)
                .map(|n| n.onset.0 / 1920)
                .collect();
            assert!(bars.iter().all(|b| b % 2 == bars[0] % 2), "{bars:?}");
        }
    }
}

#[test]
fn chords_off_the_beat_stay_there() {
    let mut notes = Vec::new();
    for beat in 0..32_u32 {
        let at = beat * 480;
        if beat % 2 == 0 {
            notes.push(tone(at, 72 + (beat % 5) as u8, 960));
            notes.push(tone(at, 43, 480));
        } else {
            notes.extend([55, 59, 62].map(|p| tone(at, p, 480)));
        }
    }
    let (file, band) = (File::piano(notes), band("advanced"));
    let way = go(&file.song(), &band, None);
    sound(&way, &file, &band);
    assert!(
        ways(&way).iter().all(|w| *w == FigureWay::OffBeats),
        "{:?}",
        ways(&way)
    );
    let lines = way.voiced.draft.lines.iter().flat_map(|l| &l.notes);
    let off = lines.filter(|n| n.role == Role::Harmony && n.onset.0 % 960 == 480);
    assert!(off.count() >= 16);
}
