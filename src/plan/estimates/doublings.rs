//! Instruments that usually double each other well (`presets/usual-doublings.toml`).

use crate::band::{Band, PartId, TableError};
use crate::plan::habits::{Strength, Who};
use crate::plan::solve::PartRole;
use crate::score::Role;
use serde::Deserialize;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../presets/usual-doublings.toml");

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    pair: Vec<Row>,
}

/// Two kinds of instruments that double each other well on some lines.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    one: Vec<Who>,
    other: Vec<Who>,
    /// How far `one` is wished above `other`; not given: as it comes.
    octaves: Option<i16>,
    roles: Vec<LineWord>,
    /// From which strength on it is usual.
    #[serde(default)]
    from: Option<Strength>,
    #[serde(rename = "source")]
    _source: String,
}

/// A role of the table.
#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "snake_case")]
enum LineWord {
    Melody,
    Counterline,
    Harmony,
    Bass,
    Figure,
}

impl From<LineWord> for Role {
    fn from(word: LineWord) -> Self {
        match word {
            LineWord::Melody => Self::Melody,
            LineWord::Counterline => Self::Counterline,
            LineWord::Harmony => Self::Harmony,
            LineWord::Bass => Self::Bass,
            LineWord::Figure => Self::Figure,
        }
    }
}

fn rows() -> Result<&'static [Row], TableError> {
    static READ: OnceLock<Result<Vec<Row>, TableError>> = OnceLock::new();
    let read = READ.get_or_init(|| {
        let table: Table =
            toml::from_str(TABLE).map_err(|e| TableError(format!("usual-doublings.toml: {e}")))?;
        Ok(table.pair)
    });
    read.as_ref().map(Vec::as_slice).map_err(Clone::clone)
}

/// Two parts of a band that double each other well on a line.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Double {
    /// The one.
    pub one: PartId,
    /// The other.
    pub other: PartId,
    /// The line.
    pub role: Role,
    /// How many octaves the one is wished above the other; `None`: as it comes.
    pub octaves: Option<i16>,
    /// From which strength on it is usual.
    pub from: Option<Strength>,
    /// In words.
    pub name: &'static str,
}

impl Double {
    /// Whether it is usual in a passage of some strength.
    #[must_use]
    pub fn is_usual(&self, strength: Strength) -> bool {
        self.from.is_none_or(|from| strength >= from)
    }

    /// Whether two parts with these roles make it.
    #[must_use]
    pub fn is_made(&self, one: PartRole, other: PartRole) -> bool {
        let apart = self.octaves.is_none_or(|o| one.octave - other.octave == o);
        let whole = self.role == Role::Melody;
        one.role == self.role && other.role == self.role && (apart || !whole)
    }
}

/// The usual doublings that a band can make.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Doublings {
    /// All of them, in the order of the table.
    pub pairs: Vec<Double>,
}

impl Doublings {
    /// Those of a band.
    ///
    /// # Errors
    /// If the built-in table were unreadable (a test shows that it is not).
    pub fn of(band: &Band) -> Result<Self, TableError> {
        let mut pairs = Vec::new();
        for row in rows()? {
            let named = |who: &[Who]| -> Vec<PartId> {
                let all = band.ids();
                let meant = all.filter(|(_, p)| who.iter().any(|w| w.means(p)));
                meant.map(|(id, _)| id).collect()
            };
            let (some, others) = (named(&row.one), named(&row.other));
            for role in row.roles.iter().map(|r| Role::from(*r)) {
                for one in &some {
                    let with = others.iter().filter(|o| *o != one);
                    pairs.extend(with.map(|other| Double {
                        one: *one,
                        other: *other,
                        role,
                        octaves: row.octaves,
                        from: row.from,
                        name: &row.name,
                    }));
                }
            }
        }
        Ok(Self { pairs })
    }

    /// The doublings that some roles make in a passage of a strength.
    pub fn made<'a>(
        &'a self,
        roles: &'a [PartRole],
        strength: Strength,
    ) -> impl Iterator<Item = &'a Double> {
        let of = |id: PartId| roles.get(id.0).copied();
        self.pairs.iter().filter(move |pair| {
            let both = of(pair.one).zip(of(pair.other));
            pair.is_usual(strength) && both.is_some_and(|(one, other)| pair.is_made(one, other))
        })
    }

    /// How well some roles use the usual doublings, 0 to 1: of the parts that carry a line on which they
    /// have usual partners who play in the passage, whatever they play, the share that has at least
    /// one of them with it. 1 where no part has any.
    ///
    /// ```
    /// use bandwright::band::preset;
    /// use bandwright::plan::{PartRole, estimates::Doublings, habits::Strength};
    /// use bandwright::score::Role;
    /// let band = preset("demo").unwrap();
    /// let doublings = Doublings::of(&band).unwrap();
    /// let roles = |tuba_too: bool| -> Vec<PartRole> {
    ///     let role = |id: &str| match id {
    ///         "sax_baritone" => Role::Bass,
    ///         "sousaphone" => if tuba_too { Role::Bass } else { Role::Harmony },
    ///         _ => Role::Rest,
    ///     };
    ///     let parts = band.parts.iter();
    ///     parts.map(|p| PartRole { role: role(&p.instrument.id), octave: 0 }).collect()
    /// };
    /// assert_eq!(doublings.used(&roles(false), Strength::Middle), 0.0);
    /// assert_eq!(doublings.used(&roles(true), Strength::Middle), 1.0);
    /// ```
    #[must_use]
    pub fn used(&self, roles: &[PartRole], strength: Strength) -> f64 {
        let mut could = vec![false; roles.len()];
        let mut does = vec![false; roles.len()];
        for pair in self.pairs.iter().filter(|p| p.is_usual(strength)) {
            let (one, other) = (pair.one.0, pair.other.0);
            let Some((a, b)) = roles.get(one).zip(roles.get(other)) else {
                continue;
            };
            if a.role == Role::Rest || b.role == Role::Rest {
                continue;
            }
            could[one] |= a.role == pair.role;
            could[other] |= b.role == pair.role;
            if pair.is_made(*a, *b) {
                does[one] = true;
                does[other] = true;
            }
        }
        let count = |of: &[bool]| of.iter().filter(|yes| **yes).count();
        let all = count(&could);
        if all == 0 {
            return 1.0;
        }
        count(&does) as f64 / all as f64
    }
}
