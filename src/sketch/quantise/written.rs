//! Notes as they are written: onsets, lengths, and what is an ornament.

use super::fit::{Fitted, Spot};
use super::lengths::{Held, length};
use super::strikes::Strike;
use super::voices::followers;
use crate::music::Tick;
use std::collections::BTreeMap;

/// A note as it is written.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct WrittenNote {
    /// The note as it was played.
    pub(super) strike: Strike,
    /// Its written onset, in ticks.
    pub(super) onset: u64,
    /// Its written length, in ticks, never zero.
    pub(super) length: u64,
    /// Whether it is a grace note.
    pub(super) grace: bool,
    /// Whether it belongs to a rolled chord.
    pub(super) rolled: bool,
    spot: Spot,
}

/// A grace note is written as a thirty-second before its principal note, or shorter.
const GRACE_PART: u64 = 8;
/// Smallest spread of a rolled chord, in seconds, by whether it has just three notes: three are
/// in order by chance more often.
const ROLL: (f64, f64) = (0.05, 0.035);
/// Smallest step between two notes of a rolled chord, in seconds.
const ROLL_STEP: f64 = 0.004;

/// All notes by written onset. `on_grid` tells where a tick of the file lies on the written grid.
pub(super) fn written(
    strikes: &[Strike],
    fitted: &Fitted,
    quarter: u64,
    on_grid: &dyn Fn(Tick) -> f64,
) -> Vec<WrittenNote> {
    let mut notes = onsets(strikes, fitted, quarter);
    part_repeats(&mut notes, quarter);
    notes.sort_by_key(|n| n.onset);
    set_lengths(&mut notes, quarter, on_grid);
    cut_overlaps(&mut notes);
    mark_rolled(&mut notes);
    notes
}

fn onsets(strikes: &[Strike], fitted: &Fitted, quarter: u64) -> Vec<WrittenNote> {
    let mut notes: Vec<WrittenNote> = Vec::with_capacity(strikes.len());
    let mut waiting: Vec<Strike> = Vec::new();
    let (mut last, mut before) = (0, 0);
    let note = |strike, onset, grace, spot| WrittenNote {
        strike,
        onset,
        length: 1,
        grace,
        rolled: false,
        spot,
    };
    for (strike, spot) in strikes.iter().zip(&fitted.spots) {
        let Some(spot) = spot else {
            waiting.push(*strike);
            continue;
        };
        if spot.tick > last {
            (before, last) = (last, spot.tick);
        }
        let number = waiting.len() as u64;
        let room = spot.tick.saturating_sub(before) / (number + 1);
        let step = (quarter / GRACE_PART).min(room);
        for (k, grace) in waiting.drain(..).enumerate() {
            let back = step * (number - k as u64);
            notes.push(note(grace, spot.tick.saturating_sub(back), true, *spot));
        }
        notes.push(note(*strike, spot.tick, false, *spot));
    }
    // Nothing follows these, so that they grace nothing.
    if let Some(end) = notes.last().copied() {
        notes.extend(
            waiting
                .into_iter()
                .map(|s| note(s, end.onset, false, end.spot)),
        );
    }
    notes
}

/// The last few notes of each key of a channel: written time and time in the file.
#[derive(Default)]
struct Recent(BTreeMap<(u8, u8), Vec<(u64, Tick)>>);

/// How many are kept: more than that are never down on one key at a time.
const RECENT: usize = 8;

impl Recent {
    fn of(&self, strike: &Strike) -> &[(u64, Tick)] {
        self.0
            .get(&(strike.channel, strike.pitch))
            .map_or(&[], Vec::as_slice)
    }

    fn add(&mut self, strike: &Strike, written: u64, file: Tick) {
        let row = self.0.entry((strike.channel, strike.pitch)).or_default();
        if row.len() == RECENT {
            row.remove(0);
        }
        row.push((written, file));
    }
}

/// Moves apart what was struck twice on one key but is written at one time.
fn part_repeats(notes: &mut [WrittenNote], quarter: u64) {
    let mut recent = Recent::default();
    for note in notes {
        let before = recent.of(&note.strike).iter();
        let ended = before.clone().filter(|(_, end)| *end <= note.strike.onset);
        let mut onset = note.onset.max(before.map(|b| b.0).max().unwrap_or(0));
        if let Some(last) = ended.map(|e| e.0).max().filter(|l| onset <= *l) {
            let step = (quarter / GRACE_PART).max(1);
            onset = last
                + if last + step <= note.onset + quarter {
                    step
                } else {
                    1
                };
        }
        note.onset = onset;
        recent.add(&note.strike, onset, note.strike.end);
    }
}

fn set_lengths(notes: &mut [WrittenNote], quarter: u64, on_grid: &dyn Fn(Tick) -> f64) {
    let strikes: Vec<Strike> = notes.iter().map(|n| n.strike).collect();
    let written: Vec<u64> = notes.iter().map(|n| n.onset).collect();
    let next = followers(&strikes, &written);
    let any = next_of_track(notes);
    for ((note, next), any) in notes.iter_mut().zip(next).zip(any) {
        let to_next = next
            .map(|n| written[n].saturating_sub(note.onset))
            .filter(|t| *t > 0);
        let mut until = note.strike.end;
        if note.strike.sounds > until {
            let limit = next.map_or(note.strike.sounds, |n| strikes[n].onset);
            until = note.strike.sounds.min(limit).max(until);
        }
        let played = on_grid(until) - on_grid(note.strike.onset);
        note.length = if note.grace {
            (quarter / GRACE_PART)
                .min(note.spot.tick.saturating_sub(note.onset))
                .max(1)
        } else {
            length(
                &note.spot,
                Held {
                    played,
                    to_next,
                    to_any: any.map(|a| a - note.onset),
                    quarter,
                },
            )
        };
    }
}

/// The next written onset in the track of each note, later than its own.
fn next_of_track(notes: &[WrittenNote]) -> Vec<Option<u64>> {
    let mut found = vec![None; notes.len()];
    let mut by_track: BTreeMap<usize, (u64, Option<u64>)> = BTreeMap::new();
    for (i, note) in notes.iter().enumerate().rev() {
        let (at, after) = by_track
            .entry(note.strike.track)
            .or_insert((note.onset, None));
        if note.onset < *at {
            (*at, *after) = (note.onset, Some(*at));
        }
        found[i] = *after;
    }
    found
}

/// Ends a note where its key is struck again, unless the file itself holds both.
fn cut_overlaps(notes: &mut [WrittenNote]) {
    let mut later = Recent::default();
    for note in notes.iter_mut().rev() {
        let after = later.of(&note.strike).iter();
        let next = after
            .filter(|(onset, played)| note.strike.end <= *played && *onset > note.onset)
            .map(|n| n.0)
            .min();
        if let Some(next) = next {
            note.length = note.length.min(next - note.onset);
        }
        later.add(&note.strike, note.onset, note.strike.onset);
    }
}

/// Marks chords of one track whose notes were struck quickly one after another, up or down.
fn mark_rolled(notes: &mut [WrittenNote]) {
    let mut start = 0;
    while start < notes.len() {
        let onset = notes[start].onset;
        let count = notes[start..]
            .iter()
            .take_while(|n| n.onset == onset)
            .count();
        let mut by_track: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (i, note) in notes.iter().enumerate().skip(start).take(count) {
            if !note.grace && note.strike.channel != 9 {
                by_track.entry(note.strike.track).or_default().push(i);
            }
        }
        for group in by_track.values() {
            let mut chord: Vec<Strike> = group.iter().map(|i| notes[*i].strike).collect();
            if is_rolled(&mut chord) {
                group.iter().for_each(|i| notes[*i].rolled = true);
            }
        }
        start += count;
    }
}

fn is_rolled(chord: &mut [Strike]) -> bool {
    chord.sort_by_key(|s| s.pitch);
    let (Some(low), Some(high)) = (chord.first(), chord.last()) else {
        return false;
    };
    let spread = (high.down - low.down).abs();
    let least = if chord.len() < 4 { ROLL.0 } else { ROLL.1 };
    let up = chord
        .windows(2)
        .all(|p| p[0].pitch < p[1].pitch && p[1].down - p[0].down >= ROLL_STEP);
    let down = chord
        .windows(2)
        .all(|p| p[0].pitch < p[1].pitch && p[0].down - p[1].down >= ROLL_STEP);
    chord.len() >= 3 && spread >= least && (up || down)
}
