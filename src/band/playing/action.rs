//! How an instrument makes its notes: by valves, a slide, keys, or otherwise
//! (`presets/playing/actions.toml`).

use super::horn::{HornSide, horn_fingering};
use super::intonation::ValveLengths;
use super::rows::{self, For};
use super::slide::{self, Reach};
use super::valves::ValveReading;
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::music::{Interval, Written};
use serde::Deserialize;
use std::sync::OnceLock;

const NAME: &str = "actions.toml";
const TABLE: &str = include_str!("../../../presets/playing/actions.toml");

/// How an instrument makes its notes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Action {
    /// Three or four valves.
    Valves(ValveReading),
    /// A horn with an F and a B flat side.
    DoubleHorn,
    /// A slide, with or without an F attachment.
    Slide {
        /// Whether it has an F attachment.
        trigger: bool,
    },
    /// Keys and finger holes. Nothing is computed: cents of woodwinds follow from no such simple rule.
    Keys,
    /// Bars, drumheads, strings, keyboards.
    Other,
}

#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    action: Vec<For<Row>>,
}

#[derive(Clone, Deserialize)]
struct Row {
    action: Word,
    /// Semitones up to the treble-clef note of `valves.toml`.
    #[serde(default)]
    reads: i16,
    #[serde(default)]
    fourth_valve: bool,
    #[serde(default)]
    trigger: bool,
    #[serde(rename = "source")]
    _source: String,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Word {
    Valves,
    DoubleHorn,
    Slide,
    Keys,
    Other,
}

pub(super) fn of(id: &str) -> Result<Action, TableError> {
    static READ: OnceLock<Result<Table, TableError>> = OnceLock::new();
    let table = rows::cached(&READ, || rows::read::<Table>(NAME, TABLE))?;
    let row = rows::row_of(&table.action, id)
        .ok_or_else(|| TableError(format!("{NAME}: nothing of `{id}`")))?;
    Ok(match row.action {
        Word::Valves => Action::Valves(ValveReading {
            up: Interval(row.reads),
            fourth: row.fourth_valve,
        }),
        Word::DoubleHorn => Action::DoubleHorn,
        Word::Slide => Action::Slide {
            trigger: row.trigger,
        },
        Word::Keys => Action::Keys,
        Word::Other => Action::Other,
    })
}

impl Action {
    /// Cents against equal temperament of the usual fingering or position (positive: sharp), before
    /// slides, lip or hand mend it; each valve by itself is taken to be in tune. `None` where there is
    /// nothing to compute.
    ///
    /// ```
    /// use bandwright::band::find_instrument;
    /// let trumpet = find_instrument("trumpet").unwrap();
    /// let low_f_sharp = trumpet.playing.action.cents("F#3".parse().unwrap()).unwrap();
    /// assert!((low_f_sharp - 53.56).abs() < 0.01);
    /// ```
    #[must_use]
    pub fn cents(&self, written: Written) -> Option<f64> {
        let lengths = ValveLengths::each_in_tune;
        match *self {
            Self::Valves(reading) => reading.fingering(written).map(|f| f.cents(lengths())),
            Self::DoubleHorn => horn_fingering(written).map(|f| f.cents(lengths())),
            Self::Slide { trigger } => {
                slide::usual_place(trigger, written).map(slide::SlidePlace::cents)
            }
            Self::Keys | Self::Other => None,
        }
    }

    /// The partial that the usual fingering or position plays; `None` where nothing is known.
    #[must_use]
    pub fn partial(&self, written: Written) -> Option<u8> {
        match *self {
            Self::Valves(reading) => reading.fingering(written).map(|f| f.partial),
            Self::DoubleHorn => horn_fingering(written).map(|f| f.partial),
            Self::Slide { trigger } => slide::usual_place(trigger, written).map(|p| p.partial),
            Self::Keys | Self::Other => None,
        }
    }

    /// The usual fingering or position in words, such as `valves 1-3`, `position 6`, `T12`; `None`
    /// where not known.
    #[must_use]
    pub fn fingering(&self, written: Written) -> Option<String> {
        match *self {
            Self::Valves(reading) => reading
                .fingering(written)
                .map(|f| valve_words(&f.valves.to_string())),
            Self::DoubleHorn => horn_fingering(written).map(|f| {
                let valves = f.valves.to_string();
                match f.side {
                    HornSide::F => valve_words(&valves),
                    HornSide::BFlat if valves == "open" => "T0".to_owned(),
                    HornSide::BFlat => format!("T{}", valves.replace('-', "")),
                }
            }),
            Self::Slide { trigger } => {
                slide::usual_place(trigger, written).map(|p| p.words.clone())
            }
            Self::Keys | Self::Other => None,
        }
    }

    /// Least slide travel in positions between two notes with the positions that a level uses;
    /// `None` without a slide or out of the table.
    #[must_use]
    pub fn travel(&self, from: Written, to: Written, level: Level) -> Option<f64> {
        match *self {
            Self::Slide { trigger } => slide::travel(trigger, from, to, level),
            _ => None,
        }
    }

    /// How far out the note lies for a level; safe wherever nothing has to be reached.
    #[must_use]
    pub fn reach(&self, written: Written, level: Level) -> Reach {
        match *self {
            Self::Slide { trigger } => slide::reach(trigger, written, level),
            _ => Reach::Safe,
        }
    }
}

fn valve_words(valves: &str) -> String {
    match valves {
        "open" => valves.to_owned(),
        one if one.len() == 1 => format!("valve {one}"),
        more => format!("valves {more}"),
    }
}
