//! A song in another key.

use super::song::{Song, Track, Warning};
use crate::music::{Interval, KeySignature, Sounding, SpelledName};

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
        sort(track);
    }
    move_names(&mut song, by);
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
fn sort(track: &mut Track) {
    if track.notes.is_sorted_by_key(|n| (n.onset, n.pitch)) {
        return;
    }
    let mut order: Vec<usize> = (0..track.notes.len()).collect();
    order.sort_by_key(|i| track.notes.get(*i).map(|n| (n.onset, n.pitch)));
    track.notes = picked(&track.notes, &order);
    track.played = picked(&track.played, &order);
    track.names = picked(&track.names, &order);
}

fn picked<T: Copy>(from: &[T], order: &[usize]) -> Vec<T> {
    order.iter().filter_map(|i| from.get(*i).copied()).collect()
}

/// Moves the names of a song with its pitches: as the key at the beginning moves, so that what was plain stays plain.
fn move_names(song: &mut Song, by: Interval) {
    let key = song.keys.first();
    let key = key.map_or(KeySignature::C_MAJOR, |k| k.signature);
    let places = i32::from(key.key().up(by).signature().fifths()) - i32::from(key.fifths());
    for name in song.tracks.iter_mut().flat_map(|t| &mut t.names).flatten() {
        *name = SpelledName::writable(name.fifths() + places);
    }
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
