//! The events of one track's bytes.

use super::budget::Budget;
use super::conductor::{Conductor, text};
use super::cursor::{BadNumber, Cursor};
use super::note_pairs::NotePairs;
use super::song::{Control, PedalSpan, ReadError, Track};
use super::warnings::Warnings;
use crate::music::{Tick, Ticks};
use std::collections::BTreeMap;
use std::ops::Range;

/// The last tick that a song may reach; sums of lengths stay far from overflow below it.
pub(super) const LAST_TICK: u64 = 1 << 40;

/// Why reading of a track stopped before its end.
enum Stop {
    /// Keep what was read; the reason is a warning.
    Here(usize, &'static str),
    /// The song cannot be used.
    Refuse(ReadError),
}

struct TrackReader<'a, 'w> {
    cursor: Cursor<'a>,
    now: u64,
    running: Option<u8>,
    last: Option<u8>,
    ended: bool,
    track: Track,
    notes: NotePairs,
    pedal_down: BTreeMap<u8, Tick>,
    budget: &'w mut Budget,
    conductor: &'w mut Conductor,
    warnings: &'w mut Warnings,
}

/// Reads a track. A damaged one gives what came before the damage, with a warning.
///
/// # Errors
/// Where its time runs past [`LAST_TICK`], or the file has more than the budget.
pub(super) fn read_track(
    bytes: &[u8],
    range: Range<usize>,
    quarter: Ticks,
    budget: &mut Budget,
    conductor: &mut Conductor,
    warnings: &mut Warnings,
) -> Result<Track, ReadError> {
    let start = range.start;
    let mut reader = TrackReader {
        cursor: Cursor::new(bytes, range.start, range.end),
        now: 0,
        running: None,
        last: None,
        ended: false,
        track: Track::default(),
        notes: NotePairs::default(),
        pedal_down: BTreeMap::new(),
        budget,
        conductor,
        warnings,
    };
    match reader.events() {
        Ok(()) if reader.ended => {}
        Ok(()) => reader
            .warnings
            .bytes(reader.cursor.offset(), "the track has no end event"),
        Err(Stop::Here(offset, text)) => reader.warnings.bytes(
            offset,
            format!("{text}; the rest of this track is not read"),
        ),
        Err(Stop::Refuse(error)) => return Err(error),
    }
    Ok(reader.finish(start, quarter))
}

impl<'a> TrackReader<'a, '_> {
    fn events(&mut self) -> Result<(), Stop> {
        while !self.ended && !self.cursor.is_done() {
            let at = self.cursor.offset();
            let delta = self.number(at)?;
            self.now += u64::from(delta);
            if self.now > LAST_TICK {
                return Err(Stop::Refuse(ReadError {
                    offset: at,
                    reason: "the song is longer than can be counted; export the sketch again"
                        .to_owned(),
                }));
            }
            self.event()?;
        }
        Ok(())
    }

    fn number(&mut self, at: usize) -> Result<u32, Stop> {
        self.cursor.number().map_err(|bad| match bad {
            BadNumber::Cut => Stop::Here(at, "the bytes end inside a number"),
            BadNumber::TooLong => Stop::Here(at, "a number is longer than four bytes"),
        })
    }

    fn event(&mut self) -> Result<(), Stop> {
        let at = self.cursor.offset();
        let first = self
            .cursor
            .peek()
            .ok_or(Stop::Here(at, "the track ends after a time without event"))?;
        match first {
            0x00..=0x7F => {
                let status = self.implied_status(at)?;
                self.channel_message(status, at)
            }
            0x80..=0xEF => {
                self.cursor.byte();
                self.running = Some(first);
                self.last = Some(first);
                self.channel_message(first, at)
            }
            0xFF => {
                self.cursor.byte();
                self.running = None;
                self.meta(at)
            }
            0xF0 | 0xF7 => {
                self.cursor.byte();
                self.running = None;
                self.block(at).map(|_| ())
            }
            _ => self.stray_system(first, at),
        }
    }

    fn implied_status(&mut self, at: usize) -> Result<u8, Stop> {
        if let Some(status) = self.running {
            return Ok(status);
        }
        let status = self
            .last
            .ok_or(Stop::Here(at, "a data byte where an event must begin"))?;
        self.warnings.bytes(
            at,
            "an event without status after a meta or system event; the last status is used",
        );
        self.running = Some(status);
        Ok(status)
    }

    fn stray_system(&mut self, status: u8, at: usize) -> Result<(), Stop> {
        self.cursor.byte();
        self.running = None;
        let data = match status {
            0xF1 | 0xF3 => 1,
            0xF2 => 2,
            _ => 0,
        };
        self.warnings.bytes(
            at,
            "a system message that does not belong in a file; skipped",
        );
        self.cursor
            .take(data)
            .map(|_| ())
            .ok_or(Stop::Here(at, "the bytes end inside an event"))
    }

    fn data(&mut self, event: usize) -> Result<u8, Stop> {
        let at = self.cursor.offset();
        let byte = self
            .cursor
            .byte()
            .ok_or(Stop::Here(event, "the bytes end inside an event"))?;
        if byte > 0x7F {
            self.warnings
                .bytes(at, "a data byte over 127; its high bit is ignored");
        }
        Ok(byte & 0x7F)
    }

    fn channel_message(&mut self, status: u8, at: usize) -> Result<(), Stop> {
        let channel = status & 0x0F;
        let first = self.data(at)?;
        let kind = status & 0xF0;
        let second = if matches!(kind, 0xC0 | 0xD0) {
            0
        } else {
            self.data(at)?
        };
        let now = Tick(self.now);
        match kind {
            0x90 if second > 0 => {
                self.budget.note(at).map_err(Stop::Refuse)?;
                self.notes.on(now, channel, first, second);
            }
            0x80 | 0x90 => self.notes.off(now, channel, first, at),
            _ => {
                self.budget.other(at).map_err(Stop::Refuse)?;
                if kind == 0xB0 && first == 64 {
                    self.pedal(channel, second >= 64);
                }
                self.track.controls.push(Control {
                    at: now,
                    status,
                    first,
                    second,
                });
            }
        }
        Ok(())
    }

    fn pedal(&mut self, channel: u8, down: bool) {
        let now = Tick(self.now);
        if down {
            self.pedal_down.entry(channel).or_insert(now);
        } else if let Some(since) = self.pedal_down.remove(&channel)
            && since < now
        {
            self.track.pedal.push(PedalSpan {
                channel,
                down: since,
                up: now,
            });
        }
    }

    fn block(&mut self, at: usize) -> Result<&'a [u8], Stop> {
        let length = self.number(at)? as usize;
        self.cursor
            .take(length)
            .ok_or(Stop::Here(at, "an event goes on past the end of the track"))
    }

    fn meta(&mut self, at: usize) -> Result<(), Stop> {
        let kind = self
            .cursor
            .byte()
            .ok_or(Stop::Here(at, "the bytes end inside an event"))?;
        let body = self.block(at)?;
        match kind {
            0x03 if self.track.name.is_empty() => self.track.name = text(body),
            0x2F => self.ended = true,
            _ => {
                self.budget.other(at).map_err(Stop::Refuse)?;
                self.conductor
                    .meta(Tick(self.now), kind, body, at, self.warnings);
            }
        }
        Ok(())
    }

    fn finish(mut self, start: usize, quarter: Ticks) -> Track {
        let end = Tick(self.now);
        for (channel, down) in std::mem::take(&mut self.pedal_down) {
            if down < end {
                let up = end;
                self.track.pedal.push(PedalSpan { channel, down, up });
            }
        }
        self.track.pedal.sort_by_key(|p| (p.down, p.channel));
        self.track.notes = self.notes.finish(end, quarter, start, self.warnings);
        self.track
    }
}
