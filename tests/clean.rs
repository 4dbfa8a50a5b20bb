//! How clean whole drafts come out: every note in what surrounds it.

use crate::whole_way::go;
use bandwright::band::chance::{CauseKind, chance};
use bandwright::band::load::{Conditions, Start};
use bandwright::band::playing::Posture;
use bandwright::band::{Band, Level, PartId, preset, preset_names, read_band};
use bandwright::cli::files::demo_song;
use bandwright::music::{
    KeySignature, MeterMap, Mode, Sounding, TempoMap, Tick, Ticks, TicksPerQuarter,
};
use bandwright::review::clean::{Frame, HARD_BELOW, MOST_SPOTS, contexts};
use bandwright::review::{CleanLine, clean_lines};
use bandwright::score::{DraftNote, PartLine, Role};

const QUARTER: u64 = 480;

struct Timing(TempoMap, MeterMap, Vec<(Tick, KeySignature)>);

impl Timing {
    /// Four four at 120 quarters a minute, in E flat major from bar 3 on.
    fn new() -> Self {
        let quarter = TicksPerQuarter::new(QUARTER as u16).unwrap();
        let e_flat = KeySignature::new(-3, Mode::Major).unwrap();
        Self(
            TempoMap::new(quarter, []),
            MeterMap::new(quarter, []),
            vec![(Tick(8 * QUARTER), e_flat)],
        )
    }

    fn frame(&self) -> Frame<'_> {
        Frame {
            tempo: &self.0,
            meters: &self.1,
            keys: &self.2,
        }
    }
}

fn clarinets() -> Band {
    read_band("name = \"B\"\n[[part]]\nname = \"Clarinet\"\ninstrument = \"clarinet_bb\"\nplayers = { second_year = 2 }\n").unwrap()
}

/// A line of written notes, each so many quarters from the start and so many long.
fn line(band: &Band, notes: &[(f64, f64, &str)]) -> PartLine {
    let tone = |(at, length, written): &(f64, f64, &str)| {
        let written = written.parse().unwrap();
        let instrument = &band.parts[0].instrument;
        DraftNote {
            onset: Tick((at * QUARTER as f64) as u64),
            pitch: instrument.transposition.sounding(written).unwrap(),
            duration: Ticks((length * QUARTER as f64) as u64),
            velocity: 80,
            role: Role::Melody,
            locked: false,
        }
    };
    PartLine {
        part: PartId(0),
        notes: notes.iter().map(tone).collect(),
    }
}

#[test]
fn every_note_is_taken_with_what_surrounds_it() {
    let (band, timing) = (clarinets(), Timing::new());
    let line = line(
        &band,
        &[
            (0.0, 0.5, "A4"),
            (0.5, 0.5, "B4"),
            (1.0, 0.5, "A4"),
            (1.5, 0.5, "B4"),
            (8.0, 2.0, "E4"),
            (10.0, 1.0, "F#4"),
        ],
    );
    let found = contexts(
        &band.parts[0],
        &line.notes,
        &timing.frame(),
        Posture::Seated,
        &|i| i as f64 / 10.0,
    );
    let a4 = line.notes[0].pitch;
    assert_eq!(found[0].from, None);
    assert_eq!(found[1].from, Some(a4));
    // Eighths at 120.
    assert!((found[1].speed.unwrap().0 - 4.0).abs() < 1e-9);
    assert!((found[2].run_beats - 1.5).abs() < 1e-9);
    assert!(found[2].crossings > 1.0 && found[4].crossings == 0.0);
    // Three seconds of rest: no leap, a new breath of a half note's second.
    assert!(found[4].from.is_none() && found[4].speed.is_none());
    assert!((found[4].breath - 1.0).abs() < 1e-9);
    // Before a key is known nothing counts; E flat is F, one flat, for B flat clarinets.
    assert_eq!((found[0].accidentals, found[0].in_key), (0, true));
    assert_eq!((found[4].accidentals, found[4].in_key), (1, true));
    assert_eq!((found[5].accidentals, found[5].in_key), (1, false));
    assert!((found[3].tired - 0.3).abs() < 1e-12);
}

fn sound(band: &Band, line: &PartLine, clean: &CleanLine, frame: &Frame<'_>) {
    assert_eq!(
        (line.part, line.notes.len()),
        (clean.part, clean.notes.len())
    );
    assert!(clean.notes.iter().all(|p| (0.0..=1.0).contains(p)));
    let missed: f64 = clean.notes.iter().map(|p| 1.0 - p).sum();
    assert!((missed - clean.missed).abs() < 1e-9);
    let mean = clean.notes.iter().sum::<f64>() / clean.notes.len().max(1) as f64;
    let mean = if clean.notes.is_empty() { 1.0 } else { mean };
    assert!((mean - clean.mean).abs() < 1e-9);
    assert!(clean.hardest.len() <= MOST_SPOTS);
    let worst = clean.notes.iter().copied().fold(1.0, f64::min);
    match clean.hardest.first() {
        Some(spot) => assert_eq!(spot.chance.value.to_bits(), worst.to_bits()),
        None => assert!(worst >= HARD_BELOW),
    }
    let how = Conditions::default();
    let part = band.part(line.part);
    let tired = bandwright::review::tired(part, &line.notes, frame.tempo, how);
    let all = contexts(part, &line.notes, frame, how.posture, &|i| tired[i]);
    for ((note, context), value) in line.notes.iter().zip(&all).zip(&clean.notes) {
        assert_eq!(
            chance(part, note.pitch, context).value.to_bits(),
            value.to_bits()
        );
    }
}

#[test]
fn a_whole_draft_is_told_part_by_part() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    let way = go(&song, &band, None);
    let keys: Vec<_> = way
        .reading
        .keys
        .iter()
        .map(|k| (k.start, k.signature))
        .collect();
    let frame = Frame {
        tempo: &song.tempo,
        meters: &song.meters,
        keys: &keys,
    };
    assert_eq!(
        way.clean,
        clean_lines(
            &band,
            &way.voiced.draft.lines,
            &frame,
            Conditions::default()
        )
    );
    for (line, clean) in way.voiced.draft.lines.iter().zip(&way.clean) {
        sound(&band, line, clean, &frame);
    }
    let mid = Conditions {
        start: Start::MidProgramme,
        ..Conditions::default()
    };
    let tired = clean_lines(&band, &way.voiced.draft.lines, &frame, mid);
    for (tired, fresh) in tired.iter().zip(&way.clean) {
        let lips = band.part(tired.part).instrument.wind && !tired.notes.is_empty();
        assert_eq!(tired.mean < fresh.mean, lips);
        assert!(tired.hardest.iter().all(|s| {
            let causes = &s.chance.causes;
            !lips || causes.iter().any(|c| c.kind == CauseKind::Tired)
        }));
    }
}

/// Beginners on the clarinet are not led over the break, and flutes hardly ever very high.
#[test]
fn drafts_keep_to_what_bands_can_do() {
    let song = demo_song().unwrap();
    for band in preset_names().map(|n| preset(n).unwrap()) {
        let way = go(&song, &band, None);
        for line in &way.voiced.draft.lines {
            let part = band.part(line.part);
            let written = |p: Sounding| part.instrument.transposition.written(p).0;
            let free: Vec<i16> = line
                .notes
                .iter()
                .filter(|n| !n.locked)
                .map(|n| written(n.pitch))
                .collect();
            let place = format!("{}, {}", band.name, part.name);
            if part.instrument.id == "clarinet_bb"
                && part.players.weakest() == Some(Level::FirstYear)
            {
                let over = free
                    .windows(2)
                    .filter(|w| (w[0] <= 70) != (w[1] <= 70))
                    .count();
                assert_eq!(over, 0, "{place}");
            }
            if part.instrument.id == "flute" {
                let high = free.iter().filter(|n| **n >= 93).count();
                assert!(30 * high <= free.len(), "{place}: {high} of {}", free.len());
            }
        }
    }
}
