//! What a font lacks is played by what comes nearest, and said.

use super::{note, off, preset, read, zone};
use bandwright::sound::sound_font::{Generator, Preset, sound_font};
use bandwright::sound::tones::{Shade, tone, tones};
use bandwright::sound::user_font::{FontError, FontNote, TICK_FIRST, TICK_OTHER};

fn of(programs: &[u8]) -> Vec<u8> {
    let presets: Vec<Preset> = programs
        .iter()
        .map(|p| preset(*p, vec![zone((0, 127), -3.0)]))
        .collect();
    sound_font("some", &presets)
}

#[test]
fn the_nearest_of_the_family_plays_and_where_there_is_none_the_built_in_tone() {
    let font = read(&of(&[0, 61])).unwrap();
    let told = |name: &str| {
        let wanted = tone(name).unwrap().name;
        let about = |n: &&FontNote| match n {
            FontNote::Instead { tone, .. } | FontNote::BuiltIn { tone } => *tone == wanted,
            _ => false,
        };
        font.notes.iter().find(about).cloned()
    };
    assert_eq!(told("piano"), None);
    for brass in ["trumpet", "tuba", "horn", "mellophone"] {
        let plays = "program 61".to_owned();
        let tone = tone(brass).unwrap().name;
        assert_eq!(told(brass), Some(FontNote::Instead { tone, plays }));
    }
    for other in ["flute", "timpani", "clarinet", "marimba"] {
        let tone = tone(other).unwrap().name;
        assert_eq!(told(other), Some(FontNote::BuiltIn { tone }));
    }
    assert!(font.notes.contains(&FontNote::BuiltInTick));
    // All of them sound, and at their level.
    for tone in tones() {
        let key = tone.keys.0 / 2 + tone.keys.1 / 2;
        for shade in Shade::ALL {
            let off = off(&font, tone, note(key, shade, -6.0));
            assert!(off.abs() < 2.0, "{}, {shade:?}: {off:.2}", tone.name);
        }
    }
    for said in &font.notes {
        let said = said.to_string();
        assert!(said.starts_with("it has no"), "{said}");
    }
}

#[test]
fn kettledrums_are_not_played_by_strings() {
    let font = read(&of(&[45, 46])).unwrap();
    let tone = "timpani";
    assert!(font.notes.contains(&FontNote::BuiltIn { tone }));
    let tone = "string bass";
    let plays = "program 45".to_owned();
    assert!(font.notes.contains(&FontNote::Instead { tone, plays }));
}

#[test]
fn keys_beyond_its_samples_are_played_by_the_outermost() {
    let zones = vec![zone((50, 55), -3.0), zone((56, 60), -12.0)];
    let font = read(&sound_font("narrow", &[preset(57, zones)])).unwrap();
    let trombone = tone("trombone").unwrap();
    for key in [trombone.keys.0, 40, 53, 58, 70, trombone.keys.1] {
        let off = off(&font, trombone, note(key, Shade::Loud, -6.0));
        assert!(off.abs() < 2.0, "{key}: {off:.2}");
    }
}

#[test]
fn gaps_between_its_samples_are_said() {
    let zones = vec![zone((0, 45), -3.0), zone((60, 127), -3.0)];
    let font = read(&sound_font("gap", &[preset(57, zones)])).unwrap();
    let gap =
        |n: &FontNote| matches!(n, FontNote::Silent { tone: "trombone", notes } if *notes > 0);
    assert!(font.notes.iter().any(gap), "{:?}", font.notes);
}

#[test]
fn what_is_far_too_soft_is_said() {
    let font = read(&sound_font(
        "soft",
        &[preset(57, vec![zone((0, 127), -35.0)])],
    ))
    .unwrap();
    let soft = |n: &FontNote| matches!(n, FontNote::OffLevel { tone: "trombone" });
    assert!(font.notes.iter().any(soft), "{:?}", font.notes);
    let add = font
        .calibration
        .add_db(tone("trombone").unwrap(), Shade::Middle, 50);
    assert_eq!(add, 24.0);
}

#[test]
fn wood_blocks_of_a_font_tick() {
    let mut drums = preset(0, vec![]);
    drums.bank = 128;
    for key in [TICK_FIRST, TICK_OTHER] {
        drums.zones.push(zone((key, key), -10.0));
    }
    let font = read(&sound_font(
        "blocks",
        &[preset(0, vec![zone((0, 127), 0.0)]), drums],
    ))
    .unwrap();
    assert!(!font.notes.contains(&FontNote::BuiltInTick));
    assert!(font.calibration.tick_db() != 0.0);
}

#[test]
fn a_font_of_drums_alone_is_refused() {
    let mut drums = preset(0, vec![zone((0, 127), 0.0)]);
    drums.bank = 128;
    assert_eq!(
        read(&sound_font("drums", &[drums])).unwrap_err(),
        FontError::Empty
    );
}

/// Makes the first zone of every instrument one that holds for all its zones: it points to no sample any more.
fn with_common_zones(mut bytes: Vec<u8>) -> Vec<u8> {
    let table = |bytes: &[u8], name: &[u8; 4]| bytes.windows(4).rposition(|w| w == name).unwrap();
    let [heads, bags, generators] = [b"inst", b"ibag", b"igen"].map(|n| table(&bytes, n) + 8);
    let word =
        |bytes: &[u8], at: usize| usize::from(u16::from_le_bytes([bytes[at], bytes[at + 1]]));
    let many = (bags - 8 - heads) / 22 - 1;
    for instrument in 0..many {
        let bag = word(&bytes, heads + 22 * instrument + 20);
        let next = word(&bytes, bags + 4 * (bag + 1));
        let pointer = generators + 4 * (next - 1);
        assert_eq!(word(&bytes, pointer), 53);
        bytes[pointer] = 59;
    }
    bytes
}

#[test]
fn what_is_too_much_for_one_font_is_built_in_and_all_is_at_its_level() {
    let mut programs: Vec<u8> = tones().map(|t| t.program).collect();
    programs.sort_unstable();
    programs.dedup();
    // Two samples to each key, all with the settings of a common zone.
    let many = |program: u8| {
        let mut common = zone((0, 127), 0.0);
        common.generators = [
            (Generator::Attack, -8000),
            (Generator::Release, -3000),
            (Generator::Filter, 13_000),
            (Generator::EnvelopeToFilter, 1),
            (Generator::VibratoToPitch, 1),
            (Generator::VibratoDelay, -8000),
            (Generator::VibratoRate, 1),
            (Generator::FilterAttack, -8000),
            (Generator::FilterRelease, -8000),
        ]
        .to_vec();
        let one = |key: u8| {
            let mut zone = zone((key / 2, key / 2), -12.0);
            zone.generators.clear();
            zone
        };
        let zones = std::iter::once(common).chain((0..=255).map(one));
        preset(program, zones.collect())
    };
    let presets: Vec<Preset> = programs.into_iter().map(many).collect();
    let font = read(&with_common_zones(sound_font("many", &presets))).unwrap();
    let too_many = |n: &&FontNote| matches!(n, FontNote::TooMany { .. });
    let count = font.notes.iter().filter(too_many).count();
    assert!(0 < count && count < tones().count(), "{:?}", font.notes);
    for tone in tones() {
        let key = tone.keys.0 / 2 + tone.keys.1 / 2;
        let off = off(&font, tone, note(key, Shade::Middle, -6.0));
        assert!(off.abs() < 2.0, "{}: {off:.2}", tone.name);
    }
}
