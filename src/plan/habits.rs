//! Usual ways of scoring a passage, read from `presets/scoring-habits.toml`.

use crate::band::{Choir, Part};
use serde::Deserialize;

/// How intense a passage is wanted, in five steps.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Strength {
    /// 0 to 2.
    Hush,
    /// 3 and 4.
    Soft,
    /// 5 and 6.
    Middle,
    /// 7 and 8.
    Strong,
    /// 9 and 10.
    Peak,
}

impl Strength {
    /// The step of an intensity of 0 to 10.
    #[must_use]
    pub fn of(intensity: f64) -> Self {
        match intensity {
            i if i < 2.5 => Self::Hush,
            i if i < 4.5 => Self::Soft,
            i if i < 6.5 => Self::Middle,
            i if i < 8.5 => Self::Strong,
            _ => Self::Peak,
        }
    }

    /// Steps between two strengths.
    #[must_use]
    pub fn distance(self, other: Self) -> u8 {
        (self as u8).abs_diff(other as u8)
    }
}

/// Some parts of a band: `clarinet_bb:2+`, `flutes@+1`.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
#[serde(try_from = "String")]
pub struct Who {
    name: String,
    ranks: Ranks,
    /// Octaves above the sketch's line.
    pub octave: i16,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Ranks {
    All,
    First,
    Lower,
}

impl TryFrom<String> for Who {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        let (rest, octave) = match text.split_once('@') {
            Some((rest, octaves)) => (
                rest,
                octaves.parse().map_err(|_| format!("`{text}`: octave"))?,
            ),
            None => (text.as_str(), 0),
        };
        let (name, ranks) = match rest.split_once(':') {
            None => (rest, Ranks::All),
            Some((name, "1")) => (name, Ranks::First),
            Some((name, "2+")) => (name, Ranks::Lower),
            Some(_) => return Err(format!("`{text}`: which parts?")),
        };
        Ok(Self {
            name: name.to_owned(),
            ranks,
            octave,
        })
    }
}

impl Who {
    /// Whether a part is meant.
    #[must_use]
    pub fn means(&self, part: &Part) -> bool {
        let rank = match self.ranks {
            Ranks::All => true,
            Ranks::First => part.rank == 1,
            Ranks::Lower => part.rank > 1,
        };
        rank && (self.name == part.instrument.id
            || self.name == choir_word(part.instrument.choir) && part.instrument.id != "timpani"
            || self.name == "winds" && part.instrument.wind)
    }
}

fn choir_word(choir: Choir) -> &'static str {
    match choir {
        Choir::Flutes => "flutes",
        Choir::Clarinets => "clarinets",
        Choir::Saxophones => "saxophones",
        Choir::LowReeds => "low_reeds",
        Choir::Trumpets => "trumpets",
        Choir::Horns => "horns",
        Choir::Trombones => "trombones",
        Choir::Euphoniums => "euphoniums",
        Choir::Basses => "basses",
        Choir::Mallets => "mallets",
    }
}

/// A way of scoring a passage.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Way {
    /// What it does, in words.
    pub name: String,
    /// For which intensity it is usual.
    pub intensity: Strength,
    /// Who carries the tune.
    pub melody: Vec<Who>,
    /// Who carries the second tune.
    pub counterline: Vec<Who>,
    /// Who fills the chord.
    pub harmony: Vec<Who>,
    /// Who carries the bass.
    pub bass: Vec<Who>,
    /// Who plays the sketch's pattern.
    pub figure: Vec<Who>,
}

#[derive(Deserialize)]
struct Habits {
    way: Vec<Way>,
}

/// The usual ways that come with the program.
///
/// # Errors
/// What is wrong with the compiled-in table; a test proves that it reads.
pub fn usual_ways() -> Result<Vec<Way>, toml::de::Error> {
    let habits: Habits = toml::from_str(include_str!("../../presets/scoring-habits.toml"))?;
    Ok(habits.way)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_reads_and_covers_every_strength() {
        let ways = usual_ways().unwrap();
        for strength in [
            Strength::Hush,
            Strength::Soft,
            Strength::Middle,
            Strength::Strong,
            Strength::Peak,
        ] {
            assert!(ways.iter().any(|w| w.intensity == strength), "{strength:?}");
        }
        assert!(Who::try_from("flute:3".to_owned()).is_err());
    }
}
