//! The parts as they were sent out, in the bars of what came back.

use super::bar_map::BarMap;
use super::bar_notes::Sheet;
use crate::band::Band;
use crate::sketch::{Note, Song, Track};

/// The parts that were sent out, each bar where it is now; bars that were cut are left out, what was put in is
/// empty. Times are in the ticks of what came back.
pub(super) fn moved(ours: &Sheet<'_>, map: &BarMap<'_>, (back, band): (&Song, &Band)) -> Song {
    let tracks = ours.parts().map(|part| {
        let notes = ours.notes_of(part).iter();
        let mut notes: Vec<Note> = notes.filter_map(|n| map.note(n)).collect();
        notes.sort();
        Track {
            name: band.part(part).name.clone(),
            notes,
            ..Track::default()
        }
    });
    Song {
        tracks: tracks.collect(),
        ..back.clone()
    }
}
