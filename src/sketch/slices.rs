//! Slices: stretches of time in which what sounds does not change.

use super::reading::{ReadNote, Slice};
use super::song::{PedalSpan, Song};
use crate::music::{PitchClassSet, Tick};
use std::collections::{BTreeMap, BTreeSet};

/// How many sounding notes a slice names at most, lowest first. No hand plays more; the bound
/// keeps time and memory linear for files that pile notes up.
const MOST_SOUNDING: usize = 256;

/// Sets how long each note sounds: to the pedal's release if a pedal of its channel is down when
/// the key comes up, but not past the next stroke of the same pitch on that channel.
///
/// `channels` holds the channel of each note; notes are in order of onset.
pub(super) fn sustain(song: &Song, notes: &mut [ReadNote], channels: &[u8]) {
    let pedals = pedals_by_channel(song);
    let mut struck_next: BTreeMap<(u8, u8), Tick> = BTreeMap::new();
    for (note, channel) in notes.iter_mut().zip(channels).rev() {
        let end = note.end();
        let up = pedals.get(channel).and_then(|spans| release(spans, end));
        let key = (*channel, note.pitch.midi());
        let next = struck_next.get(&key).copied();
        let until = up.map_or(end, |up| next.map_or(up, |next| up.min(next)));
        note.sounds_until = until.max(end);
        struck_next.insert(key, note.onset);
    }
}

/// The stretches with the pedal down, by channel, in order, without overlaps.
pub(super) fn pedals_by_channel(song: &Song) -> BTreeMap<u8, Vec<PedalSpan>> {
    let mut all: Vec<PedalSpan> = song.tracks.iter().flat_map(|t| t.pedal.clone()).collect();
    all.sort_by_key(|p| p.down);
    let mut spans: BTreeMap<u8, Vec<PedalSpan>> = BTreeMap::new();
    for pedal in all {
        let of_channel = spans.entry(pedal.channel).or_default();
        match of_channel.last_mut() {
            Some(last) if pedal.down < last.up => last.up = last.up.max(pedal.up),
            _ => of_channel.push(pedal),
        }
    }
    spans
}

/// When a pedal that is down at `key_up` comes up.
pub(super) fn release(spans: &[PedalSpan], key_up: Tick) -> Option<Tick> {
    let next = spans.partition_point(|s| s.down < key_up);
    let span = spans.get(next.checked_sub(1)?)?;
    (key_up < span.up).then_some(span.up)
}

/// The slices of the notes, silent ones included, from the first onset to the last end. Notes are
/// in order of onset.
#[must_use]
pub fn slices(notes: &[ReadNote]) -> Vec<Slice> {
    let mut bounds: Vec<Tick> = notes
        .iter()
        .flat_map(|n| [n.onset, n.sounds_until])
        .collect();
    bounds.sort_unstable();
    bounds.dedup();
    let mut ends: Vec<usize> = (0..notes.len()).collect();
    ends.sort_by_key(|i| notes[*i].sounds_until);
    let (mut next_on, mut next_off) = (0, 0);
    let mut active: BTreeSet<(u8, usize)> = BTreeSet::new();
    let mut slices = Vec::with_capacity(bounds.len());
    for pair in bounds.windows(2) {
        while let Some(i) = ends
            .get(next_off)
            .filter(|i| notes[**i].sounds_until <= pair[0])
        {
            active.remove(&(notes[*i].pitch.midi(), *i));
            next_off += 1;
        }
        while let Some(note) = notes.get(next_on).filter(|n| n.onset <= pair[0]) {
            active.insert((note.pitch.midi(), next_on));
            next_on += 1;
        }
        let sounding: Vec<usize> = active.iter().take(MOST_SOUNDING).map(|a| a.1).collect();
        let classes: PitchClassSet = sounding.iter().map(|i| notes[*i].pitch.class()).collect();
        slices.push(Slice {
            start: pair[0],
            end: pair[1],
            sounding,
            classes,
            chord: None,
        });
    }
    slices
}
