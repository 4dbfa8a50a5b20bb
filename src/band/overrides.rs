//! What a director knows better of the own players than the tables do: values of an instrument
//! that hold for one band.

use super::instrument::{Instrument, LevelRange, WrittenRange};
use super::instruments::find_instrument;
use super::level::Level;
use super::people::Section;
use super::playing::{ByLevel, TroubleSpot};
use crate::music::Written;
use std::collections::BTreeMap;
use std::sync::Arc;
use thiserror::Error;

/// Values of an instrument that take the place of the tables' for one band.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Override {
    /// The instrument's id.
    pub instrument: String,
    /// The level that it is about; `None` for all levels alike.
    pub level: Option<Level>,
    /// What may be relied on, as the player reads it.
    pub comfortable: Option<WrittenRange>,
    /// What can be reached.
    pub stretch: Option<WrittenRange>,
    /// Notes a second on one pitch.
    pub repeated: Option<f64>,
    /// Notes a second, slurred.
    pub slurred: Option<f64>,
    /// Notes a second, tongued.
    pub tongued: Option<f64>,
    /// The largest safe leap, semitones (not that of clarinets over the break).
    pub leap: Option<u8>,
    /// The longest steady note, mf, seated, in seconds.
    pub breath: Option<f64>,
    /// Trouble spots that these players do not have: those that hold one of these notes.
    pub drop_trouble: Vec<Written>,
    /// Trouble spots of these players' own.
    pub add_trouble: Vec<TroubleSpot>,
    /// Why; free text.
    pub why: String,
}

/// Why an override cannot be.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("{text}")]
pub struct OverrideError {
    /// The override at fault, an index into those that were given.
    pub index: usize,
    /// Its key at fault.
    pub key: &'static str,
    /// What is wrong and what to do.
    pub text: String,
}

/// A value by level, as far as an override changes it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Value {
    Comfortable,
    Stretch,
    Repeated,
    Slurred,
    Tongued,
    Leap,
    Breath,
}

impl Value {
    const NUMBERS: [Self; 5] = [
        Self::Repeated,
        Self::Slurred,
        Self::Tongued,
        Self::Leap,
        Self::Breath,
    ];

    const fn key(self) -> &'static str {
        match self {
            Self::Comfortable => "comfortable",
            Self::Stretch => "stretch",
            Self::Repeated => "repeated",
            Self::Slurred => "slurred",
            Self::Tongued => "tongued",
            Self::Leap => "leap",
            Self::Breath => "breath",
        }
    }

    /// The number at each level; `None` where the instrument has none, or for ranges.
    fn numbers(self, of: &Instrument) -> Option<[f64; 5]> {
        let playing = &of.playing;
        Some(match self {
            Self::Repeated => playing.speeds.repeated.0,
            Self::Slurred => playing.speeds.slurred.0,
            Self::Tongued => playing.speeds.tongued.0,
            Self::Leap => playing.leaps?.semitones.0.map(f64::from),
            Self::Breath => playing.breath?.seconds.0,
            Self::Comfortable | Self::Stretch => return None,
        })
    }
}

impl Override {
    fn is_about(&self, level: Level) -> bool {
        self.level.is_none_or(|l| l == level)
    }

    const fn has(&self, value: Value) -> bool {
        match value {
            Value::Comfortable => self.comfortable.is_some(),
            Value::Stretch => self.stretch.is_some(),
            Value::Repeated => self.repeated.is_some(),
            Value::Slurred => self.slurred.is_some(),
            Value::Tongued => self.tongued.is_some(),
            Value::Leap => self.leap.is_some(),
            Value::Breath => self.breath.is_some(),
        }
    }

    /// Puts the values into an instrument; what is not there (the breath of a vibraphone) stays away.
    fn put(&self, into: &mut Instrument) {
        for level in Level::ALL.into_iter().filter(|l| self.is_about(*l)) {
            let at = level.index();
            put(&mut into.levels[at].comfortable, self.comfortable);
            put(&mut into.levels[at].stretch, self.stretch);
            let playing = &mut into.playing;
            put(&mut playing.speeds.repeated.0[at], self.repeated);
            put(&mut playing.speeds.slurred.0[at], self.slurred);
            put(&mut playing.speeds.tongued.0[at], self.tongued);
            if let Some(leaps) = &mut playing.leaps {
                put(&mut leaps.semitones.0[at], self.leap);
            }
            if let Some(breath) = &mut playing.breath {
                put(&mut breath.seconds.0[at], self.breath);
            }
        }
        let trouble = &mut into.playing.trouble;
        trouble.retain(|spot| !self.drop_trouble.iter().any(|note| spot.holds(*note)));
        trouble.extend(self.add_trouble.iter().cloned());
        trouble.sort_by_key(|spot| spot.low);
    }
}

fn put<T: Copy>(place: &mut T, value: Option<T>) {
    if let Some(value) = value {
        *place = value;
    }
}

/// The instruments that a band has its own values of.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct OwnInstruments(BTreeMap<String, Arc<Instrument>>);

impl OwnInstruments {
    /// The band's own copy of an instrument, or the instrument as it is.
    #[must_use]
    pub fn of(&self, instrument: &Arc<Instrument>) -> Arc<Instrument> {
        let own = self.0.get(&instrument.id);
        Arc::clone(own.unwrap_or(instrument))
    }

    /// Gives sections, and what their players double, the band's own instruments.
    pub fn give(&self, sections: &mut [Section]) {
        for section in sections {
            section.instrument = self.of(&section.instrument);
            let seats = section.seats.iter_mut().map(|s| &mut s.remarks);
            for remarks in seats.chain([&mut section.remarks]) {
                if let Some(second) = &mut remarks.doubles {
                    *second = self.of(second);
                }
            }
        }
    }
}

/// Instruments with overrides put in, in their order: of two that speak of the same value, the later
/// one holds.
///
/// # Errors
/// Where an instrument is not known or lacks what is overridden, a range does not lie in the next
/// wider one, or a level would be able to do less than a weaker one.
pub fn own_instruments(overrides: &[Override]) -> Result<OwnInstruments, OverrideError> {
    let mut own = BTreeMap::new();
    for (index, one) in overrides.iter().enumerate() {
        let id = &one.instrument;
        let base = find_instrument(id).ok_or_else(|| OverrideError {
            index,
            key: "instrument",
            text: format!("unknown instrument `{id}`"),
        })?;
        let mine = own
            .entry(id.clone())
            .or_insert_with(|| Instrument::clone(&base));
        lacking(one, mine).map_err(|(key, text)| OverrideError { index, key, text })?;
        one.put(mine);
    }
    for instrument in own.values() {
        check(instrument, overrides)?;
    }
    let shared = own.into_iter().map(|(id, one)| (id, Arc::new(one)));
    Ok(OwnInstruments(shared.collect()))
}

/// What an override speaks of that the instrument does not have.
fn lacking(one: &Override, instrument: &Instrument) -> Result<(), (&'static str, String)> {
    let name = &instrument.name;
    if one.breath.is_some() && instrument.playing.breath.is_none() {
        return Err(("breath", format!("nobody breathes through {name}")));
    }
    if one.leap.is_some() && instrument.playing.leaps.is_none() {
        return Err(("leap", format!("leaps are all alike on {name}")));
    }
    let spots = &instrument.playing.trouble;
    let known = |note: &Written| spots.iter().any(|s| s.holds(*note));
    if let Some(note) = one.drop_trouble.iter().find(|n| !known(n)) {
        let none = format!("no trouble spot of {name} holds {note}");
        return Err(("drop_trouble", none));
    }
    let widest = instrument.professional;
    let inside = |s: &TroubleSpot| widest.low <= s.low && s.high <= widest.high;
    if let Some(spot) = one.add_trouble.iter().find(|s| !inside(s)) {
        let out = format!(
            "{} to {} is out of the professional range of {name}, {} to {}",
            spot.low, spot.high, widest.low, widest.high
        );
        return Err(("add_trouble", out));
    }
    let by_level = !one.drop_trouble.is_empty() || !one.add_trouble.is_empty();
    if one.level.is_some() && by_level {
        let all = "trouble spots hold for all levels; write them without `level`";
        return Err(("level", all.to_owned()));
    }
    Ok(())
}

/// Holds an instrument with its overrides against itself.
fn check(instrument: &Instrument, overrides: &[Override]) -> Result<(), OverrideError> {
    let neighbours = Level::ALL.into_iter().zip(Level::ALL.into_iter().skip(1));
    for level in Level::ALL {
        ranges(instrument, level).map_or(Ok(()), |f| f.blame(instrument, overrides))?;
    }
    for (weaker, stronger) in neighbours {
        order(instrument, weaker, stronger).map_or(Ok(()), |f| f.blame(instrument, overrides))?;
    }
    Ok(())
}

/// What does not fit, between which values and levels.
struct Fault {
    values: Vec<Value>,
    levels: Vec<Level>,
    text: String,
}

impl Fault {
    /// The last override that had a hand in it. What nobody overrode is as the tables have it, and
    /// those are in order.
    fn blame(self, instrument: &Instrument, overrides: &[Override]) -> Result<(), OverrideError> {
        let mut last_first = overrides.iter().enumerate().rev();
        let found = last_first.find_map(|(index, o)| {
            let about = o.instrument == instrument.id && self.levels.iter().any(|l| o.is_about(*l));
            let value = self.values.iter().find(|v| o.has(**v));
            value.filter(|_| about).map(|v| (index, v.key()))
        });
        let text = self.text;
        found.map_or(Ok(()), |(index, key)| {
            Err(OverrideError { index, key, text })
        })
    }
}

/// Whether a level's ranges lie in one another.
fn ranges(instrument: &Instrument, level: Level) -> Option<Fault> {
    let LevelRange {
        comfortable,
        stretch,
    } = instrument.range(level);
    let widest = instrument.professional;
    let (values, text) = if !inside(stretch, widest) {
        let text = format!("stretch {stretch} is not within the professional range, {widest}");
        (vec![Value::Stretch], text)
    } else if !inside(comfortable, stretch) {
        let text =
            format!("comfortable {comfortable} of {level} players is not within stretch {stretch}");
        (vec![Value::Comfortable, Value::Stretch], text)
    } else {
        return None;
    };
    Some(Fault {
        values,
        levels: vec![level],
        text,
    })
}

/// Whether a level can do all that the weaker one can.
fn order(instrument: &Instrument, weaker: Level, stronger: Level) -> Option<Fault> {
    let [a, b] = [weaker, stronger].map(|l| instrument.range(l));
    let ranges = [
        (Value::Comfortable, a.comfortable, b.comfortable),
        (Value::Stretch, a.stretch, b.stretch),
    ];
    let narrower = ranges.into_iter().find(|(_, a, b)| !inside(*a, *b));
    let less = Value::NUMBERS.into_iter().find_map(|value| {
        let numbers = ByLevel(value.numbers(instrument)?);
        let (a, b) = (numbers.at(weaker), numbers.at(stronger));
        (b < a).then_some((value, a, b))
    });
    let both = "write both levels, or no `level` to mean all";
    let (value, text) = match (narrower, less) {
        (Some((value, a, b)), _) => {
            let key = value.key();
            let text = format!(
                "{key} {b} of {stronger} players does not hold {a} of {weaker} players; {both}"
            );
            (value, text)
        }
        (None, Some((value, a, b))) => {
            let key = value.key();
            let text = format!(
                "{key} {b} of {stronger} players is less than {a} of {weaker} players; {both}"
            );
            (value, text)
        }
        (None, None) => return None,
    };
    Some(Fault {
        values: vec![value],
        levels: vec![weaker, stronger],
        text,
    })
}

fn inside(inner: WrittenRange, outer: WrittenRange) -> bool {
    outer.low <= inner.low && inner.high <= outer.high
}
