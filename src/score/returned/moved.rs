//! The parts as they were sent out, in the bars of what came back.

use super::align::Alignment;
use super::bar_notes::Sheet;
use crate::band::{Band, PartId};
use crate::music::{Tick, Ticks};
use crate::sketch::{Note, Song, Track};

/// The parts that were sent out, each bar where it is now; bars that were cut are left out, what was put in is
/// empty. Times are in the ticks of what came back.
pub(super) fn moved(
    ours: &Sheet<'_>,
    theirs: &Sheet<'_>,
    bars: &Alignment,
    (back, band): (&Song, &Band),
) -> Song {
    let tracks = ours.parts().map(|part| Track {
        name: band.part(part).name.clone(),
        notes: line(ours, theirs, bars, part),
        ..Track::default()
    });
    Song {
        tracks: tracks.collect(),
        ..back.clone()
    }
}

fn line(ours: &Sheet<'_>, theirs: &Sheet<'_>, bars: &Alignment, part: PartId) -> Vec<Note> {
    let (from, to) = (ours.song.quarter.get(), theirs.song.quarter.get());
    let scaled = |ticks: u64| {
        let from = u128::from(from);
        let all = (u128::from(ticks) * u128::from(to) + from / 2) / from;
        u64::try_from(all).unwrap_or(u64::MAX)
    };
    let mut moved = Vec::new();
    for (sent, back) in bars.both() {
        let (start, end) = (
            ours.song.meters.bar_start(sent),
            ours.song.meters.bar_end(sent),
        );
        let now = theirs.song.meters.bar_start(back);
        let notes = ours.notes_of(part);
        let first = notes.partition_point(|n| n.onset < start);
        let last = notes.partition_point(|n| n.onset < end).max(first);
        moved.extend(notes[first..last].iter().map(|note| Note {
            onset: Tick(now.0.saturating_add(scaled(note.onset.since(start).0))),
            duration: Ticks(scaled(note.duration.0).max(1)),
            ..*note
        }));
    }
    moved.sort();
    moved
}
