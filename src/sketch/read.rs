//! A song to its reading: the stages of this folder joined.

use super::figures::find_figures;
use super::form::{find_form, find_stretches};
use super::harmony::{Weights, find_chords, notes_in_chords};
use super::keys::find_keys;
use super::lines::find_lines;
use super::phrases::find_phrases;
use super::reading::{Line, ReadNote, Reading};
use super::slices::{slices, sustain};
use super::song::{Song, Warning};
use super::spelling::spell_notes;
use super::tags::Tags;

/// Reads a sketch: lines, slices, chords, keys and phrases of its pitched notes.
///
/// Percussion (channel index 9, General MIDI) and the tracks whose indices are in `leave_out`
/// (the arranger's own parts) are not read. Time grows with the number of notes. A song without
/// pitched notes gives an empty reading with a warning.
#[must_use]
pub fn read_sketch(song: &Song, leave_out: &[usize]) -> Reading {
    let options = ReadOptions {
        leave_out,
        ..ReadOptions::default()
    };
    read_sketch_with(song, &options)
}

/// How a sketch is read.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct ReadOptions<'a> {
    /// Indices of tracks that are not read: the arranger's own parts.
    pub leave_out: &'a [usize],
    /// What the arranger says of the lines.
    pub tags: Tags,
    /// The line of every note, as a reading of the same music found it; empty: the lines are to be
    /// found. So that music moved to another key is read alike.
    pub lines: &'a [Line],
    /// Whether to keep what spoke for and against each note's being melody.
    pub why: bool,
}

/// Reads a sketch as [`read_sketch`] does, with all options.
#[must_use]
pub fn read_sketch_with(song: &Song, options: &ReadOptions<'_>) -> Reading {
    let (mut notes, channels) = pitched_notes(song, options.leave_out);
    let mut warnings = Vec::new();
    if notes.is_empty() {
        warnings.push(Warning::music("the sketch holds no pitched notes to read"));
        return Reading {
            warnings,
            ..Reading::default()
        };
    }
    sustain(song, &mut notes, &channels);
    let (tagged, unused) = options.tags.lines(song, &notes);
    warnings.extend(unused);
    for (note, tag) in notes.iter_mut().zip(tagged) {
        note.tag = tag;
    }
    for (note, line) in notes.iter_mut().zip(options.lines) {
        note.tag = Some(*line);
    }
    let (turns, melody_evidence) = find_lines(song, &mut notes, options.why);
    let mut slices = slices(&notes);
    let keys = find_keys(song, &notes, &mut warnings);
    let chords = find_chords(&notes, &mut slices, &keys, &song.meters, &Weights::USUAL);
    let in_chord = notes_in_chords(&notes, &chords, &keys, &song.meters);
    let end = slices.last().map_or_else(|| song.end(), |s| s.end);
    let stretches = find_stretches(song, &notes);
    let phrases = find_phrases(song, &notes, &stretches, end);
    let form = find_form(song, &notes, &chords, &phrases, stretches);
    let mut names = spell_notes(&notes, &keys, song.quarter);
    // What a score says of its own names is not guessed.
    for (name, note) in names.iter_mut().zip(&notes) {
        *name = song.name(note.track, note.index).unwrap_or(*name);
    }
    let figures = find_figures(&notes, &turns, &song.meters);
    Reading {
        notes,
        slices,
        chords,
        keys,
        phrases,
        warnings,
        names,
        form,
        in_chord,
        figures,
        melody_evidence,
    }
}

/// The notes to read with the channel of each, by onset, then pitch, then track.
fn pitched_notes(song: &Song, leave_out: &[usize]) -> (Vec<ReadNote>, Vec<u8>) {
    let mut all: Vec<(ReadNote, u8)> = Vec::new();
    for (track, source) in song.tracks.iter().enumerate() {
        if leave_out.contains(&track) {
            continue;
        }
        let pitched = source.notes.iter().enumerate();
        for (index, note) in pitched.filter(|(_, n)| !n.is_percussion()) {
            let played = source.played.get(index);
            let read = ReadNote {
                onset: note.onset,
                duration: note.duration,
                sounds_until: note.end(),
                pitch: note.pitch,
                velocity: note.velocity,
                track,
                line: Line::Harmony,
                confidence: 0.0,
                tag: None,
                index,
                grace: played.is_some_and(|p| p.grace),
                rolled: played.is_some_and(|p| p.rolled),
                doubles: None,
            };
            all.push((read, note.channel));
        }
    }
    all.sort_by_key(|(n, _)| (n.onset, n.pitch, n.track));
    all.into_iter().unzip()
}
