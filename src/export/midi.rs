//! The draft as a standard MIDI file, format 1.

use super::channels::{Seat, Voice, seats};
use crate::band::{Band, Part};
use crate::music::{Mode, Tick};
use crate::review::{Breath, BreathKind};
use crate::score::{Draft, DraftNote, PartLine};
use crate::sketch::{Note, Song, Track};
use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, TrackEvent, TrackEventKind};
use std::collections::BTreeSet;
use thiserror::Error;

/// Why a draft does not fit into a MIDI file.
#[derive(Debug, Error)]
pub enum MidiError {
    /// A pause of more than 2^28 ticks.
    #[error(
        "the pause before tick {0} is too long for a MIDI file (SMF 1.0 allows 268435455 ticks)"
    )]
    TooLong(u64),
    /// The writer failed.
    #[error("the MIDI file could not be put together: {0}")]
    Writer(std::io::Error),
}

/// An event at a tick; of events at one tick, lower orders come first.
struct At<'a> {
    at: Tick,
    order: u8,
    kind: TrackEventKind<'a>,
}

const META: u8 = 0;
const OFF: u8 = 1;
const CONTROL: u8 = 2;
const ON: u8 = 3;

/// The draft as a MIDI file: a conductor track with the sketch's tempos, meters, keys and
/// markers; the sketch's own tracks, those in `own` left out; one track for every part, in score
/// order, named as the part, at concert pitch. Breaths are lyrics of a part's track: a comma where all its players
/// breathe, as over a stave, and a comma with the group where some of them do (`, 1/2`). Readers of notes pass
/// over them.
///
/// # Errors
/// Where a pause is too long for the format.
pub fn midi_bytes(
    song: &Song,
    own: &[usize],
    band: &Band,
    draft: &Draft,
    breaths: &[Breath],
) -> Result<Vec<u8>, MidiError> {
    let marks: Vec<(Breath, String)> = breaths.iter().map(|b| (*b, mark(b.kind))).collect();
    let sketch = sketch_tracks(song, own);
    let seats = part_seats(&sketch, band, draft);
    let mut tracks = vec![finish(conductor(song))?];
    for track in sketch {
        tracks.push(finish(sketch_track(track))?);
    }
    for ((part, line), seat) in band.parts.iter().zip(&draft.lines).zip(seats) {
        let own = marks.iter().filter(|(b, _)| b.part == line.part);
        let own = own.map(|(b, text)| meta(b.at, MetaMessage::Lyric(text.as_bytes())));
        let mut events = part_track(part, &line.notes, seat);
        events.extend(own);
        tracks.push(finish(events)?);
    }
    let timing = Timing::Metrical(u15::from(song.quarter.get()));
    let smf = Smf {
        header: Header::new(Format::Parallel, timing),
        tracks,
    };
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes).map_err(MidiError::Writer)?;
    Ok(bytes)
}

/// The tracks of a song that leave as the sketch's own: those with something in them that are no parts.
pub(super) fn sketch_tracks<'a>(song: &'a Song, own: &[usize]) -> Vec<&'a Track> {
    let tracks = song.tracks.iter().enumerate();
    let sketch = tracks.filter(|(i, t)| !own.contains(i) && !is_empty(t));
    sketch.map(|(_, t)| t).collect()
}

/// Where each part plays, beside the tracks of the sketch.
pub(super) fn part_seats(sketch: &[&Track], band: &Band, draft: &Draft) -> Vec<Seat> {
    let notes = sketch.iter().flat_map(|t| &t.notes).map(|n| n.channel);
    let controls = sketch
        .iter()
        .flat_map(|t| &t.controls)
        .map(|c| c.status & 0x0F);
    let taken: BTreeSet<u8> = notes.chain(controls).collect();
    let voice = |(part, line): (&Part, &PartLine)| Voice {
        program: part.instrument.program,
        notes: line.notes.len(),
    };
    let voices: Vec<Voice> = band.parts.iter().zip(&draft.lines).map(voice).collect();
    seats(&voices, &taken.into_iter().collect::<Vec<_>>())
}

/// How a breath is written.
pub(super) fn mark(kind: BreathKind) -> String {
    match kind {
        BreathKind::Between(_) | BreathKind::Inside => ",".to_owned(),
        BreathKind::Staggered(group, of) => format!(", {group}/{of}"),
    }
}

fn is_empty(track: &Track) -> bool {
    track.notes.is_empty() && track.controls.is_empty()
}

fn conductor(song: &Song) -> Vec<At<'_>> {
    let mut events = vec![meta(Tick::ZERO, MetaMessage::TrackName(b"Conductor"))];
    events.extend(
        song.tempo
            .given()
            .iter()
            .map(|c| meta(c.at, MetaMessage::Tempo(u24::from(c.micros_per_quarter)))),
    );
    events.extend(song.meters.given().iter().map(|c| {
        let (numerator, power) = (c.meter.numerator(), c.meter.denominator_power());
        meta(
            c.at,
            MetaMessage::TimeSignature(numerator, power, clocks_per_click(c.meter), 8),
        )
    }));
    events.extend(song.keys.iter().map(|k| {
        meta(
            k.at,
            MetaMessage::KeySignature(k.signature.fifths(), k.signature.mode() == Mode::Minor),
        )
    }));
    events.extend(
        song.markers
            .iter()
            .map(|m| meta(m.at, MetaMessage::Marker(m.text.as_bytes()))),
    );
    events
}

/// MIDI clocks (24 a quarter) of the felt beat.
fn clocks_per_click(meter: crate::music::Meter) -> u8 {
    let unit = 96 / meter.denominator();
    let clocks = if meter.is_compound() { 3 * unit } else { unit };
    u8::try_from(clocks.max(1)).unwrap_or(24)
}

fn meta(at: Tick, message: MetaMessage<'_>) -> At<'_> {
    At {
        at,
        order: META,
        kind: TrackEventKind::Meta(message),
    }
}

fn message<'a>(at: Tick, order: u8, channel: u8, message: MidiMessage) -> At<'a> {
    At {
        at,
        order,
        kind: TrackEventKind::Midi {
            channel: u4::from(channel & 0x0F),
            message,
        },
    }
}

fn sketch_track(track: &Track) -> Vec<At<'_>> {
    let mut events = vec![meta(
        Tick::ZERO,
        MetaMessage::TrackName(track.name.as_bytes()),
    )];
    for control in &track.controls {
        if let Some(kind) = control_message(control.status, control.first, control.second) {
            events.push(message(control.at, CONTROL, control.status, kind));
        }
    }
    for note in &track.notes {
        events.extend(note_events(note));
    }
    events
}

fn control_message(status: u8, first: u8, second: u8) -> Option<MidiMessage> {
    let (a, b) = (u7::from(first & 0x7F), u7::from(second & 0x7F));
    match status & 0xF0 {
        0xA0 => Some(MidiMessage::Aftertouch { key: a, vel: b }),
        0xB0 => Some(MidiMessage::Controller {
            controller: a,
            value: b,
        }),
        0xC0 => Some(MidiMessage::ProgramChange { program: a }),
        0xD0 => Some(MidiMessage::ChannelAftertouch { vel: a }),
        0xE0 => {
            let bend = u16::from(first & 0x7F) | (u16::from(second & 0x7F) << 7);
            Some(MidiMessage::PitchBend {
                bend: midly::PitchBend(midly::num::u14::from(bend)),
            })
        }
        _ => None,
    }
}

fn part_track<'a>(part: &'a Part, notes: &[DraftNote], seat: Seat) -> Vec<At<'a>> {
    let program = MidiMessage::ProgramChange {
        program: u7::from(part.instrument.program & 0x7F),
    };
    let ask = |at| message(at, CONTROL, seat.channel, program);
    let name = MetaMessage::TrackName(part.name.as_bytes());
    let mut events = vec![meta(Tick::ZERO, name), ask(Tick::ZERO)];
    for note in notes {
        if seat.contested {
            events.push(ask(note.onset));
        }
        let DraftNote {
            onset,
            pitch,
            duration,
            velocity,
            ..
        } = *note;
        let channel = seat.channel;
        events.extend(note_events(&Note {
            onset,
            pitch,
            duration,
            velocity,
            channel,
        }));
    }
    events
}

fn note_events<'a>(note: &Note) -> [At<'a>; 2] {
    let (key, vel) = (
        u7::from(note.pitch.midi()),
        u7::from(note.velocity.clamp(1, 127)),
    );
    [
        message(
            note.onset,
            ON,
            note.channel,
            MidiMessage::NoteOn { key, vel },
        ),
        message(
            note.end(),
            OFF,
            note.channel,
            MidiMessage::NoteOff {
                key,
                vel: u7::from(64),
            },
        ),
    ]
}

/// Puts events in order, ends the track, and turns ticks into deltas.
fn finish(mut events: Vec<At<'_>>) -> Result<Vec<TrackEvent<'_>>, MidiError> {
    events.sort_by_key(|e| (e.at, e.order));
    let mut now = Tick::ZERO;
    let mut track = Vec::with_capacity(events.len() + 1);
    for event in events {
        let wait = event.at.since(now).0;
        let delta = u32::try_from(wait)
            .ok()
            .and_then(u28::try_from)
            .ok_or(MidiError::TooLong(event.at.0))?;
        now = event.at;
        track.push(TrackEvent {
            delta,
            kind: event.kind,
        });
    }
    track.push(TrackEvent {
        delta: u28::from(0),
        kind: TrackEventKind::Meta(MetaMessage::EndOfTrack),
    });
    Ok(track)
}
