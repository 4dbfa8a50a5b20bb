//! Reading note names such as `C4`, `Bb3` and `F#5`.

use super::pitch::Written;
use std::str::FromStr;
use thiserror::Error;

/// A text that is no note name.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error(
    "`{0}` is no note name; write a letter, #s or bs if any, and an octave: `C4`, `Bb3`, `F#5`"
)]
pub struct NoteNameError(pub String);

impl FromStr for Written {
    type Err = NoteNameError;

    /// Reads a scientific pitch name (C4 = 60) with up to two accidentals; white space at the
    /// ends and the letter's case do not matter.
    ///
    /// # Errors
    /// On anything else, and on octaves outside -1 to 9.
    ///
    /// ```
    /// use bandwright::music::Written;
    /// assert_eq!("Bb3".parse(), Ok(Written(58)));
    /// assert!("H3".parse::<Written>().is_err());
    /// ```
    fn from_str(text: &str) -> Result<Self, NoteNameError> {
        parse(text.trim()).ok_or_else(|| NoteNameError(text.to_owned()))
    }
}

fn parse(text: &str) -> Option<Written> {
    let mut rest = text.chars();
    let natural = match rest.next()?.to_ascii_uppercase() {
        'C' => 0,
        'D' => 2,
        'E' => 4,
        'F' => 5,
        'G' => 7,
        'A' => 9,
        'B' => 11,
        _ => return None,
    };
    let rest = rest.as_str();
    let octave_text = rest.trim_start_matches(['#', 'b']);
    let alteration = match rest.strip_suffix(octave_text)? {
        "" => 0,
        "#" => 1,
        "##" => 2,
        "b" => -1,
        "bb" => -2,
        _ => return None,
    };
    let digits = octave_text.strip_prefix('-').unwrap_or(octave_text);
    if digits.len() != 1 || !digits.chars().all(|c| c.is_ascii_digit()) {
        return None;
    }
    let octave: i16 = octave_text.parse().ok().filter(|o| *o >= -1)?;
    Some(Written(12 * (octave + 1) + natural + alteration))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_read() {
        for (name, midi) in [
            ("C4", 60),
            ("Bb3", 58),
            ("F#5", 78),
            ("Cbb4", 58),
            ("B##3", 61),
            ("C-1", 0),
            (" a0 ", 21),
        ] {
            assert_eq!(name.parse(), Ok(Written(midi)), "{name}");
        }
    }

    #[test]
    fn others_are_refused() {
        for name in [
            "", "C", "H4", "C#b4", "C###4", "C10", "C-2", "C4x", "4", "é4", "C+4",
        ] {
            assert!(name.parse::<Written>().is_err(), "{name}");
        }
    }

    #[test]
    fn every_printed_name_reads_back() {
        for midi in 0..128 {
            assert_eq!(Written(midi).to_string().parse(), Ok(Written(midi)));
        }
    }
}
