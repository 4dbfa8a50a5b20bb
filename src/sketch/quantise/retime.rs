//! A song on its written grid.

use super::bars::Bars;
use super::beats::Beats;
use super::listen::{BeatValue, QUARTER};
use super::quantised::Warp;
use super::written::WrittenNote;
use crate::music::meter::MeterChange;
use crate::music::tempo::TempoChange;
use crate::music::{MeterMap, TempoMap, Tick, Ticks, TicksPerQuarter};
use crate::sketch::song::{Note, Played, Song, Track};

/// The song with written notes; all other events of the tracks move with them.
pub(super) fn retimed(song: &Song, notes: &[WrittenNote], warp: &Warp) -> Song {
    let mut tracks: Vec<Track> = song.tracks.iter().map(|t| moved(t, warp)).collect();
    for note in notes {
        let played = song
            .tracks
            .get(note.strike.track)
            .and_then(|t| t.notes.get(note.strike.index));
        let (Some(track), Some(played)) = (tracks.get_mut(note.strike.track), played) else {
            continue;
        };
        track.notes.push(Note {
            onset: Tick(note.onset),
            duration: Ticks(note.length.max(1)),
            ..*played
        });
        track.played.push(Played {
            onset: played.onset,
            duration: played.duration,
            grace: note.grace,
            rolled: note.rolled,
        });
    }
    tracks.iter_mut().for_each(put_in_order);
    Song {
        tracks,
        ..song.clone()
    }
}

fn moved(track: &Track, warp: &Warp) -> Track {
    let mut moved = Track {
        notes: Vec::new(),
        played: Vec::new(),
        ..track.clone()
    };
    for span in &mut moved.pedal {
        (span.down, span.up) = (warp.written(span.down), warp.written(span.up));
    }
    for control in &mut moved.controls {
        control.at = warp.written(control.at);
    }
    moved
}

fn put_in_order(track: &mut Track) {
    let mut both: Vec<(Note, Played)> = track.notes.drain(..).zip(track.played.drain(..)).collect();
    both.sort_by_key(|(n, p)| (n.onset, n.pitch, p.onset));
    (track.notes, track.played) = both.into_iter().unzip();
}

/// Largest way that the tempo map may be off before it gets a new tempo, in seconds.
const TEMPO_OFF: f64 = 0.006;

/// The song on a grid of found beats: a tempo for the beats as they were played, the bars that
/// were found, keys and markers on the beats they stand at.
pub(super) fn on_found_grid(
    song: Song,
    beats: &Beats,
    value: BeatValue,
    bars: &Bars,
    warp: &Warp,
) -> Song {
    let quarter = TicksPerQuarter::nearest(QUARTER as f64);
    let meters = meters(&song, bars, warp, quarter);
    let to_beat = |at: Tick| {
        let written = warp.written(at).0;
        Tick(if at == Tick::ZERO {
            0
        } else {
            (written + value.ticks / 2) / value.ticks * value.ticks
        })
    };
    let mut moved = Song {
        quarter,
        tempo: tempo(beats, value, quarter),
        meters,
        ..song
    };
    moved.keys.iter_mut().for_each(|k| k.at = to_beat(k.at));
    moved.markers.iter_mut().for_each(|m| m.at = to_beat(m.at));
    moved
}

fn tempo(beats: &Beats, value: BeatValue, quarter: TicksPerQuarter) -> TempoMap {
    let quarters = value.ticks as f64 / QUARTER as f64;
    let micros = |seconds: f64| (seconds / quarters * 1e6).round().clamp(1.0, 16_777_215.0);
    let all = beats.all();
    let mut changes = Vec::new();
    let mut period = beats.period();
    let mut now = 0.0;
    if let Some(first) = all.first().filter(|f| f.number > 0) {
        // The silence in front is as long as it was, but not shorter than a rest at this speed.
        let lead = (first.at / first.number as f64).max(0.5 * period);
        changes.push(TempoChange {
            at: Tick::ZERO,
            micros_per_quarter: micros(lead) as u32,
        });
        period = lead;
    }
    for pair in all.windows(2) {
        let number = (pair[1].number - pair[0].number) as f64;
        if pair[0].number == all[0].number {
            now = pair[0].at;
        }
        if changes.is_empty() || (now + number * period - pair[1].at).abs() > TEMPO_OFF {
            let wanted = ((pair[1].at - now) / number).max(0.01);
            let micros = micros(wanted);
            changes.push(TempoChange {
                at: Tick(pair[0].number * value.ticks),
                micros_per_quarter: micros as u32,
            });
            period = micros * quarters / 1e6;
        }
        now += number * period;
    }
    TempoMap::new(quarter, changes)
}

/// The meter that was found or given, and later ones of the file at the bar lines next to them.
fn meters(song: &Song, bars: &Bars, warp: &Warp, quarter: TicksPerQuarter) -> MeterMap {
    let mut changes = vec![MeterChange {
        at: Tick::ZERO,
        meter: bars.meter,
    }];
    for change in song.meters.given().iter().filter(|c| c.at > Tick::ZERO) {
        let Some(last) = changes.last().copied() else {
            break;
        };
        let bar = last.meter.bar(quarter).0.max(1);
        let away = warp.written(change.at).since(last.at).0;
        let at = Tick(last.at.0 + (away + bar / 2) / bar * bar);
        changes.push(MeterChange {
            at,
            meter: change.meter,
        });
    }
    MeterMap::new(quarter, changes)
}
