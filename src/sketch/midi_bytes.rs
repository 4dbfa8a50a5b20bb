//! MIDI bytes to a [`Song`] (Standard MIDI Files 1.0).

use super::budget::Budget;
use super::chunks::{Division, read_chunks};
use super::conductor::Conductor;
use super::song::{ReadError, Song, Track};
use super::track_bytes::read_track;
use super::warnings::Warnings;
use crate::music::tempo::{DEFAULT_MICROS, TempoChange};
use crate::music::{MeterMap, TempoMap, Tick, Ticks, TicksPerQuarter};

/// Reads a MIDI file of format 0 or 1.
///
/// What is damaged but usable is read and told in [`Song::warnings`]. Time and memory grow with
/// the number of bytes, whatever they say.
///
/// # Errors
/// Where nothing can be rescued (empty, no MIDI header, format 2, no unit of time, no track, longer
/// than 2^40 ticks, or more notes than any sketch has); the error says where and what to do.
pub fn read_song(bytes: &[u8]) -> Result<Song, ReadError> {
    let mut warnings = Warnings::default();
    let chunks = read_chunks(bytes, &mut warnings)?;
    let mut budget = Budget::default();
    let mut conductor = Conductor::default();
    let mut tracks: Vec<Track> = Vec::with_capacity(chunks.tracks.len());
    let provisional = provisional_quarter(chunks.division);
    for range in chunks.tracks {
        let track = read_track(
            bytes,
            range,
            provisional,
            &mut budget,
            &mut conductor,
            &mut warnings,
        )?;
        tracks.push(track);
    }
    let (quarter, tempo) = tempo(chunks.division, &mut conductor.tempos, &mut warnings);
    let meters = MeterMap::new(quarter, conductor.meters);
    warn_of_cut_bars(&meters, &mut warnings);
    let mut keys = conductor.keys;
    keys.sort_by_key(|k| k.at);
    let mut markers = conductor.markers;
    markers.sort_by_key(|m| m.at);
    if tracks.iter().all(|t| t.notes.is_empty()) {
        warnings.music("the file holds no notes");
    }
    Ok(Song {
        quarter,
        tempo,
        meters,
        keys,
        markers,
        tracks,
        warnings: warnings.finish(),
    })
}

/// Length of a quarter before tempos are known: at 120 a minute.
fn provisional_quarter(division: Division) -> Ticks {
    match division {
        Division::Quarter(ticks) => Ticks(u64::from(ticks)),
        Division::Second(ticks) => Ticks((ticks / 2.0).round().max(1.0) as u64),
    }
}

fn tempo(
    division: Division,
    tempos: &mut Vec<TempoChange>,
    warnings: &mut Warnings,
) -> (TicksPerQuarter, TempoMap) {
    tempos.sort_by_key(|t| t.at);
    let tempos = std::mem::take(tempos);
    match division {
        Division::Quarter(ticks) => {
            let quarter = TicksPerQuarter::nearest(f64::from(ticks));
            (quarter, TempoMap::new(quarter, tempos))
        }
        Division::Second(ticks) => {
            let first = tempos
                .first()
                .map_or(DEFAULT_MICROS, |t| t.micros_per_quarter);
            if tempos.iter().any(|t| t.micros_per_quarter != first) {
                warnings.music(
                    "the file counts in seconds, so its tempo changes move no note; they are ignored",
                );
            }
            let quarter = TicksPerQuarter::nearest(ticks * f64::from(first) / 1e6);
            let micros = (f64::from(quarter.get()) * 1e6 / ticks).round().max(1.0);
            let steady = TempoChange {
                at: Tick::ZERO,
                micros_per_quarter: micros as u32,
            };
            (quarter, TempoMap::new(quarter, [steady]))
        }
    }
}

fn warn_of_cut_bars(meters: &MeterMap, warnings: &mut Warnings) {
    for pair in meters.changes().windows(2) {
        let bar = pair[0].meter.bar(meters.quarter()).0;
        if pair[1].at.since(pair[0].at).0 % bar != 0 {
            let cut = meters.bar(Tick(pair[1].at.0.saturating_sub(1)));
            warnings.music(format!(
                "the meter changes inside bar {cut}; the bar is cut short"
            ));
        }
    }
}
