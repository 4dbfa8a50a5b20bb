//! Every part by itself, as MIDI and as MusicXML.

use super::file_names::numbered_names;
use super::midi::{MidiError, midi_bytes};
use super::musicxml::{MusicXmlError, ScoreInput, part_musicxml_bytes};
use crate::band::{Band, Part, PartId, Roster};
use crate::notation::{Whose, score_order};
use crate::review::Breath;
use crate::score::{Draft, PartLine};
use thiserror::Error;

/// A part by itself.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SinglePart {
    /// Whose it is.
    pub part: PartId,
    /// A file name for it without an ending: its number in score order and its name.
    pub name: String,
    /// Its notes at concert pitch, with tempos, meters, keys and markers.
    pub midi: Vec<u8>,
    /// What its player reads.
    pub musicxml: Vec<u8>,
}

/// Why a part cannot be written by itself.
#[derive(Debug, Error)]
pub enum SinglePartError {
    /// It does not fit into a MIDI file.
    #[error(transparent)]
    Midi(#[from] MidiError),
    /// It does not fit into a MusicXML file.
    #[error(transparent)]
    MusicXml(#[from] MusicXmlError),
}

/// The parts of a band in score order, each with a file name without an ending.
#[must_use]
pub fn single_part_names(band: &Band) -> Vec<(PartId, String)> {
    let order = score_order(band).into_iter();
    let ids = order.filter_map(|(whose, _)| match whose {
        Whose::Part(id) => Some(id),
        Whose::Sketch => None,
    });
    let ids: Vec<PartId> = ids.collect();
    let titles = ids.iter().filter_map(|id| band.parts.get(id.0));
    let names = numbered_names(titles.map(|p| p.name.as_str()));
    ids.into_iter().zip(names).collect()
}

/// All parts by themselves, in score order.
///
/// # Errors
/// Where one of them fits into no file, as [`midi_bytes`] and [`part_musicxml_bytes`] say.
pub fn single_parts(input: &ScoreInput<'_>) -> Result<Vec<SinglePart>, SinglePartError> {
    let names = single_part_names(input.band).into_iter();
    let named = names.filter_map(|(id, name)| Some((id, name, input.band.parts.get(id.0)?)));
    let written = named.map(|(id, name, part)| {
        Ok(SinglePart {
            part: id,
            name,
            midi: midi(input, id, part)?,
            musicxml: part_musicxml_bytes(input, id)?,
        })
    });
    written.collect()
}

/// The part as the only one of a band, without the sketch.
fn midi(input: &ScoreInput<'_>, id: PartId, part: &Part) -> Result<Vec<u8>, MidiError> {
    const ALONE: PartId = PartId(0);
    let band = Band {
        name: input.band.name.clone(),
        note: String::new(),
        parts: vec![part.clone()],
        roster: Roster::default(),
        divisions: Vec::new(),
        resting: Vec::new(),
    };
    let notes = input.draft.lines.get(id.0).map(|l| l.notes.clone());
    let draft = Draft {
        lines: vec![PartLine {
            part: ALONE,
            notes: notes.unwrap_or_default(),
        }],
        melody_changes: Vec::new(),
    };
    let own = input.breaths.iter().filter(|b| b.part == id);
    let breaths: Vec<Breath> = own.map(|b| Breath { part: ALONE, ..*b }).collect();
    let all: Vec<usize> = (0..input.song.tracks.len()).collect();
    midi_bytes(input.song, &all, &band, &draft, &breaths)
}
