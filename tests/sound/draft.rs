//! A draft as sound: what the loudness model says of parts is what comes out, at every place.

use super::{at, built_in, level};
use bandwright::band::loudness::{Decibels, full_level, part_level};
use bandwright::band::{Band, Choir, Part, PartId, instruments, preset, preset_names};
use bandwright::music::{Dynamic, Sounding, TempoMap, Tick, Ticks, TicksPerQuarter};
use bandwright::score::{DraftNote, PartLine, Role};
use bandwright::sound::events::SoundScore;
use bandwright::sound::of_draft::{Span, of_draft};
use bandwright::sound::render::{FULL_DB, render};
use bandwright::sound::seating::{Place, hearings};
use bandwright::sound::tone_of::tone_of;

/// Ticks of a second.
const SECOND: u64 = 960;

fn tempo() -> TempoMap {
    let quarter = TicksPerQuarter::new(480).unwrap();
    // Without a tempo of its own, music goes at 120 a minute.
    TempoMap::new(quarter, [])
}

fn middle(part: &Part) -> Sounding {
    let range = part.limits.comfortable;
    Sounding::nearest((i32::from(range.low.midi()) + i32::from(range.high.midi())) / 2)
}

/// Every part plays a note of two seconds, one part after another.
fn one_after_another(band: &Band, dynamic: Dynamic) -> Vec<PartLine> {
    let line = |(id, part): (PartId, &Part)| PartLine {
        part: id,
        notes: vec![DraftNote {
            onset: Tick(3 * SECOND * id.0 as u64),
            pitch: middle(part),
            duration: Ticks(2 * SECOND),
            velocity: dynamic.velocity(),
            role: Role::Harmony,
            locked: false,
        }],
    };
    band.ids().map(line).collect()
}

fn sound(band: &Band, lines: &[PartLine], place: Place) -> SoundScore {
    let span = Span {
        from: Tick::ZERO,
        to: Tick(u64::MAX),
    };
    of_draft(band, lines, &tempo(), span, place).unwrap()
}

#[test]
fn every_instrument_has_a_tone() {
    for instrument in instruments().unwrap() {
        assert!(tone_of(instrument).is_some(), "{}", instrument.id);
    }
}

#[test]
fn parts_sound_as_loud_as_the_model_says() {
    let band = preset("demo").unwrap();
    for dynamic in [Dynamic::P, Dynamic::Ff] {
        let score = sound(&band, &one_after_another(&band, dynamic), Place::Stands);
        let made = render(built_in(), &score, &[]).unwrap();
        let heard = hearings(&band, Place::Stands);
        let mut weighed = 0;
        for (id, part) in band.ids() {
            let said = part_level(part, middle(part), dynamic).unwrap();
            if !said.0.is_finite() {
                continue;
            }
            weighed += 1;
            let start = 3.0 * id.0 as f64 + heard[id.0].delay;
            let out = level(&made, start + 0.5, start + 1.9) - FULL_DB;
            let wanted = said.0 - full_level(&band).0 + heard[id.0].gain_db;
            assert!(
                (out - wanted).abs() < 1.0,
                "{}: {out:.2} for {wanted:.2}",
                part.name
            );
        }
        assert!(weighed > 8);
    }
}

#[test]
fn together_they_sound_as_loud_as_their_powers_add_up_to() {
    let band = preset("demo").unwrap();
    let mut lines = one_after_another(&band, Dynamic::F);
    for line in &mut lines {
        line.notes[0].onset = Tick::ZERO;
    }
    lines.retain(|l| {
        let part = band.part(l.part);
        part_level(part, middle(part), Dynamic::F)
            .unwrap()
            .0
            .is_finite()
    });
    let score = sound(&band, &lines, Place::High);
    let said = Decibels::together(score.notes.iter().map(|n| Decibels(n.gain_db)));
    let made = render(built_in(), &score, &[]).unwrap();
    let out = level(&made, 0.6, 1.9) - FULL_DB;
    assert!((out - said.0).abs() < 2.0, "{out:.2} for {:.2}", said.0);
    assert!(made.peak() < 1.0);
}

/// What a part plays: by its place in the score.
fn role(part: &Part) -> Role {
    match part.instrument.choir {
        Choir::Flutes | Choir::Trumpets => Role::Melody,
        Choir::Basses | Choir::LowReeds => Role::Bass,
        _ => Role::Harmony,
    }
}

#[test]
fn the_order_of_roles_is_the_model_s() {
    for name in ["demo", "concert", "thin"] {
        let band = preset(name).unwrap();
        let mut lines = one_after_another(&band, Dynamic::Mf);
        for line in &mut lines {
            line.notes[0].onset = Tick::ZERO;
        }
        let score = sound(&band, &lines, Place::High);
        let distances = hearings(&band, Place::High);
        let mut found = Vec::new();
        for one in [Role::Melody, Role::Harmony, Role::Bass] {
            let said = |(i, p): (PartId, &Part)| {
                let level = part_level(p, middle(p), Dynamic::Mf).unwrap();
                (role(p) == one).then_some(Decibels(level.0 + distances[i.0].gain_db))
            };
            let said = Decibels::together(band.ids().filter_map(said));
            let weighed = |p: &Part| part_level(p, middle(p), Dynamic::Mf).unwrap().0.is_finite();
            let heard: Vec<bool> = band
                .parts
                .iter()
                .map(|p| role(p) == one && weighed(p))
                .collect();
            let made = render(built_in(), &score, &heard).unwrap();
            found.push((
                said.0 - full_level(&band).0,
                level(&made, 0.6, 1.8) - FULL_DB,
            ));
        }
        for (said, out) in &found {
            assert!((said - out).abs() < 2.0, "{name}: {found:?}");
            for (other, other_out) in &found {
                // Tones that beat together are not good to more than this.
                if said - other > 1.5 {
                    assert!(out > other_out, "{name}: {found:?}");
                }
            }
        }
    }
}

#[test]
fn bars_are_cut_out_of_the_whole() {
    let band = preset("demo").unwrap();
    let lines = one_after_another(&band, Dynamic::F);
    let span = Span {
        from: Tick(SECOND),
        to: Tick(4 * SECOND),
    };
    let score = of_draft(&band, &lines, &tempo(), span, Place::Podium).unwrap();
    // The first note is caught in its middle, the second cut off after its first second.
    assert_eq!(score.notes.len(), 2);
    assert_eq!(score.notes[0].onset, 0.0);
    assert!((score.notes[0].end - 1.0).abs() < 0.03);
    assert!((score.notes[1].onset - 2.0).abs() < 1e-9);
    assert!((score.notes[1].end - 3.0).abs() < 0.03);
    let made = render(built_in(), &score, &[]).unwrap();
    assert!(made.left[at(1.5)..at(1.9)].iter().all(|s| s.abs() < 1e-4));
}

#[test]
fn far_away_all_are_about_as_near_and_the_podium_is_near_the_first_row() {
    for name in preset_names() {
        let band = preset(name).unwrap();
        for place in [Place::Podium, Place::Stands, Place::High] {
            let heard = hearings(&band, place);
            assert_eq!(heard.len(), band.parts.len());
            let delays = heard.iter().map(|h| h.delay);
            assert_eq!(delays.clone().fold(f64::INFINITY, f64::min), 0.0);
            assert!(delays.fold(0.0, f64::max) < 0.05);
            let power: f64 = heard.iter().map(|h| 10.0_f64.powf(h.gain_db / 10.0)).sum();
            assert!((power / heard.len() as f64 - 1.0).abs() < 1e-9);
            assert!(heard.iter().all(|h| h.pan.abs() <= 1.0));
        }
        let spread = |place| {
            let gains: Vec<f64> = hearings(&band, place).iter().map(|h| h.gain_db).collect();
            gains.iter().copied().fold(f64::MIN, f64::max)
                - gains.iter().copied().fold(f64::MAX, f64::min)
        };
        assert!(spread(Place::High) <= spread(Place::Stands));
        assert!(spread(Place::Stands) < spread(Place::Podium));
    }
}
