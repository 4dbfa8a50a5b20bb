//! What the tracks themselves tell of where the melody is.

use super::onsets::Onset;
use super::reading::ReadNote;
use super::song::Song;
use std::collections::BTreeMap;

/// Score for a note of each track to be melody; no entry means 0.
pub(super) type TrackPrior = BTreeMap<usize, f64>;

#[derive(Default)]
struct Sums {
    notes: f64,
    pitch: f64,
    chords: f64,
}

/// The prior: a file with one track of notes has none. With more, the track named like a
/// melody, else the highest on average, is likely; if it also has one note at a time it is
/// very likely. Weights chosen by trial.
pub(super) fn track_prior(song: &Song, notes: &[ReadNote], onsets: &[Onset]) -> TrackPrior {
    let sums = sums(notes, onsets);
    if sums.len() < 2 {
        return TrackPrior::new();
    }
    let highest = sums
        .iter()
        .max_by(|a, b| (a.1.pitch / a.1.notes).total_cmp(&(b.1.pitch / b.1.notes)));
    let named = sums.keys().find(|t| {
        song.tracks
            .get(**t)
            .is_some_and(|track| is_melody_name(&track.name))
    });
    let Some(melody) = named.copied().or(highest.map(|h| *h.0)) else {
        return TrackPrior::new();
    };
    let single = sums
        .get(&melody)
        .is_some_and(|s| s.chords <= 0.02 * s.notes);
    let (yes, no) = if single { (4.0, -2.5) } else { (0.8, -0.8) };
    sums.keys()
        .map(|t| (*t, if *t == melody { yes } else { no }))
        .collect()
}

/// The same for the bass: the track that is lowest on average, if it has one note at a time.
pub(super) fn bass_prior(notes: &[ReadNote], onsets: &[Onset]) -> TrackPrior {
    let sums = sums(notes, onsets);
    let lowest = sums
        .iter()
        .min_by(|a, b| (a.1.pitch / a.1.notes).total_cmp(&(b.1.pitch / b.1.notes)));
    let single = lowest.filter(|l| l.1.chords <= 0.02 * l.1.notes);
    match single {
        Some((bass, _)) if sums.len() > 2 => sums
            .keys()
            .map(|t| (*t, if t == bass { 4.0 } else { -2.5 }))
            .collect(),
        _ => TrackPrior::new(),
    }
}

fn sums(notes: &[ReadNote], onsets: &[Onset]) -> BTreeMap<usize, Sums> {
    let mut sums: BTreeMap<usize, Sums> = BTreeMap::new();
    for onset in onsets {
        let mut here: BTreeMap<usize, f64> = BTreeMap::new();
        for note in &notes[onset.notes.clone()] {
            let track = sums.entry(note.track).or_default();
            track.notes += 1.0;
            track.pitch += f64::from(note.pitch.midi());
            *here.entry(note.track).or_default() += 1.0;
        }
        for (track, count) in here {
            sums.entry(track).or_default().chords += count - 1.0;
        }
    }
    sums
}

fn is_melody_name(name: &str) -> bool {
    let name = name.to_lowercase();
    ["melod", "voice", "vocal", "soprano", "right", "treble"]
        .iter()
        .any(|word| name.contains(word))
        || name == "rh"
}
