//! How a zone is played: its generators, those of the preset added to those of the instrument, each within the
//! bounds of the specification.
//!
//! Bounds and defaults: E-mu Systems and Creative Technology, SoundFont Technical Specification 2.01, 1998, section
//! 8.1.3 (MEM). What lies beyond would make a synthesizer's filters unstable.

use super::tables::Generators;
use crate::sound::sound_font::MODE;
use std::collections::BTreeMap;

/// Numbers of generators that are looked at one by one.
pub(super) const VELOCITIES: u16 = 44;
pub(super) const ATTENUATION: u16 = 48;
const ROOT: u16 = 58;
/// Pitch that is added at most: by vibrato, by the other oscillator, by the second envelope.
const TO_PITCH: [u16; 3] = [5, 6, 7];
const COARSE: u16 = 51;
const FINE: u16 = 52;
const SCALE: u16 = 56;

/// A generator whose values of preset and instrument are added.
struct Added {
    number: u16,
    least: i16,
    most: i16,
    default: i16,
}

const fn added(number: u16, least: i16, most: i16, default: i16) -> Added {
    Added {
        number,
        least,
        most,
        default,
    }
}

const ADDED: [Added; 35] = [
    added(5, -12_000, 12_000, 0),
    added(6, -12_000, 12_000, 0),
    added(7, -12_000, 12_000, 0),
    added(8, 1_500, 13_500, 13_500),
    added(9, 0, 960, 0),
    added(10, -12_000, 12_000, 0),
    added(11, -12_000, 12_000, 0),
    added(13, -960, 960, 0),
    added(15, 0, 1_000, 0),
    added(16, 0, 1_000, 0),
    added(17, -500, 500, 0),
    added(21, -12_000, 5_000, -12_000),
    added(22, -16_000, 4_500, 0),
    added(23, -12_000, 5_000, -12_000),
    added(24, -16_000, 4_500, 0),
    added(25, -12_000, 5_000, -12_000),
    added(26, -12_000, 8_000, -12_000),
    added(27, -12_000, 5_000, -12_000),
    added(28, -12_000, 8_000, -12_000),
    added(29, 0, 1_000, 0),
    added(30, -12_000, 8_000, -12_000),
    added(31, -1_200, 1_200, 0),
    added(32, -1_200, 1_200, 0),
    added(33, -12_000, 5_000, -12_000),
    added(34, -12_000, 8_000, -12_000),
    added(35, -12_000, 5_000, -12_000),
    added(36, -12_000, 8_000, -12_000),
    added(37, 0, 1_440, 0),
    added(38, -12_000, 8_000, -12_000),
    added(39, -1_200, 1_200, 0),
    added(40, -1_200, 1_200, 0),
    added(ATTENUATION, 0, 1_440, 0),
    added(COARSE, -120, 120, 0),
    added(FINE, -99, 99, 0),
    added(SCALE, 0, 1_200, 100),
];

/// Generators that places of a sample are moved by, in the order of its places: by so many samples, and by so many
/// times 32,768.
const MOVES: [(u16, u16); 4] = [(0, 4), (1, 12), (2, 45), (3, 50)];

/// Whether a sample is played again and again.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Mode {
    Once,
    Looped,
    LoopedToEnd,
}

impl Mode {
    pub(super) const fn number(self) -> i16 {
        match self {
            Self::Once => 0,
            Self::Looped => 1,
            Self::LoopedToEnd => 3,
        }
    }
}

/// What a zone sets, those of all zones together where it sets nothing itself.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Settings(BTreeMap<u16, i16>);

impl Settings {
    pub(super) fn of(all: Generators, own: Generators) -> Self {
        Self(all.iter().chain(own).copied().collect())
    }

    pub(super) fn get(&self, number: u16) -> Option<i16> {
        self.0.get(&number).copied()
    }

    /// From where to where keys or velocities go.
    pub(super) fn range(&self, number: u16) -> (u8, u8) {
        self.get(number).map_or((0, 127), |v| {
            let [low, high] = v.to_le_bytes();
            (low, high.min(127))
        })
    }

    pub(super) fn mode(&self) -> Mode {
        match self.get(MODE) {
            Some(1) => Mode::Looped,
            Some(3) => Mode::LoopedToEnd,
            _ => Mode::Once,
        }
    }

    /// The key that the sample has by itself, if it is not that of the sample.
    pub(super) fn root(&self) -> Option<u8> {
        let root = self.get(ROOT).and_then(|r| u8::try_from(r).ok());
        root.filter(|r| *r < 128)
    }

    /// By how many samples each place of a sample is moved.
    pub(super) fn moves(&self) -> [i64; 4] {
        MOVES.map(|(fine, coarse)| {
            let value = |number| i64::from(self.get(number).unwrap_or(0));
            value(fine) + 32_768 * value(coarse)
        })
    }
}

/// The generators of a preset's zone and an instrument's together, without those that are as by default.
pub(super) fn together(preset: &Settings, instrument: &Settings) -> Vec<(u16, i16)> {
    let one = |a: &Added| {
        let own = i32::from(instrument.get(a.number).unwrap_or(a.default));
        let sum = own + i32::from(preset.get(a.number).unwrap_or(0));
        let value = sum.clamp(i32::from(a.least), i32::from(a.most));
        (a.number, value as i16, a.default)
    };
    let all = ADDED.iter().map(one);
    all.filter(|(_, value, default)| value != default)
        .map(|(number, value, _)| (number, value))
        .collect()
}

/// How much higher than by itself a sample is played at a key at most, as a ratio, when its root's pitch is
/// corrected by so many cents.
pub(super) fn highest_ratio(set: &[(u16, i16)], root: u8, correction: i8, keys: (u8, u8)) -> f64 {
    let value = |number: u16, default: i16| {
        let found = set.iter().find(|(n, _)| *n == number);
        f64::from(found.map_or(default, |(_, v)| *v))
    };
    let swing: f64 = TO_PITCH.map(|n| value(n, 0).abs()).iter().sum();
    let tune = 100.0 * value(COARSE, 0) + value(FINE, 0) + f64::from(correction);
    let at = |key: u8| {
        let away = f64::from(key) - f64::from(root);
        value(SCALE, 100) * (away + swing / 100.0) + tune
    };
    (at(keys.0).max(at(keys.1)) / 1200.0).exp2()
}

#[cfg(test)]
mod tests {
    use super::{ADDED, Settings, highest_ratio, together};
    use proptest::prelude::*;

    fn settings(set: &[(u16, i16)]) -> Settings {
        Settings::of(&[], set)
    }

    #[test]
    fn preset_and_instrument_add_up_and_what_is_as_by_default_is_left_out() {
        let preset = settings(&[(48, 30), (17, -100), (8, -500), (34, 12_000)]);
        let instrument = settings(&[(48, 20), (17, 100), (52, 5), (99, 1)]);
        let set = together(&preset, &instrument);
        assert_eq!(set, [(8, 13_000), (34, 0), (48, 50), (52, 5)]);
    }

    #[test]
    fn a_zone_s_own_settings_go_before_those_of_all() {
        let own = Settings::of(&[(48, 10), (54, 1)], &[(48, 20)]);
        assert_eq!(
            (own.get(48), own.get(54), own.get(1)),
            (Some(20), Some(1), None)
        );
    }

    #[test]
    fn a_sample_an_octave_above_its_root_is_twice_as_fast() {
        let ratio = |set: &[(u16, i16)], keys| highest_ratio(set, 60, 0, keys);
        assert!((ratio(&[], (60, 72)) - 2.0).abs() < 1e-9);
        assert!((ratio(&[(51, 12)], (60, 72)) - 4.0).abs() < 1e-9);
        assert!((ratio(&[(56, 0)], (0, 127)) - 1.0).abs() < 1e-9);
        // An octave of vibrato, downwards or upwards.
        assert!((ratio(&[(6, -1200)], (60, 72)) - 4.0).abs() < 1e-9);
        assert!((highest_ratio(&[], 60, 50, (60, 60)) - (50.0_f64 / 1200.0).exp2()).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn all_are_within_the_bounds(
            preset in prop::collection::vec((0..61_u16, any::<i16>()), 0..20),
            instrument in prop::collection::vec((0..61_u16, any::<i16>()), 0..20)
        ) {
            for (number, value) in together(&settings(&preset), &settings(&instrument)) {
                let bounds = ADDED.iter().find(|a| a.number == number).unwrap();
                prop_assert!(bounds.least <= value && value <= bounds.most);
            }
        }
    }
}
