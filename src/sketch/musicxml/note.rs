//! One `note` element: what it sounds, how long, and what it belongs to.

use super::attributes::Shift;
use super::measure::WrittenNote;
use super::part::{PartReader, passes};
use super::tree::{children, name, number, says_yes, text, whole};
use crate::music::{Letter, Sounding, SpelledName};
use crate::sketch::song::ReadError;
use roxmltree::Node;

/// The velocity that `dynamics="100"` stands for (MusicXML 4.0, attribute `dynamics`: percent of
/// the default forte, 90 for MIDI 1.0).
pub(super) const FORTE: f64 = 90.0;
/// Staves above this are one; a part has a few.
const MOST_STAVES: i32 = 16;

/// What a note element holds.
#[derive(Default)]
struct Told<'a> {
    chord: bool,
    grace: bool,
    cue: bool,
    rest: bool,
    whole_rest: bool,
    pitch: Option<Pitch>,
    unpitched: bool,
    has_duration: bool,
    written_length: Option<f64>,
    dots: u32,
    ties_on: bool,
    tied: bool,
    has_tie: bool,
    bow_on: bool,
    bowed: bool,
    staff: u8,
    instrument: Option<&'a str>,
    rolled: bool,
    time_parts: Option<(f64, f64)>,
}

/// A written pitch.
#[derive(Clone, Copy)]
struct Pitch {
    letter: Letter,
    alter: f64,
    octave: i32,
}

/// Reads a note.
///
/// # Errors
/// Where the file has far more notes than a sketch.
pub(super) fn read_note(reader: &mut PartReader<'_>, node: Node<'_, '_>) -> Result<(), ReadError> {
    let told = read(reader, node);
    if told.grace {
        return grace(reader, node, &told);
    }
    if !told.chord {
        reader.settle_graces();
    }
    let length = length(reader, node, &told);
    let at = if told.chord { reader.chord } else { reader.now };
    if told.cue {
        reader.odd("small cue notes are not played");
    } else if !told.rest {
        if length == 0 {
            reader.odd("a note without a duration was passed over");
        } else {
            add(reader, node, &told, at, length)?;
        }
    }
    if !told.chord {
        reader.go_on(length, told.rest && told.whole_rest);
    }
    Ok(())
}

fn read<'a>(reader: &mut PartReader<'_>, node: Node<'a, '_>) -> Told<'a> {
    let mut told = Told {
        staff: 1,
        ..Told::default()
    };
    for element in children(node) {
        match name(element) {
            "chord" => told.chord = true,
            "grace" => told.grace = true,
            "cue" => told.cue = true,
            "pitch" => told.pitch = pitch(element),
            "unpitched" => told.unpitched = true,
            "rest" => {
                told.rest = true;
                told.whole_rest = says_yes(element, "measure");
            }
            "duration" => told.has_duration = true,
            "tie" => {
                told.has_tie = true;
                told.ties_on |= element.attribute("type") == Some("start");
                told.tied |= element.attribute("type") == Some("stop");
            }
            "type" => told.written_length = quarters(text(element)),
            "dot" => told.dots += 1,
            "staff" => {
                let staff = whole(text(element)).unwrap_or(1).clamp(1, MOST_STAVES);
                told.staff = u8::try_from(staff).unwrap_or(1);
            }
            "instrument" => told.instrument = element.attribute("id"),
            "notations" => read_notations(reader, element, &mut told),
            "time-modification" => told.time_parts = time_parts(element),
            "voice" | "accidental" | "stem" | "notehead" | "notehead-text" | "beam" | "lyric"
            | "play" | "listen" | "footnote" | "level" => {}
            other => reader.unknown(other, "note"),
        }
    }
    told
}

fn read_notations<'a>(reader: &mut PartReader<'_>, node: Node<'a, '_>, told: &mut Told<'a>) {
    for element in children(node) {
        match name(element) {
            "tied" => match element.attribute("type") {
                Some("start") => told.bow_on = true,
                Some("stop") => told.bowed = true,
                Some("continue") => (told.bow_on, told.bowed) = (true, true),
                _ => {}
            },
            "arpeggiate" => told.rolled = true,
            "dynamics" => {
                let at = if told.chord { reader.chord } else { reader.now };
                reader.dynamics(element, at, None, None);
            }
            "ornaments" => read_ornaments(reader, element),
            "slur" | "tuplet" | "glissando" | "slide" | "technical" | "articulations"
            | "fermata" | "non-arpeggiate" | "accidental-mark" | "other-notation" | "footnote"
            | "level" => {}
            other => reader.unknown(other, "notations"),
        }
    }
}

fn read_ornaments(reader: &mut PartReader<'_>, node: Node<'_, '_>) {
    let marks = ["accidental-mark", "wavy-line", "other-ornament"];
    let played = children(node).any(|n| !marks.contains(&name(n)));
    if played {
        reader.odd("trills, turns, tremolos and the like are read as their main notes");
    }
}

fn pitch(node: Node<'_, '_>) -> Option<Pitch> {
    let mut letter = None;
    let mut octave = None;
    let mut alter = Some(0.0);
    for element in children(node) {
        match name(element) {
            "step" => {
                letter = match text(element) {
                    "C" => Some(Letter::C),
                    "D" => Some(Letter::D),
                    "E" => Some(Letter::E),
                    "F" => Some(Letter::F),
                    "G" => Some(Letter::G),
                    "A" => Some(Letter::A),
                    "B" => Some(Letter::B),
                    _ => None,
                };
            }
            "alter" if text(element).is_empty() => {}
            "alter" => alter = number(text(element)).filter(|a| a.abs() <= 12.0),
            "octave" => octave = whole(text(element)),
            _ => {}
        }
    }
    Some(Pitch {
        letter: letter?,
        alter: alter?,
        octave: octave?,
    })
}

/// Quarters of a written value (MusicXML 4.0, `note-type-value`).
pub(super) fn quarters(value: &str) -> Option<f64> {
    const VALUES: [&str; 14] = [
        "maxima", "long", "breve", "whole", "half", "quarter", "eighth", "16th", "32nd", "64th",
        "128th", "256th", "512th", "1024th",
    ];
    let place = VALUES.iter().position(|v| *v == value)?;
    Some(32.0 / f64::from(1_u32 << place))
}

fn time_parts(node: Node<'_, '_>) -> Option<(f64, f64)> {
    let part = |wanted: &str| {
        let found = children(node).find(|n| name(*n) == wanted)?;
        number(text(found)).filter(|n| *n > 0.0)
    };
    Some((part("normal-notes")?, part("actual-notes")?))
}

/// The note's length: its duration; where that is missing, its written value.
fn length(reader: &mut PartReader<'_>, node: Node<'_, '_>, told: &Told<'_>) -> u64 {
    if told.has_duration {
        return reader.length(node).unwrap_or(0);
    }
    let Some(value) = told.written_length else {
        return 0;
    };
    reader.odd("a note without a duration is taken as long as its written value");
    let dotted = value * (2.0 - 0.5_f64.powi(told.dots.min(8) as i32));
    let (normal, actual) = told.time_parts.unwrap_or((1.0, 1.0));
    reader.units.count(dotted * normal / actual, 1.0).ticks
}

/// A grace note: it waits for the note that it graces.
fn grace(
    reader: &mut PartReader<'_>,
    node: Node<'_, '_>,
    told: &Told<'_>,
) -> Result<(), ReadError> {
    if told.cue || told.rest {
        return Ok(());
    }
    let next = reader
        .graces
        .last()
        .map_or(0, |g| g.1 + u32::from(!told.chord));
    let before = reader.measure.notes.len();
    add(reader, node, told, reader.now, 0)?;
    reader
        .graces
        .extend((before..reader.measure.notes.len()).map(|i| (i, next)));
    Ok(())
}

/// Adds what sounds.
fn add(
    reader: &mut PartReader<'_>,
    node: Node<'_, '_>,
    told: &Told<'_>,
    at: u64,
    length: u64,
) -> Result<(), ReadError> {
    let Some((pitch, name, drum)) = sounding(reader, told) else {
        return Ok(());
    };
    let (ties_on, tied) = if told.has_tie {
        (told.ties_on, told.tied)
    } else {
        (told.bow_on, told.bowed)
    };
    let percent = node.attribute("dynamics").and_then(number);
    let own_velocity = percent.map(|p| (p * FORTE / 100.0).round().clamp(1.0, 127.0) as u8);
    let note = WrittenNote {
        at,
        length,
        pitch,
        name,
        drum,
        staff: told.staff,
        ties_on: ties_on && length > 0,
        tied: tied && length > 0,
        grace: None,
        rolled: told.rolled,
        own_velocity,
        velocity: 0,
        played_off: (off(reader, node, "attack"), off(reader, node, "release")),
        passes: node
            .attribute("time-only")
            .map_or_else(Vec::new, |t| passes(Some(t))),
    };
    reader.budget.note(node.range().start)?;
    let doubled = reader.shift(told.staff).doubled.filter(|_| !drum);
    if let Some(octave) = doubled {
        let pitch = i32::from(note.pitch.midi()) + octave;
        if let Some(pitch) = u8::try_from(pitch).ok().and_then(Sounding::new) {
            reader.budget.note(node.range().start)?;
            reader.measure.notes.push(WrittenNote {
                pitch,
                ..note.clone()
            });
        }
    }
    reader.measure.notes.push(note);
    Ok(())
}

/// How far from where it is written a note is played, in ticks, less than it would take to be lost.
fn off(reader: &PartReader<'_>, node: Node<'_, '_>, attribute: &str) -> i64 {
    let told = node.attribute(attribute).and_then(number).unwrap_or(0.0);
    let ticks = reader.units.count(told.abs(), reader.divisions).ticks;
    let ticks = i64::try_from(ticks).unwrap_or(0);
    if told < 0.0 { -ticks } else { ticks }
}

/// What a note sounds, with its name, and whether it is a drum.
fn sounding(
    reader: &mut PartReader<'_>,
    told: &Told<'_>,
) -> Option<(Sounding, Option<SpelledName>, bool)> {
    if told.unpitched {
        let drum = reader
            .instruments
            .drum(told.instrument)
            .and_then(Sounding::new);
        if drum.is_none() {
            reader.odd("notes without pitch were passed over, since no midi-unpitched number tells their drum");
        }
        return drum.map(|d| (d, None, true));
    }
    let Some(pitch) = told.pitch else {
        reader.odd("a note without a usable pitch was passed over");
        return None;
    };
    if pitch.alter.fract() != 0.0 {
        reader.odd("pitches between two semitones are taken as the nearest");
    }
    let alter = pitch.alter.round() as i32;
    let shift = reader.shift(told.staff);
    let number =
        12 * (pitch.octave + 1) + i32::from(pitch.letter.semitones()) + alter + shift.semitones;
    let Some(sounding) = u8::try_from(number).ok().and_then(Sounding::new) else {
        reader.odd("notes outside of all MIDI pitches were passed over");
        return None;
    };
    Some((
        sounding,
        Some(sounding_name(pitch.letter, alter, shift)),
        false,
    ))
}

/// The name of what sounds; names beyond double sharps and flats become the next plainer ones.
fn sounding_name(letter: Letter, alter: i32, shift: Shift) -> SpelledName {
    let natural = SpelledName {
        letter,
        alteration: 0,
    };
    SpelledName::writable(natural.fifths() + 7 * alter + shift.places)
}
