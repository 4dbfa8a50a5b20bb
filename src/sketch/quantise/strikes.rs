//! Strikes: all notes of a song in the order in which their keys go down, with times in seconds.

use crate::music::Tick;
use crate::sketch::slices::{pedals_by_channel, release};
use crate::sketch::song::Song;

/// Longest that a grace note is held, in seconds. Common practice, no source.
const GRACE_HELD: f64 = 0.13;
/// Farthest that a grace note stands before its principal note, in seconds.
const GRACE_LEAD: f64 = 0.16;
/// A principal note is held at least so many times longer than its grace note.
const GRACE_RATIO: f64 = 2.5;
/// Widest interval from a grace note to its principal note, in semitones.
const GRACE_STEP: u8 = 12;
/// Notes shorter than this, in seconds, are triggers: their ends tell nothing.
const TRIGGER: f64 = 0.04;
/// How far the ends of two notes in a row may overlap, in seconds.
const OVERLAP: f64 = 0.03;
/// How many strikes ahead a principal note is looked for.
const AHEAD: usize = 12;

/// A note with all that its written time depends on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Strike {
    /// Index of its track.
    pub(super) track: usize,
    /// Index in the notes of its track.
    pub(super) index: usize,
    /// MIDI number of its pitch.
    pub(super) pitch: u8,
    /// MIDI channel from 0.
    pub(super) channel: u8,
    /// 1 to 127.
    pub(super) velocity: u8,
    /// Where the key goes down in the file.
    pub(super) onset: Tick,
    /// Where the key comes up in the file.
    pub(super) end: Tick,
    /// When the key goes down, in seconds.
    pub(super) down: f64,
    /// When it counts as struck, in seconds: where a chord is rolled, the middle of the chord.
    pub(super) heard: f64,
    /// When the key comes up, in seconds.
    pub(super) up: f64,
    /// Until where it sounds in the file: the pedal's release if that is later.
    pub(super) sounds: Tick,
    /// Whether it may be a grace note.
    pub(super) may_be_grace: bool,
}

impl Strike {
    /// How long the key is held, in seconds.
    pub(super) fn held(&self) -> f64 {
        self.up - self.down
    }

    /// Whether a later strike cannot be of the same chord: the same pitch struck again, or a key
    /// that goes down when this one is up.
    pub(super) fn leads_to(&self, later: &Self) -> bool {
        if self.pitch == later.pitch && self.channel == later.channel {
            return self.end <= later.onset;
        }
        let told = self.held() >= TRIGGER && self.channel != 9 && later.channel != 9;
        told && self.up - OVERLAP.min(0.3 * self.held()) <= later.down
    }
}

/// All strikes of a song by onset, then pitch, then track.
pub(super) fn strikes(song: &Song) -> Vec<Strike> {
    let pedals = pedals_by_channel(song);
    let mut all = Vec::new();
    for (track, source) in song.tracks.iter().enumerate() {
        for (index, note) in source.notes.iter().enumerate() {
            let end = note.end();
            let pedal = pedals.get(&note.channel).and_then(|s| release(s, end));
            all.push(Strike {
                track,
                index,
                pitch: note.pitch.midi(),
                channel: note.channel,
                velocity: note.velocity,
                onset: note.onset,
                end,
                down: song.tempo.seconds(note.onset),
                heard: song.tempo.seconds(note.onset),
                up: song.tempo.seconds(end),
                sounds: pedal.unwrap_or(end).max(end),
                may_be_grace: false,
            });
        }
    }
    all.sort_by_key(|s| (s.onset, s.pitch, s.track, s.index));
    for i in 0..all.len() {
        let may = may_be_grace(&all, i);
        if let Some(strike) = all.get_mut(i) {
            strike.may_be_grace = may;
        }
    }
    gather_rolled(&mut all, song.tracks.len());
    all
}

/// Longest step between two notes of a rolled chord, in seconds.
const ROLL_STEP: f64 = 0.04;
/// All notes of a rolled chord are held for so long after the last is struck, in seconds.
const ROLL_HELD: f64 = 0.03;

/// Lets the notes of rolled chords count as struck together. The order of strikes stays.
fn gather_rolled(all: &mut [Strike], tracks: usize) {
    let mut by_track: Vec<Vec<usize>> = vec![Vec::new(); tracks];
    for (i, strike) in all.iter().enumerate() {
        if let Some(row) = by_track
            .get_mut(strike.track)
            .filter(|_| strike.channel != 9)
        {
            row.push(i);
        }
    }
    for row in by_track {
        let mut start = 0;
        while start < row.len() {
            let count = rolled(all, &row[start..]);
            if count >= 3 {
                let chord = &row[start..start + count];
                let middle = chord.iter().map(|i| all[*i].down).sum::<f64>() / count as f64;
                chord.iter().for_each(|i| all[*i].heard = middle);
            }
            start += count.max(1);
        }
    }
    let mut latest = f64::NEG_INFINITY;
    for strike in all {
        strike.heard = strike.heard.max(latest);
        latest = strike.heard;
    }
}

/// How many strikes from the first on are one rolled chord: quickly one after another, all up or
/// all down, all held together.
fn rolled(all: &[Strike], row: &[usize]) -> usize {
    let at = |k: usize| row.get(k).map(|i| &all[*i]);
    let (Some(first), Some(second)) = (at(0), at(1)) else {
        return row.len();
    };
    let up = second.pitch > first.pitch;
    let mut count = 1;
    let mut released = first.up;
    while let (Some(last), Some(next)) = (at(count - 1), at(count)) {
        let goes_on = next.pitch != last.pitch && (next.pitch > last.pitch) == up;
        released = released.min(next.up);
        if !goes_on || next.down - last.down > ROLL_STEP || released < next.down + ROLL_HELD {
            break;
        }
        count += 1;
    }
    count
}

/// Whether a strike is a very short note right before a longer one of its track.
fn may_be_grace(all: &[Strike], i: usize) -> bool {
    let Some((grace, rest)) = all.get(i..).and_then(<[Strike]>::split_first) else {
        return false;
    };
    let near = |s: &&Strike| s.down - grace.down < GRACE_LEAD;
    let principal = |s: &Strike| {
        s.track == grace.track
            && s.channel == grace.channel
            && s.pitch != grace.pitch
            && s.pitch.abs_diff(grace.pitch) <= GRACE_STEP
            && s.held() >= GRACE_RATIO * grace.held()
            && grace.up <= s.down + 0.06
            && s.down > grace.down
    };
    grace.channel != 9
        && grace.held() < GRACE_HELD
        && rest.iter().take(AHEAD).take_while(near).any(principal)
}

/// An attack: strikes that are near enough in time to be one.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Attack {
    /// Mean time of its strikes, in seconds.
    pub(super) at: f64,
    /// Mean onset of its strikes, in ticks of the file.
    pub(super) tick: f64,
    /// How much it stands out.
    pub(super) weight: f64,
}

/// Widest attack, in seconds: sounds within some 30 to 50 ms are heard as one (Dixon 2001 joins
/// within 70 ms).
const ATTACK: f64 = 0.05;

/// Strikes gathered by nearness alone, for the search for beats. What stands out is loud, low,
/// long and full (Dixon 2001, from memory).
pub(super) fn attacks(strikes: &[Strike]) -> Vec<Attack> {
    let mut found = Vec::new();
    let mut start = 0;
    while let Some(first) = strikes.get(start) {
        let group = &strikes[start..];
        let count = group.partition_point(|s| s.down <= first.down + ATTACK);
        let group = &group[..count.max(1)];
        let number = group.len() as f64;
        let sum = |f: fn(&Strike) -> f64| group.iter().map(f).sum::<f64>();
        let most = |f: fn(&Strike) -> f64| group.iter().map(f).fold(0.0, f64::max);
        let low = group.iter().map(|s| s.pitch).min().unwrap_or(60);
        let weight = 0.5
            + 0.5 * number.min(5.0).sqrt()
            + 1.2 * most(Strike::held).min(1.2)
            + 0.8 * (f64::from(60_u8.saturating_sub(low)) / 12.0).min(2.0)
            + 0.5 * most(|s| f64::from(s.velocity)) / 127.0;
        found.push(Attack {
            at: sum(|s| s.down) / number,
            tick: sum(|s| s.onset.0 as f64) / number,
            weight,
        });
        start += group.len();
    }
    found
}
