//! Lines: which note is melody, bass, harmony, figure or a second tune.

use super::bass::{BassView, find_bass};
use super::figures::Turn;
use super::filling::sort_filling;
use super::melody::{MelodyView, find_melody, mark_doubles};
use super::onsets::{Onset, onsets};
use super::reading::{Evidence, Line, ReadNote};
use super::song::Song;
use super::tags::TagPoints;
use super::track_prior::{bass_prior, track_prior};

/// Sets the line and confidence of every note. Notes are in order of onset, then pitch. Where the
/// arranger has tagged a note, that holds, and the rest is found around it. Gives the turns of the low
/// notes' patterns and, if asked `why`, what spoke for and against each note's being melody.
pub(super) fn find_lines(
    song: &Song,
    notes: &mut [ReadNote],
    why: bool,
) -> (Vec<Turn>, Vec<Vec<Evidence>>) {
    let answer = sort_into_lines(song, notes, why);
    for note in notes.iter_mut() {
        if let Some(line) = note.tag {
            note.line = line;
            note.confidence = 1.0;
        }
    }
    mark_doubles(notes, song.quarter);
    answer
}

fn sort_into_lines(
    song: &Song,
    notes: &mut [ReadNote],
    why: bool,
) -> (Vec<Turn>, Vec<Vec<Evidence>>) {
    let onsets = onsets(notes);
    if one_at_a_time(song, notes, &onsets) {
        for note in notes {
            note.line = Line::Melody;
            note.confidence = 1.0;
        }
        return (Vec::new(), Vec::new());
    }
    let prior = track_prior(song, notes, &onsets);
    let (melody, evidence) = find_melody(&MelodyView {
        notes,
        prior: &prior,
        meters: &song.meters,
        why,
    });
    let mut free = vec![true; notes.len()];
    let low_prior = bass_prior(song, notes, &onsets);
    let mut is_melody = flags(notes.len(), &melody);
    for (taken, note) in is_melody.iter_mut().zip(notes.iter()) {
        // What is tagged as another line is out of the way of the bass.
        *taken |= note.tag.is_some_and(|line| line != Line::Bass);
    }
    let found = find_bass(&BassView {
        notes,
        onsets: &onsets,
        melody: &is_melody,
        meters: &song.meters,
        prior: &low_prior,
        tags: &TagPoints::new(notes, Line::Bass),
    });
    for (line, found) in [(Line::Bass, found.bass), (Line::Melody, melody)] {
        for (i, confidence) in found {
            notes[i].line = line;
            notes[i].confidence = confidence;
            free[i] = false;
        }
    }
    for (note, sure) in notes
        .iter_mut()
        .zip(found.not_bass)
        .filter(|(n, _)| n.line == Line::Harmony)
    {
        note.confidence = sure;
    }
    sort_filling(notes, &onsets, &free, &found.upper, song.quarter);
    (found.turns, evidence)
}

fn flags(count: usize, found: &[(usize, f32)]) -> Vec<bool> {
    let mut flags = vec![false; count];
    for (i, _) in found {
        flags[*i] = true;
    }
    flags
}

/// Whether no two notes sound together, but for joins shorter than an eighth of a beat.
fn one_at_a_time(song: &Song, notes: &[ReadNote], onsets: &[Onset]) -> bool {
    let join = u64::from(song.quarter.get()) / 8;
    onsets.iter().all(|o| o.notes.len() == 1)
        && notes
            .windows(2)
            .all(|pair| pair[0].end().since(pair[1].onset).0 <= join)
}
