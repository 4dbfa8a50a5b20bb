//! How far the partials and valves of brass instruments lie from equal temperament, computed from
//! tube lengths (no cents are typed in anywhere).

use std::fmt;

/// Semitones from a tube's fundamental to a partial, to the nearest tempered pitch; 0 for the
/// fundamental itself.
///
/// ```
/// use bandwright::band::playing::partial_semitones;
/// assert_eq!([1, 2, 3, 5, 7].map(partial_semitones), [0, 12, 19, 28, 34]);
/// ```
#[must_use]
pub fn partial_semitones(partial: u8) -> i16 {
    (12.0 * f64::from(partial.max(1)).log2()).round() as i16
}

/// Cents by which a pure partial lies above its nearest tempered pitch: 1200 log2 n - 100 round(12
/// log2 n). Real instruments differ; players find the sixth sharper than this (S33, S34).
///
/// ```
/// use bandwright::band::playing::partial_cents;
/// assert!((partial_cents(5) + 13.69).abs() < 0.01);
/// ```
#[must_use]
pub fn partial_cents(partial: u8) -> f64 {
    let semitones = 12.0 * f64::from(partial.max(1)).log2();
    100.0 * (semitones - semitones.round())
}

/// The tube that must be added to lower a pitch by semitones, as a share of the tube before.
#[must_use]
pub fn added_length(semitones: f64) -> f64 {
    (semitones / 12.0).exp2() - 1.0
}

/// Which valves are down: the first, second, third and fourth.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Valves(pub [bool; 4]);

impl Valves {
    /// Semitones that each valve lowers by itself.
    const SEMITONES: [i16; 4] = [2, 1, 3, 5];

    /// The valves of a word of the tables: their numbers in order, or `0` for none. `None` for
    /// another word.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        let mut down = [false; 4];
        if word == "0" {
            return Some(Self(down));
        }
        let mut last = 0;
        for digit in word.chars().map(|c| c.to_digit(10)) {
            let digit = digit.filter(|d| *d > last)?;
            last = digit;
            *down.get_mut(digit as usize - 1)? = true;
        }
        (last > 0).then_some(Self(down))
    }

    /// Semitones that they lower by, as they are meant.
    #[must_use]
    pub fn semitones(self) -> i16 {
        let all = Self::SEMITONES.into_iter().zip(self.0);
        all.filter(|(_, down)| *down).map(|(s, _)| s).sum()
    }

    fn numbers(self) -> impl Iterator<Item = u8> {
        (1..=4).zip(self.0).filter(|(_, d)| *d).map(|(n, _)| n)
    }
}

/// As players say them: `1-3`, `open`.
impl fmt::Display for Valves {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.0.contains(&true) {
            return f.write_str("open");
        }
        for (i, number) in self.numbers().enumerate() {
            let dash = if i > 0 { "-" } else { "" };
            write!(f, "{dash}{number}")?;
        }
        Ok(())
    }
}

/// How much tube each valve adds, as a share of the open tube.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ValveLengths(pub [f64; 4]);

impl ValveLengths {
    /// Each valve by itself exactly in tune: 2, 1, 3 and 5 semitones.
    #[must_use]
    pub fn each_in_tune() -> Self {
        Self(Valves::SEMITONES.map(|s| added_length(f64::from(s))))
    }

    /// Cents by which a combination is sharp (negative: flat) of the semitones it stands for. The
    /// lengths add up, so that combinations come out too short.
    #[must_use]
    pub fn cents(self, valves: Valves) -> f64 {
        let down = self.0.into_iter().zip(valves.0).filter(|(_, d)| *d);
        let added: f64 = down.map(|(length, _)| length).sum();
        100.0 * f64::from(valves.semitones()) - 1200.0 * (1.0 + added).log2()
    }
}
