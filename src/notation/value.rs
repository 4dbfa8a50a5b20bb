//! Note values, and lengths inside a bar as exact whole numbers.

use std::ops::{Add, Sub};

/// A length or a place inside a bar: 768ths of a whole note (192 to a quarter). All values down to
/// a dotted 128th, and triplets of 128ths, are whole numbers of them.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Grains(pub u32);

impl Grains {
    /// No length; the start of the bar.
    pub const ZERO: Self = Self(0);
    /// A whole note.
    pub const WHOLE: Self = Self(768);
    /// A quarter note.
    pub const QUARTER: Self = Self(192);

    /// The length from an earlier place to this one; zero if the other is later.
    #[must_use]
    pub const fn since(self, earlier: Self) -> Self {
        Self(self.0.saturating_sub(earlier.0))
    }
}

impl Add for Grains {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Grains {
    type Output = Self;
    /// The difference, zero where the other is longer.
    fn sub(self, other: Self) -> Self {
        self.since(other)
    }
}

/// The look of a note without its dots.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[allow(missing_docs, reason = "the values are their own description")]
pub enum Base {
    Whole,
    Half,
    Quarter,
    Eighth,
    Sixteenth,
    ThirtySecond,
    SixtyFourth,
    HundredTwentyEighth,
}

impl Base {
    /// All of them, longest first.
    pub const ALL: [Self; 8] = [
        Self::Whole,
        Self::Half,
        Self::Quarter,
        Self::Eighth,
        Self::Sixteenth,
        Self::ThirtySecond,
        Self::SixtyFourth,
        Self::HundredTwentyEighth,
    ];

    /// Its length.
    #[must_use]
    pub const fn grains(self) -> Grains {
        Grains(Grains::WHOLE.0 >> self as u32)
    }

    /// How many flags or beams it has.
    #[must_use]
    pub const fn flags(self) -> u8 {
        (self as u8).saturating_sub(Self::Quarter as u8)
    }

    /// Its word in the MusicXML standard (`note-type-value`): `quarter`, `eighth`, `16th`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Whole => "whole",
            Self::Half => "half",
            Self::Quarter => "quarter",
            Self::Eighth => "eighth",
            Self::Sixteenth => "16th",
            Self::ThirtySecond => "32nd",
            Self::SixtyFourth => "64th",
            Self::HundredTwentyEighth => "128th",
        }
    }
}

/// So many notes in the time of so many others.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Tuplet {
    /// How many there are.
    pub actual: u8,
    /// In the time of how many.
    pub normal: u8,
}

impl Tuplet {
    /// Three in the time of two.
    pub const TRIPLET: Self = Self {
        actual: 3,
        normal: 2,
    };
    /// Two in the time of three, in compound time.
    pub const DUPLET: Self = Self {
        actual: 2,
        normal: 3,
    };
}

/// A note value: `dotted quarter`, `eighth in a triplet`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Value {
    /// The look without dots.
    pub base: Base,
    /// Dots, 0 to 1.
    pub dots: u8,
    /// The tuplet that it is in.
    pub tuplet: Option<Tuplet>,
}

impl Value {
    /// A value without dots.
    #[must_use]
    pub const fn plain(base: Base) -> Self {
        Self {
            base,
            dots: 0,
            tuplet: None,
        }
    }

    /// A dotted value.
    #[must_use]
    pub const fn dotted(base: Base) -> Self {
        Self {
            base,
            dots: 1,
            tuplet: None,
        }
    }

    /// How long it is.
    ///
    /// ```
    /// use bandwright::notation::{Base, Grains, Tuplet, Value};
    /// assert_eq!(Value::dotted(Base::Quarter).grains(), Grains(288));
    /// let triplet = Value { tuplet: Some(Tuplet::TRIPLET), ..Value::plain(Base::Eighth) };
    /// assert_eq!(triplet.grains(), Grains(64));
    /// ```
    #[must_use]
    pub fn grains(self) -> Grains {
        let plain = self.base.grains().0;
        let dotted = (0..u32::from(self.dots)).fold(plain, |sum, dot| sum + (plain >> (dot + 1)));
        Grains(self.tuplet.map_or(dotted, |t| {
            dotted * u32::from(t.normal) / u32::from(t.actual.max(1))
        }))
    }

    /// The one value, undotted or dotted, that is exactly as long, if there is one.
    ///
    /// ```
    /// use bandwright::notation::{Base, Grains, Value};
    /// assert_eq!(Value::exactly(Grains(144)), Some(Value::dotted(Base::Eighth)));
    /// assert_eq!(Value::exactly(Grains(240)), None);
    /// ```
    #[must_use]
    pub fn exactly(length: Grains) -> Option<Self> {
        let both = Base::ALL
            .into_iter()
            .flat_map(|b| [Self::dotted(b), Self::plain(b)]);
        both.into_iter().find(|v| v.grains() == length)
    }

    /// In words, as musicians say it: `dotted quarter`, `eighth in a triplet`.
    #[must_use]
    pub fn words(self) -> String {
        let dots = ["", "dotted "]
            .get(usize::from(self.dots))
            .copied()
            .unwrap_or("double-dotted ");
        let group = match self.tuplet {
            None => String::new(),
            Some(Tuplet::TRIPLET) => " in a triplet".to_owned(),
            Some(Tuplet::DUPLET) => " in a duplet".to_owned(),
            Some(t) => format!(" in a group of {} for {}", t.actual, t.normal),
        };
        format!("{dots}{}{group}", self.base.word())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_exact() {
        assert_eq!(Value::plain(Base::Whole).grains(), Grains(768));
        assert_eq!(Value::dotted(Base::HundredTwentyEighth).grains(), Grains(9));
        let duplet = Value {
            tuplet: Some(Tuplet::DUPLET),
            ..Value::plain(Base::Eighth)
        };
        assert_eq!(duplet.grains(), Grains(144));
        for base in Base::ALL {
            assert_eq!(
                Value::exactly(Value::plain(base).grains()),
                Some(Value::plain(base))
            );
        }
    }

    #[test]
    fn words_are_the_trades() {
        assert_eq!(Value::dotted(Base::Half).words(), "dotted half");
        assert_eq!(Base::Sixteenth.flags(), 2);
        assert_eq!(Base::Half.flags(), 0);
    }
}
