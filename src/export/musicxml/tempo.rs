//! Tempos: which are printed, as which beat, and how fast they are played.

use super::xml::Xml;
use crate::music::{Meter, Tick};
use crate::notation::{Base, Grains, Value};
use crate::sketch::Song;

/// A change of less than so much of what was printed last is played and not printed (ours: a player who follows
/// a printed number would not hear it).
const PRINTED_FROM: f64 = 0.05;

/// A tempo from a place on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct TempoMark {
    pub(super) at: Tick,
    micros: u32,
    /// The meter, whose beat is counted.
    meter: Meter,
    pub(super) printed: bool,
}

/// The tempos that a song gives. One that holds for less than a bar before the next is played and not printed (ours:
/// a played song has one for every beat).
pub(super) fn tempo_marks(song: &Song) -> Vec<TempoMark> {
    let given = song.tempo.given();
    let mut marks: Vec<TempoMark> = Vec::with_capacity(given.len());
    let mut shown: Option<u32> = None;
    for (i, change) in given.iter().enumerate() {
        let meter = song.meters.meter(change.at);
        let bar = meter.bar(song.quarter);
        let holds = given
            .get(i + 1)
            .is_none_or(|next| next.at.since(change.at) >= bar);
        let other = shown.is_none_or(|shown| {
            let (now, then) = (f64::from(change.micros_per_quarter), f64::from(shown));
            (then / now - 1.0).abs() >= PRINTED_FROM
        });
        let printed = shown.is_none() || (holds && other);
        if printed {
            shown = Some(change.micros_per_quarter);
        }
        marks.push(TempoMark {
            at: change.at,
            micros: change.micros_per_quarter,
            meter,
            printed,
        });
    }
    marks
}

impl TempoMark {
    /// Quarters a minute, with as many decimals as tell the tempo exactly.
    pub(super) fn played(self) -> String {
        let quarters = 60e6 / f64::from(self.micros.max(1));
        let tells = |text: &String| {
            let back = text
                .parse::<f64>()
                .map(|quarters| (60e6 / quarters).round());
            back == Ok(f64::from(self.micros))
        };
        let texts = (0..=12).map(|decimals| format!("{quarters:.decimals$}"));
        texts
            .into_iter()
            .find(tells)
            .unwrap_or_else(|| quarters.to_string())
    }

    /// Writes the beat and how many of them a minute has, to the nearest half.
    pub(super) fn metronome(self, xml: &mut Xml) {
        let beat = beat(self.meter);
        let quarters = 60e6 / f64::from(self.micros.max(1));
        let beats = quarters * f64::from(Grains::QUARTER.0) / f64::from(beat.grains().0.max(1));
        let halves = (2.0 * beats).round() / 2.0;
        xml.inside("metronome", &[], |xml| {
            xml.text("beat-unit", beat.base.word());
            for _ in 0..beat.dots {
                xml.empty("beat-unit-dot", &[]);
            }
            xml.text("per-minute", &halves.to_string());
        });
    }
}

/// The beat that is counted: the meter's, a dotted value in compound time.
fn beat(meter: Meter) -> Value {
    let unit = Grains(Grains::WHOLE.0 / u32::from(meter.denominator()));
    let beat = if meter.is_compound() {
        Grains(3 * unit.0)
    } else {
        unit
    };
    Value::exactly(beat).unwrap_or(Value::plain(Base::Quarter))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_beat_is_the_meters() {
        let of = |top, power| beat(Meter::new(top, power).unwrap()).words();
        assert_eq!(of(4, 2), "quarter");
        assert_eq!(of(2, 1), "half");
        assert_eq!(of(6, 3), "dotted quarter");
        assert_eq!(of(3, 3), "eighth");
    }

    #[test]
    fn a_tempo_is_told_exactly_and_no_longer_than_need_be() {
        let of = |micros| {
            let mark = TempoMark {
                at: Tick::ZERO,
                micros,
                meter: Meter::COMMON,
                printed: true,
            };
            mark.played()
        };
        assert_eq!(of(500_000), "120");
        assert_eq!(of(625_000), "96");
        assert_eq!(of(545_455), "110");
        for micros in [1, 7, 333_333, 454_545, 499_999, 16_777_215] {
            let told: f64 = of(micros).parse().unwrap();
            assert!((60e6 / told - f64::from(micros)).abs() < 0.5, "{micros}");
        }
    }
}
