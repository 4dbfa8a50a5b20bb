//! The draft as MusicXML 4.0 (`score-partwise`), whole or part by part.
//!
//! What is written is what [`write_stave`](crate::notation::write_stave) writes, so that the page and the window agree.
//! Players read their own parts: each is transposed and has the signature that its player reads. Time is exact to the
//! tick: a note that was not entered in steps tells by `attack` and `release` how far it is from what is written.

mod abbreviations;
mod beside;
mod directions;
mod drums;
mod measure;
mod mxl;
mod note;
mod part_list;
mod parts;
mod tempo;
mod transpose;
mod units;
mod xml;

pub use mxl::mxl_bytes;

use super::midi::{part_seats, sketch_tracks};
use crate::band::{Band, PartId};
use crate::music::BarNumber;
use crate::notation::WrittenBar;
use crate::review::Breath;
use crate::score::{Draft, Locks};
use crate::sketch::{Reading, Song};
use beside::Beside;
use directions::{Direction, directions};
use measure::PartPen;
use note::Pen;
use part_list::{part_id, part_list};
use parts::{ScorePart, Stave, parts};
use thiserror::Error;
use units::{Clock, Units};
use xml::Xml;

/// What a score is written from.
#[derive(Clone, Copy, Debug)]
pub struct ScoreInput<'a> {
    /// What stands over the score; may be empty.
    pub title: &'a str,
    /// The sketch as a song: meters, tempos, markers, percussion.
    pub song: &'a Song,
    /// Tracks of the sketch that are the arranger's own passages; they are written as parts.
    pub own: &'a [usize],
    /// Who plays.
    pub band: &'a Band,
    /// The sketch as read: its notes, their names, the keys.
    pub reading: &'a Reading,
    /// The notes of the parts.
    pub draft: &'a Draft,
    /// Where players breathe.
    pub breaths: &'a [Breath],
    /// What the arranger fixed.
    pub locks: &'a Locks,
    /// Whether remarks for the arranger are left out: brackets over locks, changed notes of the tune, letters of
    /// sections that were found.
    pub plain: bool,
}

/// Why a draft does not fit into a MusicXML file.
#[derive(Debug, Error)]
pub enum MusicXmlError {
    /// Far too many bars.
    #[error(
        "the score would have {bars} bars in {parts} parts, more than a file can hold; cut the sketch"
    )]
    TooLong {
        /// How many bars.
        bars: u32,
        /// How many parts.
        parts: usize,
    },
    /// A written note beyond the octaves that the standard counts, 0 to 9.
    #[error(
        "{part}, bar {bar}: a note would be written in octave {octave}, and MusicXML knows octaves 0 to 9; move it"
    )]
    OutOfOctaves {
        /// The part.
        part: String,
        /// The bar.
        bar: BarNumber,
        /// The octave.
        octave: i16,
    },
    /// The text could not be put together.
    #[error("the MusicXML file could not be put together: {0}")]
    Writer(#[from] std::io::Error),
    /// The archive could not be put together.
    #[error("the compressed MusicXML file could not be put together: {0}")]
    Archive(#[from] zip::result::ZipError),
}

/// The whole score: woodwinds, the piano sketch on two staves, brass, low brass and percussion, and the
/// percussion of the sketch.
///
/// # Errors
/// Where there are far too many bars, or a note lies outside the octaves of the standard.
pub fn musicxml_bytes(input: &ScoreInput<'_>) -> Result<Vec<u8>, MusicXmlError> {
    written(input, None)
}

/// One part by itself, with tempos and rehearsal marks, empty bars counted together.
///
/// # Errors
/// As [`musicxml_bytes`].
pub fn part_musicxml_bytes(input: &ScoreInput<'_>, part: PartId) -> Result<Vec<u8>, MusicXmlError> {
    written(input, Some(part))
}

fn written(input: &ScoreInput<'_>, only: Option<PartId>) -> Result<Vec<u8>, MusicXmlError> {
    let parts = parts(input, only)?;
    parts.iter().try_for_each(within_octaves)?;
    let marks = parts.iter().enumerate();
    let marks: Vec<Vec<Direction>> = marks.map(|(i, p)| directions(input, p, i == 0)).collect();
    let clock = clock(input, &parts, &marks);
    let seats = part_seats(
        &sketch_tracks(input.song, input.own),
        input.band,
        input.draft,
    );
    let keys = parts::keys(input);
    let mut xml = Xml::new();
    xml.inside("score-partwise", &[("version", "4.0")], |xml| {
        head(xml, input);
        part_list(xml, input, &parts, &seats);
        for (part, directions) in parts.iter().zip(&marks) {
            let staves = part.staves.iter();
            let beside: Vec<Beside<'_>> =
                staves.map(|s| Beside::of(input, part.owner, s)).collect();
            let pen = PartPen {
                part,
                pens: pens(part, &beside, clock),
                clock,
                keys: &keys,
                directions,
                counts_rests: only.is_some(),
            };
            let bars = part.staves.first().map_or(0, |s| s.bars.len());
            xml.inside("part", &[("id", &part_id(part))], |xml| {
                (0..bars).for_each(|at| pen.measure(xml, at));
            });
        }
    });
    Ok(xml.finish()?)
}

fn head(xml: &mut Xml, input: &ScoreInput<'_>) {
    if !input.title.is_empty() {
        xml.inside("work", &[], |xml| xml.text("work-title", input.title));
    }
    xml.inside("identification", &[], |xml| {
        xml.inside("encoding", &[], |xml| {
            let software = concat!("bandwright ", env!("CARGO_PKG_VERSION"));
            xml.text("software", software);
            for element in ["accidental", "beam"] {
                xml.empty("supports", &[("element", element), ("type", "yes")]);
            }
        });
    });
}

/// Refuses notes that the standard has no octave for.
fn within_octaves(part: &ScorePart) -> Result<(), MusicXmlError> {
    let pitched = part
        .staves
        .iter()
        .filter(|s| s.clef != parts::StaveClef::Percussion);
    for bar in pitched.flat_map(|s| &s.bars) {
        let events = bar.voices.iter().flat_map(|v| &v.events);
        for note in events.flat_map(|e| &e.notes) {
            let octave = note.place.step.div_euclid(7);
            if !(0..=9).contains(&octave) {
                return Err(MusicXmlError::OutOfOctaves {
                    part: part.name.clone(),
                    bar: bar.number,
                    octave,
                });
            }
        }
    }
    Ok(())
}

/// The coarsest clock in which all that is written, played and marked is a whole number.
fn clock(input: &ScoreInput<'_>, parts: &[ScorePart], marks: &[Vec<Direction>]) -> Clock {
    let fine = Clock::finest(input.song.quarter);
    let staves = parts.iter().flat_map(|p| &p.staves);
    let lengths = staves.flat_map(move |s| {
        let bars = s.bars.iter().map(move |b| fine.bar(b));
        let events = s.bars.iter().flat_map(move |b| places(fine, b));
        bars.chain(events).chain(played(fine, s))
    });
    let marks = parts.iter().zip(marks).flat_map(|(part, marks)| {
        let bars = part.staves.first().map_or(&[][..], |s| &s.bars);
        let placed = marks.iter().filter_map(|m| Some((bars.get(m.bar)?, m.at)));
        placed.map(move |(bar, at)| fine.since_start(bar, at))
    });
    fine.coarsest(lengths.chain(marks))
}

fn places(clock: Clock, bar: &WrittenBar) -> impl Iterator<Item = Units> + '_ {
    let events = bar.voices.iter().flat_map(|v| &v.events);
    events.map(move |e| clock.place(bar, e.place))
}

/// Where the notes of a stave begin and end, from the starts of the bars that they are written in.
fn played(clock: Clock, stave: &Stave) -> impl Iterator<Item = Units> + '_ {
    let events = stave.bars.iter().flat_map(|b| {
        let events = b.voices.iter().flat_map(|v| &v.events);
        events.flat_map(move |e| e.notes.iter().map(move |n| (b, n)))
    });
    let places = events.filter_map(move |(bar, note)| {
        let input = stave.inputs.get(note.index)?;
        let onset = (!note.tied_from).then_some(input.onset);
        let end = (!note.tied_to).then_some(input.onset + input.duration);
        Some(
            [onset, end]
                .into_iter()
                .flatten()
                .map(move |at| clock.since_start(bar, at)),
        )
    });
    places.flatten()
}

/// What writes the notes of each stave.
fn pens<'a>(part: &'a ScorePart, beside: &'a [Beside<'a>], clock: Clock) -> Vec<Pen<'a>> {
    let many = part.staves.len() > 1;
    let staves = part.staves.iter().zip(beside).enumerate();
    let pen = |(at, (stave, beside))| Pen {
        part,
        stave,
        number: many.then_some(at + 1),
        clock,
        beside,
    };
    staves.map(pen).collect()
}
