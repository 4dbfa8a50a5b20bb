//! A song in another key.

use super::song::{Note, Played, Song, Warning};
use crate::music::{Interval, Sounding};

/// The song with all pitched notes and key signatures moved by an interval; percussion (channel
/// index 9) stays. A note that would leave MIDI's 128 pitches is moved by an octave more or less,
/// with a warning.
///
/// ```
/// use bandwright::music::{Interval, Sounding};
/// use bandwright::sketch::{read_song, transposed};
/// # let bytes = include_bytes!("../../assets/demo/harvest-lights.mid");
/// let song = read_song(bytes).unwrap();
/// let tone_lower = transposed(&song, Interval(-2));
/// let first = |s: &bandwright::sketch::Song| s.tracks.iter().find_map(|t| t.notes.first()).unwrap().pitch;
/// assert_eq!(first(&song).up(Interval(-2)), Some(first(&tone_lower)));
/// ```
#[must_use]
pub fn transposed(song: &Song, by: Interval) -> Song {
    let mut song = song.clone();
    let mut folded = 0;
    for track in &mut song.tracks {
        for note in track.notes.iter_mut().filter(|n| !n.is_percussion()) {
            let moved = i32::from(note.pitch.midi()) + i32::from(by.0);
            let inside = into_midi(moved);
            folded += usize::from(i32::from(inside.midi()) != moved);
            note.pitch = inside;
        }
        sort(&mut track.notes, &mut track.played);
    }
    for key in &mut song.keys {
        key.signature = key.signature.key().up(by).signature();
    }
    if folded > 0 {
        song.warnings.push(Warning::music(format!(
            "{folded} notes would leave the range of MIDI and were moved by an octave"
        )));
    }
    song
}

fn into_midi(pitch: i32) -> Sounding {
    let octaves = match pitch {
        p if p < 0 => (11 - p) / 12,
        p if p > 127 => -((p - 116) / 12),
        _ => 0,
    };
    Sounding::nearest(pitch + 12 * octaves)
}

/// Percussion stays where it is, so a track that mixes both may be out of order.
fn sort(notes: &mut Vec<Note>, played: &mut Vec<Played>) {
    if notes.is_sorted_by_key(|n| (n.onset, n.pitch)) {
        return;
    }
    let mut order: Vec<usize> = (0..notes.len()).collect();
    order.sort_by_key(|i| notes.get(*i).map(|n| (n.onset, n.pitch)));
    let sorted = order
        .iter()
        .filter_map(|i| notes.get(*i).copied())
        .collect();
    *played = order
        .iter()
        .filter_map(|i| played.get(*i).copied())
        .collect();
    *notes = sorted;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_leaves_midi_comes_back_by_octaves() {
        for (pitch, inside) in [
            (-1, 11),
            (-12, 0),
            (-13, 11),
            (0, 0),
            (127, 127),
            (128, 116),
            (140, 116),
        ] {
            assert_eq!(i32::from(into_midi(pitch).midi()), inside, "{pitch}");
        }
    }
}
