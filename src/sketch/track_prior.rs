//! What the tracks themselves tell of where the melody is.

use super::onsets::Onset;
use super::reading::ReadNote;
use super::song::Song;
use crate::music::MeterMap;
use std::collections::{BTreeMap, BTreeSet};

/// A track lower than this on average is a bass rather than a tune.
const LOWEST_TUNE: f64 = 45.0;

/// Score for a note of a track to be of a line, where that line's own tracks play.
#[derive(Debug, Default)]
pub(super) struct TrackPrior {
    /// The tracks of the line.
    own: BTreeSet<usize>,
    /// The bars where those play, and their neighbours; `None` for all.
    bars: Option<BTreeSet<u32>>,
    yes: f64,
    no: f64,
}

impl TrackPrior {
    /// The score of a note.
    pub(super) fn score(&self, note: &ReadNote, meters: &MeterMap) -> f64 {
        if self.own.contains(&note.track) {
            return self.yes;
        }
        let bar = meters.bar(note.onset).0;
        match &self.bars {
            Some(bars) if !bars.contains(&bar) => 0.0,
            _ => self.no,
        }
    }
}

#[derive(Default)]
struct Sums {
    notes: f64,
    pitch: f64,
    chords: f64,
    bars: BTreeSet<u32>,
}

impl Sums {
    fn mean(&self) -> f64 {
        self.pitch / self.notes.max(1.0)
    }

    /// Whether it has one note at a time.
    fn is_single(&self) -> bool {
        self.chords <= 0.02 * self.notes
    }
}

/// Bars with their neighbours.
fn widened(bars: &BTreeSet<u32>) -> BTreeSet<u32> {
    bars.iter()
        .flat_map(|b| [b.saturating_sub(1), *b, b.saturating_add(1)])
        .collect()
}

/// The prior for the melody: a file with one track of notes has none. With more, the track named
/// like a melody, else the highest on average, is likely; if it has one note at a time it is very
/// likely, and so are other such tracks that play where it rests. Weights chosen by trial.
pub(super) fn track_prior(song: &Song, notes: &[ReadNote], onsets: &[Onset]) -> TrackPrior {
    let sums = sums(notes, onsets, &song.meters);
    if sums.len() < 2 {
        return TrackPrior::default();
    }
    let mut by_height: Vec<(usize, &Sums)> = sums.iter().map(|(t, s)| (*t, s)).collect();
    by_height.sort_by(|a, b| b.1.mean().total_cmp(&a.1.mean()));
    let named = by_height.iter().find(|(t, _)| {
        song.tracks
            .get(*t)
            .is_some_and(|track| is_melody_name(&track.name))
    });
    let Some((melody, first)) = named.or(by_height.first()).copied() else {
        return TrackPrior::default();
    };
    let mut own = BTreeSet::from([melody]);
    if !first.is_single() {
        return TrackPrior {
            own,
            bars: None,
            yes: 0.8,
            no: -0.8,
        };
    }
    if named.is_none() && may_be_figure(melody, &sums) {
        return TrackPrior::default();
    }
    let mut bars = first.bars.clone();
    for (track, sums) in by_height.iter().filter(|s| s.1.is_single()) {
        let shared = sums.bars.intersection(&bars).count();
        if 5 * shared < sums.bars.len() && sums.mean() >= first.mean() - 7.0 {
            own.insert(*track);
            bars.extend(&sums.bars);
        }
    }
    TrackPrior {
        own,
        bars: Some(widened(&bars)),
        yes: 4.0,
        no: -2.5,
    }
}

/// Whether another track of single notes goes along with this one, half as fast or slower, so
/// that this may be a figure over a tune in it.
fn may_be_figure(track: usize, sums: &BTreeMap<usize, Sums>) -> bool {
    let Some(own) = sums.get(&track) else {
        return false;
    };
    sums.iter().any(|(other, slow)| {
        let shared = slow.bars.intersection(&own.bars).count();
        *other != track
            && slow.is_single()
            && slow.mean() >= LOWEST_TUNE
            && 2.0 * slow.notes <= own.notes
            && 2 * shared >= own.bars.len()
    })
}

/// The same for the bass: of three tracks or more the lowest on average, if it has one note at a
/// time.
pub(super) fn bass_prior(song: &Song, notes: &[ReadNote], onsets: &[Onset]) -> TrackPrior {
    let sums = sums(notes, onsets, &song.meters);
    let lowest = sums
        .iter()
        .min_by(|a, b| a.1.mean().total_cmp(&b.1.mean()))
        .filter(|l| l.1.is_single());
    match lowest {
        Some((bass, low)) if sums.len() > 2 => TrackPrior {
            own: BTreeSet::from([*bass]),
            bars: Some(widened(&low.bars)),
            yes: 4.0,
            no: -2.5,
        },
        _ => TrackPrior::default(),
    }
}

fn sums(notes: &[ReadNote], onsets: &[Onset], meters: &MeterMap) -> BTreeMap<usize, Sums> {
    let mut sums: BTreeMap<usize, Sums> = BTreeMap::new();
    for onset in onsets {
        let bar = meters.bar(onset.at).0;
        let mut here: BTreeMap<usize, f64> = BTreeMap::new();
        for note in &notes[onset.notes.clone()] {
            let track = sums.entry(note.track).or_default();
            track.notes += 1.0;
            track.bars.insert(bar);
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
