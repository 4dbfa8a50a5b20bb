//! MusicXML bytes to a [`Song`] (MusicXML 4.0 and older, partwise and timewise, `.mxl` too).
//!
//! In order: `package` unpacks, `encoding` makes text of bytes, `guard` refuses what only wants to
//! fill the memory, `layout` finds the measures of each part, `part` reads them, `flow` puts them
//! into playing order, `bars` lays them on a grid, `song` joins all. Nothing is ever fetched:
//! external entities are not resolved.

mod attributes;
mod bars;
mod direction;
mod dynamics;
mod encoding;
mod flow;
mod guard;
mod instruments;
mod layout;
mod measure;
mod note;
mod oddities;
mod package;
mod part;
mod song;
mod ties;
mod tree;
mod units;

use super::song::{ReadError, Song};
use super::warnings::Warnings;
use oddities::Oddities;
use roxmltree::{Document, ParsingOptions};

/// Most nodes of a file: a score of thirty parts by a thousand full bars has fewer.
const MOST_NODES: u32 = 8_000_000;

/// Whether bytes are to be read as MusicXML: packed, or text that begins with a tag.
#[must_use]
pub fn is_musicxml(bytes: &[u8]) -> bool {
    package::is_package(bytes) || encoding::begins_with_tag(bytes)
}

/// Reads a MusicXML file, packed or not: notes as they sound, in the order in which they are played.
///
/// Every staff of a part becomes a track with the part's name. Names of notes stand in
/// [`super::song::Track::names`], grace notes and rolled chords in
/// [`super::song::Track::played`]. What is not understood is passed over, with a warning for each kind.
///
/// ```
/// use bandwright::sketch::read_musicxml;
///
/// let text = "<score-partwise><part-list><score-part id='P1'><part-name>Flute</part-name>\
///     </score-part></part-list><part id='P1'><measure number='1'>\
///     <attributes><divisions>1</divisions><transpose><chromatic>-2</chromatic></transpose></attributes>\
///     <note><pitch><step>D</step><octave>4</octave></pitch><duration>4</duration></note>\
///     </measure></part></score-partwise>";
/// let song = read_musicxml(text.as_bytes())?;
/// assert_eq!(song.tracks[0].name, "Flute");
/// assert_eq!(song.tracks[0].notes[0].pitch.midi(), 60);
/// # Ok::<(), bandwright::sketch::ReadError>(())
/// ```
///
/// # Errors
/// Where nothing can be rescued: no MusicXML, another encoding than UTF-8 or UTF-16, damaged, larger or more deeply nested
/// than any score, jumps to nowhere. The error says where and what to do.
pub fn read_musicxml(bytes: &[u8]) -> Result<Song, ReadError> {
    let mut warnings = Warnings::default();
    let unpacked;
    let bytes = if package::is_package(bytes) {
        unpacked = package::unpack(bytes, &mut warnings)?;
        &unpacked
    } else {
        bytes
    };
    let text = encoding::decoded(bytes)?;
    guard::refuse_unsafe(&text)?;
    let options = ParsingOptions {
        allow_dtd: true,
        nodes_limit: MOST_NODES,
        entity_resolver: None,
    };
    let document =
        Document::parse_with_options(&text, options).map_err(|e| tree::broken(&text, &e))?;
    let mut oddities = Oddities::default();
    let score = layout::read_layout(&document, &mut oddities)?;
    let song = song::read_score(&score, &mut oddities)?;
    oddities.tell(&mut warnings);
    Ok(Song {
        warnings: warnings.finish(),
        ..song
    })
}
