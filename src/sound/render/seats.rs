//! The synthesizers that the chairs are spread over: sixteen channels each, one of them for ticks.

use super::program::{BLOCK, Cue};
use rustysynth::Synthesizer;

/// Chairs of a synthesizer: sixteen channels without that of the drums.
const CHAIRS: usize = 15;
const DRUMS: usize = 9;
/// The tick of a count-in: high wood block, which General MIDI players have there too (General MIDI percussion key
/// map, MEM), and how hard it is struck (ours).
const TICK: (u8, u8) = (76, 96);

/// Synthesizers with a channel for every chair.
pub(super) struct Seats(Vec<Synthesizer>);

impl Seats {
    /// How many synthesizers so many chairs take; at least one, for the ticks.
    pub(super) const fn synthesizers(chairs: usize) -> usize {
        let full = chairs.div_ceil(CHAIRS);
        if full == 0 { 1 } else { full }
    }

    pub(super) fn of(synthesizers: Vec<Synthesizer>) -> Self {
        let mut seats = Self(synthesizers);
        for chair in 0..seats.0.len() * CHAIRS {
            seats.tell(chair, [0xB0, 7, 127]);
            seats.tell(chair, [0xB0, 39, 127]);
        }
        seats
    }

    fn tell(&mut self, chair: usize, bytes: [u8; 3]) {
        let place = chair % CHAIRS;
        let channel = if place < DRUMS { place } else { place + 1 };
        self.message(chair / CHAIRS, channel, bytes);
    }

    fn message(&mut self, synthesizer: usize, channel: usize, bytes: [u8; 3]) {
        if let Some(synthesizer) = self.0.get_mut(synthesizer) {
            let [command, first, second] = bytes.map(i32::from);
            synthesizer.process_midi_message(channel as i32, command, first, second);
        }
    }

    /// Puts each chair where it is heard.
    pub(super) fn place(&mut self, pans: &[u8]) {
        for (chair, pan) in pans.iter().enumerate() {
            self.tell(chair, [0xB0, 10, *pan]);
        }
    }

    /// Strikes a note.
    pub(super) fn begin(&mut self, cue: &Cue) {
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
        self.tell(usize::from(cue.chair), [0x80, cue.key, 0]);
    }

    /// A tick of a count-in.
    pub(super) fn tick(&mut self) {
        self.message(0, DRUMS, [0x90, TICK.0, TICK.1]);
    }

    /// Nothing rings any more.
    pub(super) fn silence(&mut self) {
        for synthesizer in &mut self.0 {
            synthesizer.note_off_all(true);
        }
    }

    /// The next block of all together.
    pub(super) fn render(&mut self, left: &mut [f32; BLOCK], right: &mut [f32; BLOCK]) {
        left.fill(0.0);
        right.fill(0.0);
        let (mut l, mut r) = ([0.0; BLOCK], [0.0; BLOCK]);
        for synthesizer in &mut self.0 {
            synthesizer.render(&mut l, &mut r);
            for i in 0..BLOCK {
                left[i] += l[i];
                right[i] += r[i];
            }
        }
    }
}
