//! What chairs play, as the bytes of a port.

use super::channels::{Channels, channels};
use crate::sound::events::{Chair, pan_controller};
use crate::sound::user_font::{DRUM_CHANNEL, TICK_FIRST, TICK_OTHER};

const NOTE_OFF: u8 = 0x80;
const NOTE_ON: u8 = 0x90;
const CONTROL: u8 = 0xB0;
const PROGRAM: u8 = 0xC0;
const BANK: [u8; 2] = [0, 32];
const VOLUME: u8 = 7;
const PAN: u8 = 10;
const EXPRESSION: u8 = 11;
/// How loud the tick is (ours).
const TICK_VELOCITY: u8 = 100;

/// Chairs that play into a port. Nothing is allocated once it is made.
///
/// Levels are told by velocity alone, because chairs that share a channel share its volume.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PortSeats {
    channels: Channels,
    pans: Vec<(u8, u8)>,
    /// How many chairs of a channel hold a key: a note ends when the last of them lets go.
    held: Vec<[u8; 128]>,
}

impl PortSeats {
    /// The seats of these chairs, in their order.
    #[must_use]
    pub fn of(chairs: &[Chair]) -> Self {
        let programs: Vec<u8> = chairs.iter().map(|c| c.tone.program & 0x7F).collect();
        let channels = channels(&programs);
        let pan = |channel: &u8| {
            let together = channels.of_chair.iter().zip(chairs);
            let pans: Vec<f64> = together
                .filter(|(c, _)| *c == channel)
                .map(|(_, chair)| chair.pan)
                .collect();
            let mean = pans.iter().sum::<f64>() / pans.len().max(1) as f64;
            (*channel, pan_controller(mean))
        };
        Self {
            pans: channels.programs.keys().map(pan).collect(),
            held: vec![[0; 128]; 16],
            channels,
        }
    }

    /// Who plays where.
    #[must_use]
    pub const fn channels(&self) -> &Channels {
        &self.channels
    }

    /// What is told before anything is played: programs of bank 0, full volume, places from left to right.
    #[must_use]
    pub fn set_up(&self) -> Vec<[u8; 3]> {
        let of_channel = |(channel, pan): &(u8, u8)| {
            let program = self.channels.programs.get(channel).copied().unwrap_or(0);
            [
                [CONTROL | channel, BANK[0], 0],
                [CONTROL | channel, BANK[1], 0],
                [PROGRAM | channel, program, 0],
                [CONTROL | channel, VOLUME, 127],
                [CONTROL | channel, EXPRESSION, 127],
                [CONTROL | channel, PAN, *pan],
            ]
        };
        self.pans.iter().flat_map(of_channel).collect()
    }

    /// A note of a chair begins, so many dB under the loudest of all; `None` for a chair or a key that is none.
    pub fn note_on(&mut self, chair: usize, key: u8, db: f64) -> Option<[u8; 3]> {
        let channel = *self.channels.of_chair.get(chair)?;
        let held = self.held.get_mut(usize::from(channel))?;
        let held = held.get_mut(usize::from(key))?;
        *held = held.saturating_add(1);
        Some([NOTE_ON | channel, key, velocity(db)])
    }

    /// A note of a chair ends; `None` where another chair of the channel still plays it, or nobody does.
    pub fn note_off(&mut self, chair: usize, key: u8) -> Option<[u8; 3]> {
        let channel = *self.channels.of_chair.get(chair)?;
        let held = self.held.get_mut(usize::from(channel))?;
        let held = held.get_mut(usize::from(key))?;
        let last = *held == 1;
        *held = held.saturating_sub(1);
        last.then_some([NOTE_OFF | channel, key, 0])
    }

    /// Nothing is held any more: after everything was stopped at once.
    pub fn let_go(&mut self) {
        for channel in &mut self.held {
            channel.fill(0);
        }
    }

    /// The tick of the count-in: begins and ends.
    #[must_use]
    pub const fn tick(first: bool) -> [[u8; 3]; 2] {
        let key = if first { TICK_FIRST } else { TICK_OTHER };
        [
            [NOTE_ON | DRUM_CHANNEL, key, TICK_VELOCITY],
            [NOTE_OFF | DRUM_CHANNEL, key, 0],
        ]
    }
}

/// The velocity of a note so many dB under the loudest: squared it is the amplitude (General MIDI level 1
/// recommendation, MEM). Devices differ.
fn velocity(db: f64) -> u8 {
    if db.is_nan() {
        return 1;
    }
    let told = 127.0 * 10.0_f64.powf(db.min(0.0) / 40.0);
    told.round().clamp(1.0, 127.0) as u8
}
