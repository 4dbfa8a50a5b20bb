//! The vocabulary of remarks as files write it: each word, what its value looks like, and what is
//! allowed.

use super::instrument::Instrument;
use super::instruments::{find_instrument, nearest_instrument};
use super::nearest::suggestion;
use super::remarks::{Exposure, GoEasy, NotesPerSecond, Remarks};
use crate::music::{Interval, Written};
use std::sync::Arc;

/// The kinds of values that a remark takes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    /// A note, an instrument's id, one of two words, or free text.
    Text,
    /// A whole number.
    Whole,
    /// A number.
    Number,
    /// Yes or no.
    Flag,
}

/// A word of the vocabulary.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct RemarkWord {
    /// The word.
    pub word: &'static str,
    /// What stands behind it.
    pub kind: Kind,
}

const fn word(word: &'static str, kind: Kind) -> RemarkWord {
    RemarkWord { word, kind }
}

/// All words, in the order in which they are written.
pub(super) const WORDS: [RemarkWord; 11] = [
    word("lowest", Kind::Text),
    word("highest", Kind::Text),
    word("below_the_break", Kind::Flag),
    word("no_leaps_over", Kind::Whole),
    word("no_faster_than", Kind::Number),
    word("rests_every", Kind::Whole),
    word("accidentals_at_most", Kind::Whole),
    word("exposed", Kind::Text),
    word("doubles", Kind::Text),
    word("go_easy", Kind::Text),
    word("note", Kind::Text),
];

/// Widest leap that can be asked for, semitones: all of MIDI.
const WIDEST: i16 = 127;
/// Slowest and fastest limit of speed, notes a second. Ours: faster than anybody plays (the table
/// of speeds ends at 11), slower than one note in five seconds.
const SPEEDS: std::ops::RangeInclusive<f64> = 0.2..=20.0;
/// Most bars between rests that can be asked for. Ours: longer than any march.
const MOST_BARS: u16 = 500;
/// Most accidentals of a key signature.
const MOST_ACCIDENTALS: u8 = 7;

/// Puts the value of a word, given as text, into remarks.
///
/// # Errors
/// What is allowed, as the end of a sentence about this place.
pub(super) fn put(remarks: &mut Remarks, word: RemarkWord, value: &str) -> Result<(), String> {
    match word.word {
        "lowest" => remarks.lowest = Some(note(value)?),
        "highest" => remarks.highest = Some(note(value)?),
        "below_the_break" => remarks.below_the_break = value == "true",
        "no_leaps_over" => {
            let leap = value.parse().ok().filter(|n| (1..=WIDEST).contains(n));
            let most = || format!("`no_leaps_over` must be from 1 to {WIDEST} semitones");
            remarks.no_leaps_over = Some(Interval(leap.ok_or_else(most)?));
        }
        "no_faster_than" => {
            let speed = value.parse().ok().filter(|n| SPEEDS.contains(n));
            let (low, high) = (SPEEDS.start(), SPEEDS.end());
            let most = || format!("`no_faster_than` must be from {low} to {high} notes a second");
            remarks.no_faster_than = Some(NotesPerSecond(speed.ok_or_else(most)?));
        }
        "rests_every" => {
            let bars = value.parse().ok().filter(|n| (1..=MOST_BARS).contains(n));
            let most = || format!("`rests_every` must be from 1 to {MOST_BARS} bars");
            remarks.rests_every = Some(bars.ok_or_else(most)?);
        }
        "accidentals_at_most" => {
            let most = value.parse().ok().filter(|n| *n <= MOST_ACCIDENTALS);
            let allowed = || {
                format!(
                    "`accidentals_at_most` must be from 0 to {MOST_ACCIDENTALS} sharps or flats"
                )
            };
            remarks.accidentals_at_most = Some(most.ok_or_else(allowed)?);
        }
        "exposed" => remarks.exposure = exposure(value)?,
        "doubles" => remarks.doubles = Some(instrument_of(value)?),
        "go_easy" => remarks.go_easy = Some(go_easy(value)?),
        _ => value.trim().clone_into(&mut remarks.note),
    }
    Ok(())
}

fn note(value: &str) -> Result<Written, String> {
    value.parse::<Written>().map_err(|e| e.to_string())
}

fn exposure(value: &str) -> Result<Exposure, String> {
    match value {
        "may" => Ok(Exposure::May),
        "never" => Ok(Exposure::Never),
        word => Err(format!("`exposed` is \"may\" or \"never\", not `{word}`")),
    }
}

fn go_easy(value: &str) -> Result<GoEasy, String> {
    match value {
        "braces" => Ok(GoEasy::Braces),
        "injury" => Ok(GoEasy::Injury),
        word => Err(format!(
            "`go_easy` is \"braces\" or \"injury\", not `{word}`"
        )),
    }
}

/// An instrument by its id.
///
/// # Errors
/// Where there is none; the nearest is suggested.
pub(super) fn instrument_of(id: &str) -> Result<Arc<Instrument>, String> {
    find_instrument(id).ok_or_else(|| {
        let near = nearest_instrument(id)
            .map_or_else(String::new, |known| format!("; did you mean `{known}`?"));
        format!("unknown instrument `{id}`{near}")
    })
}

/// Holds remarks against the instrument that they are about.
///
/// # Errors
/// The word that does not go with it or with another word, and why.
pub(super) fn check(
    remarks: &Remarks,
    instrument: &Instrument,
) -> Result<(), (&'static str, String)> {
    let id = &instrument.id;
    if remarks.below_the_break && !id.starts_with("clarinet") {
        let only = format!("`below_the_break` is for clarinets, not `{id}`");
        return Err(("below_the_break", only));
    }
    if let (Some(low), Some(high)) = (remarks.lowest, remarks.highest)
        && low > high
    {
        return Err(("lowest", format!("lowest {low} is above highest {high}")));
    }
    if remarks.doubles.as_ref().is_some_and(|d| d.id == *id) {
        let own = format!("`doubles` is a second instrument, not `{id}` again");
        return Err(("doubles", own));
    }
    Ok(())
}

/// The words of the vocabulary, in the order in which they are written.
pub fn remark_words() -> impl Iterator<Item = &'static str> {
    WORDS.into_iter().map(|w| w.word)
}

/// Remarks with a word said anew, its value given as rosters write it, or with nothing said of it any
/// more. A flag is said by `true`.
///
/// # Errors
/// A sentence where the word is not known, the value is not allowed, or it does not go with the instrument
/// or another remark.
///
/// ```
/// use bandwright::band::{Remarks, find_instrument, with_remark};
/// let clarinet = find_instrument("clarinet_bb").unwrap();
/// let said = with_remark(&Remarks::default(), "rests_every", Some("16"), &clarinet).unwrap();
/// assert_eq!(said.rests_every, Some(16));
/// let unsaid = with_remark(&said, "rests_every", None, &clarinet).unwrap();
/// assert_eq!(unsaid, Remarks::default());
/// assert!(with_remark(&said, "highest", Some("H9"), &clarinet).is_err());
/// ```
pub fn with_remark(
    remarks: &Remarks,
    word: &str,
    value: Option<&str>,
    instrument: &Instrument,
) -> Result<Remarks, String> {
    let known = WORDS.into_iter().find(|w| w.word == word);
    let known = known.ok_or_else(|| {
        let near = suggestion(word, remark_words());
        format!("unknown remark `{word}`{near}")
    })?;
    let mut remarks = remarks.clone();
    match value {
        Some(value) => put(&mut remarks, known, value)?,
        None => unsay(&mut remarks, known.word),
    }
    match check(&remarks, instrument) {
        Ok(()) => Ok(remarks),
        Err((_, text)) => Err(text),
    }
}

/// Takes back what was said of a word.
fn unsay(remarks: &mut Remarks, word: &str) {
    match word {
        "lowest" => remarks.lowest = None,
        "highest" => remarks.highest = None,
        "below_the_break" => remarks.below_the_break = false,
        "no_leaps_over" => remarks.no_leaps_over = None,
        "no_faster_than" => remarks.no_faster_than = None,
        "rests_every" => remarks.rests_every = None,
        "accidentals_at_most" => remarks.accidentals_at_most = None,
        "exposed" => remarks.exposure = Exposure::Unsaid,
        "doubles" => remarks.doubles = None,
        "go_easy" => remarks.go_easy = None,
        _ => remarks.note.clear(),
    }
}

/// The words of remarks with their values as text, in the order of [`WORDS`].
pub(super) fn said(remarks: &Remarks) -> Vec<(RemarkWord, String)> {
    let with = |word: RemarkWord| value(remarks, word.word).map(|v| (word, v));
    WORDS.into_iter().filter_map(with).collect()
}

/// The value of a word; `None` where nothing was said.
fn value(remarks: &Remarks, word: &str) -> Option<String> {
    match word {
        "lowest" => remarks.lowest.map(|p| p.to_string()),
        "highest" => remarks.highest.map(|p| p.to_string()),
        "below_the_break" => remarks.below_the_break.then(|| "true".to_owned()),
        "no_leaps_over" => remarks.no_leaps_over.map(|l| l.0.to_string()),
        "no_faster_than" => remarks.no_faster_than.map(|s| s.0.to_string()),
        "rests_every" => remarks.rests_every.map(|b| b.to_string()),
        "accidentals_at_most" => remarks.accidentals_at_most.map(|a| a.to_string()),
        "exposed" => match remarks.exposure {
            Exposure::Unsaid => None,
            Exposure::May => Some("may".to_owned()),
            Exposure::Never => Some("never".to_owned()),
        },
        "doubles" => remarks.doubles.as_ref().map(|d| d.id.clone()),
        "go_easy" => remarks.go_easy.map(|g| g.word().to_owned()),
        _ => Some(remarks.note.clone()).filter(|n| !n.is_empty()),
    }
}

/// The remarks in plain words for people, the free text last.
///
/// ```
/// use bandwright::band::{Remarks, remarks_in_words};
/// let remarks = Remarks { rests_every: Some(16), below_the_break: true, ..Remarks::default() };
/// assert_eq!(remarks_in_words(&remarks), ["below the break", "a bar of rest in every 16"]);
/// ```
#[must_use]
pub fn remarks_in_words(remarks: &Remarks) -> Vec<String> {
    let mut texts = Vec::new();
    texts.extend(remarks.lowest.map(|p| format!("nothing below {p}")));
    texts.extend(remarks.highest.map(|p| format!("nothing above {p}")));
    if remarks.below_the_break {
        texts.push("below the break".to_owned());
    }
    let leap = |l: Interval| format!("no leaps over {} semitones", l.0);
    texts.extend(remarks.no_leaps_over.map(leap));
    let speed = |s: NotesPerSecond| format!("no faster than {} notes a second", s.0);
    texts.extend(remarks.no_faster_than.map(speed));
    let rest = |bars| format!("a bar of rest in every {bars}");
    texts.extend(remarks.rests_every.map(rest));
    let key = |n| match n {
        0 => "no sharps or flats in the key".to_owned(),
        1 => "at most 1 sharp or flat in the key".to_owned(),
        n => format!("at most {n} sharps or flats in the key"),
    };
    texts.extend(remarks.accidentals_at_most.map(key));
    match remarks.exposure {
        Exposure::Unsaid => {}
        Exposure::May => texts.push("may be exposed".to_owned()),
        Exposure::Never => texts.push("never exposed".to_owned()),
    }
    let second = |d: &Arc<Instrument>| format!("also plays {}", d.name);
    texts.extend(remarks.doubles.as_ref().map(second));
    texts.extend(remarks.go_easy.map(|g| format!("go easy ({g})")));
    let plain = remarks.note.replace(char::is_control, " ");
    let note: Vec<_> = plain.split_whitespace().collect();
    if !note.is_empty() {
        texts.push(note.join(" "));
    }
    texts
}
