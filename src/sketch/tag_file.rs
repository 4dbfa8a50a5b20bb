//! Files of re-tags (TOML): form, reading and writing.

use super::reading::Line;
use super::tags::{Among, Tag, Tags, TrackChoice};
use crate::music::{BarNumber, Sounding, Tick, Written};
use serde::Deserialize;
use std::fmt::Write as _;
use std::ops::Range;
use thiserror::Error;
use toml::Spanned;

/// What is wrong with a file of tags, and on which line.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("line {line}: {text}")]
pub struct TagError {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong there and what to do.
    pub text: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    tag: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    line: Spanned<String>,
    track: Option<Spanned<NumberOrText>>,
    bars: Option<Spanned<NumberOrText>>,
    beat: Option<Spanned<f64>>,
    tick: Option<Spanned<u64>>,
    pitch: Option<Spanned<String>>,
    only: Option<Spanned<String>>,
}

#[derive(Deserialize)]
#[serde(untagged, expecting = "expected a number or a text in quotes")]
enum NumberOrText {
    Number(i64),
    Text(String),
}

/// Reads a file of tags. Each `[[tag]]` has a `line` (melody, counterline, harmony, bass or
/// figure) and says which notes are meant: `track` (number from 1, or name), `bars` (a number,
/// or a text like `"5-8, 13"`), `beat` (from 1), `tick`, `pitch` (`"F4"`, or `"C3-B3"`; concert
/// pitch) and `only` (`"highest"` or `"lowest"` of the notes that begin together). What is left
/// out does not limit the tag. Later tags outrank earlier ones.
///
/// # Errors
/// On the first thing that is not of this form, with its line.
///
/// ```
/// use bandwright::sketch::{Line, read_tags};
/// let tags = read_tags("[[tag]]\nline = \"melody\"\ntrack = 2\nbars = \"5-8\"\n").unwrap();
/// assert_eq!(tags.0[0].line, Line::Melody);
/// let error = read_tags("[[tag]]\nline = \"tune\"\n").unwrap_err().to_string();
/// assert!(error.starts_with("line 2: `tune` is no line"));
/// ```
pub fn read_tags(text: &str) -> Result<Tags, TagError> {
    let file: File = toml::from_str(text).map_err(|e| {
        let at = e.span().unwrap_or(0..0);
        fail(text, &at, e.message().replace('\n', "; "))
    })?;
    let tags: Result<Vec<Tag>, TagError> = file.tag.iter().map(|row| tag(text, row)).collect();
    Ok(Tags(tags?))
}

fn fail(text: &str, at: &Range<usize>, what: impl Into<String>) -> TagError {
    let before = text.get(..at.start).unwrap_or(text);
    TagError {
        line: 1 + before.matches('\n').count(),
        // Words of the file are quoted in it: nothing of theirs may steer a terminal.
        text: what.into().replace(char::is_control, "\u{fffd}"),
    }
}

fn tag(text: &str, row: &Row) -> Result<Tag, TagError> {
    let line = Line::ALL
        .into_iter()
        .find(|l| l.word() == row.line.get_ref())
        .ok_or_else(|| {
            let words = Line::ALL.map(Line::word).join(", ");
            let what = format!("`{}` is no line; lines are {words}", row.line.get_ref());
            fail(text, &row.line.span(), what)
        })?;
    let track = row.track.as_ref().map(|t| track(text, t)).transpose()?;
    let bars = row.bars.as_ref().map(|b| bars(text, b)).transpose()?;
    let beat = row.beat.as_ref().map(|b| beat(text, b)).transpose()?;
    let pitches = row.pitch.as_ref().map(|p| pitches(text, p)).transpose()?;
    let among = match row.only.as_ref().map(|o| (o.get_ref().as_str(), o)) {
        None => Among::All,
        Some(("highest", _)) => Among::Highest,
        Some(("lowest", _)) => Among::Lowest,
        Some((word, at)) => {
            let what = format!("`{word}` is neither `highest` nor `lowest`");
            return Err(fail(text, &at.span(), what));
        }
    };
    Ok(Tag {
        line,
        track,
        bars: bars.unwrap_or_default(),
        beat,
        tick: row.tick.as_ref().map(|t| Tick(*t.get_ref())),
        pitches,
        among,
    })
}

fn track(text: &str, value: &Spanned<NumberOrText>) -> Result<TrackChoice, TagError> {
    match value.get_ref() {
        NumberOrText::Text(name) => Ok(TrackChoice::Name(name.clone())),
        NumberOrText::Number(n) => usize::try_from(*n)
            .ok()
            .filter(|n| *n > 0)
            .map(TrackChoice::Number)
            .ok_or_else(|| fail(text, &value.span(), "tracks are counted from 1")),
    }
}

fn bars(
    text: &str,
    value: &Spanned<NumberOrText>,
) -> Result<Vec<(BarNumber, BarNumber)>, TagError> {
    let ranges = match value.get_ref() {
        NumberOrText::Number(n) => bar_ranges(&n.to_string()),
        NumberOrText::Text(t) => bar_ranges(t),
    };
    ranges.ok_or_else(|| {
        let what = "bars are written as a number or like \"5-8, 13\", counted from 1";
        fail(text, &value.span(), what)
    })
}

/// Stretches of bars from a text like `5-8, 13`; `None` where it is not of this form.
///
/// ```
/// use bandwright::music::BarNumber;
/// use bandwright::sketch::bar_ranges;
/// let bars = bar_ranges("5-8, 13").unwrap();
/// assert_eq!(bars, [(BarNumber(5), BarNumber(8)), (BarNumber(13), BarNumber(13))]);
/// assert_eq!(bar_ranges("8-5"), None);
/// ```
#[must_use]
pub fn bar_ranges(text: &str) -> Option<Vec<(BarNumber, BarNumber)>> {
    text.split(',').map(bar_range).collect()
}

fn bar_range(text: &str) -> Option<(BarNumber, BarNumber)> {
    let (first, last) = text.split_once('-').unwrap_or((text, text));
    let (first, last): (u32, u32) = (first.trim().parse().ok()?, last.trim().parse().ok()?);
    (1 <= first && first <= last).then_some((BarNumber(first), BarNumber(last)))
}

fn beat(text: &str, value: &Spanned<f64>) -> Result<f64, TagError> {
    let beat = *value.get_ref();
    if beat.is_finite() && beat >= 1.0 {
        Ok(beat)
    } else {
        Err(fail(text, &value.span(), "beats are counted from 1"))
    }
}

fn pitches(text: &str, value: &Spanned<String>) -> Result<(Sounding, Sounding), TagError> {
    let words = value.get_ref().as_str();
    // A minus sign of an octave (`C-1`) is no dash between two pitches.
    let dash = words
        .char_indices()
        .skip(1)
        .find(|(i, c)| *c == '-' && words[..*i].ends_with(|c: char| c.is_ascii_digit()))
        .map(|(i, _)| i);
    let (low, high) = match dash {
        Some(i) => (&words[..i], &words[i + 1..]),
        None => (words, words),
    };
    let pitch = |name: &str| -> Result<Sounding, TagError> {
        let written: Written = name
            .parse()
            .map_err(|e| fail(text, &value.span(), format!("{e}")))?;
        let midi = u8::try_from(written.0).ok().and_then(Sounding::new);
        midi.ok_or_else(|| {
            fail(
                text,
                &value.span(),
                format!("`{name}` is out of MIDI's range"),
            )
        })
    };
    let range = (pitch(low)?, pitch(high)?);
    if range.0 > range.1 {
        return Err(fail(text, &value.span(), "the lower pitch comes first"));
    }
    Ok(range)
}

/// The file that [`read_tags`] reads as these tags.
#[must_use]
pub fn write_tags(tags: &Tags) -> String {
    let mut text = String::new();
    for tag in &tags.0 {
        // Writing to a string does not fail.
        let _ = write_tag(&mut text, tag);
    }
    text
}

fn write_tag(text: &mut String, tag: &Tag) -> std::fmt::Result {
    let gap = if text.is_empty() { "" } else { "\n" };
    writeln!(text, "{gap}[[tag]]\nline = \"{}\"", tag.line.word())?;
    match &tag.track {
        Some(TrackChoice::Number(n)) => writeln!(text, "track = {n}")?,
        Some(TrackChoice::Name(n)) => {
            writeln!(text, "track = {}", toml::Value::String(n.clone()))?;
        }
        None => {}
    }
    if !tag.bars.is_empty() {
        let ranges = tag.bars.iter().map(|(a, b)| format!("{a}-{b}"));
        writeln!(text, "bars = \"{}\"", ranges.collect::<Vec<_>>().join(", "))?;
    }
    if let Some(beat) = tag.beat {
        writeln!(text, "beat = {beat:?}")?;
    }
    if let Some(tick) = tag.tick {
        writeln!(text, "tick = {}", tick.0)?;
    }
    if let Some((low, high)) = tag.pitches {
        writeln!(text, "pitch = \"{low}-{high}\"")?;
    }
    match tag.among {
        Among::All => Ok(()),
        Among::Highest => writeln!(text, "only = \"highest\""),
        Among::Lowest => writeln!(text, "only = \"lowest\""),
    }
}
