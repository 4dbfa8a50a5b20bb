//! What the chairs play with: synthesizers of sixteen channels each, or a MIDI port.

use super::program::{BLOCK, Cue, Seat};
use crate::sound::events::Chair;
use crate::sound::midi::PortSeats;
use crate::sound::user_font::{DRUM_CHANNEL, TICK_FIRST};
use rtrb::Producer;
use rustysynth::Synthesizer;

/// Chairs of a synthesizer: sixteen channels without that of the drums.
const CHAIRS: usize = 15;
const DRUMS: usize = DRUM_CHANNEL as usize;
/// How hard the tick of a count-in is struck (ours).
const TICK: f64 = 96.0;

/// What the chairs play with.
pub(super) enum Seats {
    /// Synthesizers with a channel for every chair, and the velocity of a tick.
    Synthesizers(Vec<Synthesizer>, u8),
    /// A port.
    Port(Box<PortSeats>, Producer<[u8; 3]>),
}

impl Seats {
    /// How many synthesizers so many chairs take; at least one, for the ticks.
    pub(super) const fn synthesizers(chairs: usize) -> usize {
        let full = chairs.div_ceil(CHAIRS);
        if full == 0 { 1 } else { full }
    }

    /// Synthesizers; the tick is turned by some dB.
    pub(super) fn of(synthesizers: Vec<Synthesizer>, tick_db: f64) -> Self {
        let chairs = synthesizers.len() * CHAIRS;
        let tick = (TICK * 10.0_f64.powf(tick_db / 40.0)).round();
        let mut seats = Self::Synthesizers(synthesizers, tick.clamp(1.0, 127.0) as u8);
        for chair in 0..chairs {
            seats.tell(chair, [0xB0, 7, 127]);
            seats.tell(chair, [0xB0, 39, 127]);
        }
        seats
    }

    /// A port, whose programs and places are told at once.
    pub(super) fn on_port(chairs: &[Chair], mut out: Producer<[u8; 3]>) -> Self {
        let seats = PortSeats::of(chairs);
        for bytes in seats.set_up() {
            // What does not fit is left out, here and below: a port that takes nothing is told by its device.
            let _ = out.push(bytes);
        }
        Self::Port(Box::new(seats), out)
    }

    fn tell(&mut self, chair: usize, bytes: [u8; 3]) {
        let place = chair % CHAIRS;
        let channel = if place < DRUMS { place } else { place + 1 };
        self.message(chair / CHAIRS, channel, bytes);
    }

    fn message(&mut self, synthesizer: usize, channel: usize, bytes: [u8; 3]) {
        if let Self::Synthesizers(all, _) = self
            && let Some(synthesizer) = all.get_mut(synthesizer)
        {
            let [command, first, second] = bytes.map(i32::from);
            synthesizer.process_midi_message(channel as i32, command, first, second);
        }
    }

    /// Puts each chair where it is heard, and a little out of tune with its like. Those of a port stay where they are:
    /// chairs share its channels.
    pub(super) fn place(&mut self, places: &[Seat]) {
        for (chair, seat) in places.iter().enumerate() {
            let bend = [(seat.bend & 0x7F) as u8, (seat.bend >> 7) as u8];
            self.tell(chair, [0xB0, 10, seat.pan]);
            self.tell(chair, [0xE0, bend[0], bend[1]]);
        }
    }

    /// Strikes a note; the loudest of all has a level of so many dB.
    pub(super) fn begin(&mut self, cue: &Cue, loudest: f64) {
        if let Self::Port(seats, out) = self {
            let db = cue.stops.db() - loudest;
            let told = seats.note_on(usize::from(cue.chair), cue.key, db);
            told.map(|bytes| out.push(bytes));
            return;
        }
        let told = [
            [0xB0, 0, cue.bank],
            [0xC0, cue.program, 0],
            [0xB0, 11, (cue.stops.expression >> 7) as u8],
            [0xB0, 43, (cue.stops.expression & 0x7F) as u8],
            [0x90, cue.key, cue.stops.velocity],
        ];
        for bytes in told {
            self.tell(usize::from(cue.chair), bytes);
        }
    }

    /// Ends a note; it dies away.
    pub(super) fn end(&mut self, cue: &Cue) {
        let chair = usize::from(cue.chair);
        match self {
            Self::Port(seats, out) => {
                let told = seats.note_off(chair, cue.key);
                told.map(|bytes| out.push(bytes));
            }
            Self::Synthesizers(..) => self.tell(chair, [0x80, cue.key, 0]),
        }
    }

    /// A tick of a count-in.
    pub(super) fn tick(&mut self) {
        match self {
            Self::Port(_, out) => {
                for bytes in PortSeats::tick(true) {
                    let _ = out.push(bytes);
                }
            }
            Self::Synthesizers(_, velocity) => {
                let velocity = *velocity;
                self.message(0, DRUMS, [0x90, TICK_FIRST, velocity]);
            }
        }
    }

    /// Nothing rings any more.
    pub(super) fn silence(&mut self) {
        match self {
            Self::Port(seats, out) => {
                seats.let_go();
                for channel in 0..16 {
                    // All sound off.
                    let _ = out.push([0xB0 | channel, 120, 0]);
                }
            }
            Self::Synthesizers(all, _) => {
                for synthesizer in all {
                    synthesizer.note_off_all(true);
                }
            }
        }
    }

    /// The next block of all together; silence where a port plays.
    pub(super) fn render(&mut self, left: &mut [f32; BLOCK], right: &mut [f32; BLOCK]) {
        left.fill(0.0);
        right.fill(0.0);
        let Self::Synthesizers(all, _) = self else {
            return;
        };
        let (mut l, mut r) = ([0.0; BLOCK], [0.0; BLOCK]);
        for synthesizer in all {
            synthesizer.render(&mut l, &mut r);
            for i in 0..BLOCK {
                left[i] += l[i];
                right[i] += r[i];
            }
        }
    }
}
