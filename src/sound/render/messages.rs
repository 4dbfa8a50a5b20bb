//! The messages that a score is for synthesizers, in order of time.

use super::level::{stops, volume};
use crate::sound::events::{SoundNote, SoundScore};
use crate::sound::tones::RATE;
use std::collections::BTreeMap;

/// Samples that are rendered at a time: messages fall between blocks, so that none is more than 0.8 ms off.
pub const BLOCK: usize = 64;

/// Chairs of a synthesizer: sixteen channels without that of the drums.
const CHAIRS: usize = 15;
const DRUMS: usize = 9;

/// Something that is told a synthesizer.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Message {
    /// Before which block.
    pub block: u64,
    /// Among those before a block: what ends goes first.
    order: u32,
    /// Whose note it is about.
    pub chair: usize,
    /// Status without channel, and two data bytes, as MIDI has them.
    pub bytes: [u8; 3],
}

impl Message {
    /// Which synthesizer.
    #[must_use]
    pub const fn synthesizer(&self) -> usize {
        self.chair / CHAIRS
    }

    /// Which of its channels.
    #[must_use]
    pub const fn channel(&self) -> usize {
        let place = self.chair % CHAIRS;
        if place < DRUMS { place } else { place + 1 }
    }

    /// Whether a note begins.
    #[must_use]
    pub const fn begins(&self) -> bool {
        self.bytes[0] == 0x90
    }
}

/// How many synthesizers so many chairs take.
pub(super) const fn synthesizers(chairs: usize) -> usize {
    chairs.div_ceil(CHAIRS)
}

/// The messages of a score.
#[must_use]
pub fn messages(score: &SoundScore) -> Vec<Message> {
    let mut loudest: BTreeMap<usize, f64> = BTreeMap::new();
    for note in score.sounding() {
        let most = loudest.entry(note.chair).or_insert(note.gain_db);
        *most = most.max(note.gain_db);
    }
    let most = score.loudest().unwrap_or(0.0);
    let mut all = Vec::new();
    for (i, chair) in score.chairs.iter().enumerate() {
        let level = loudest.get(&i).map_or(0.0, |l| l - most);
        let pan = ((chair.pan.clamp(-1.0, 1.0) + 1.0) / 2.0 * 127.0).round() as u8;
        let volume = volume(level);
        let set = [
            [0xB0, 7, (volume >> 7) as u8],
            [0xB0, 39, (volume & 0x7F) as u8],
            [0xB0, 10, pan],
        ];
        all.extend(set.into_iter().zip(0..).map(|(bytes, order)| Message {
            block: 0,
            order,
            chair: i,
            bytes,
        }));
    }
    for note in score.sounding() {
        let full = loudest.get(&note.chair).copied().unwrap_or(note.gain_db);
        of_note(score, note, note.gain_db - full, &mut all);
    }
    all.sort();
    all
}

fn of_note(score: &SoundScore, note: &SoundNote, db: f64, all: &mut Vec<Message>) {
    let Some(chair) = score.chairs.get(note.chair) else {
        return;
    };
    let block = |seconds: f64| {
        ((seconds + score.delay(note.chair)) * f64::from(RATE) / BLOCK as f64).round() as u64
    };
    let start = block(note.onset);
    let end = block(note.end).max(start + 1);
    let stops = stops(db);
    let told = [
        [0xB0, 0, chair.tone.bank(note.shade)],
        [0xC0, chair.tone.program, 0],
        [0xB0, 11, (stops.expression >> 7) as u8],
        [0xB0, 43, (stops.expression & 0x7F) as u8],
        [0x90, note.key, stops.velocity],
    ];
    // Each note's messages stay together: a key takes five places after those that set up and end.
    let place = FIRST + 5 * u32::from(note.key);
    all.extend(told.into_iter().zip(place..).map(|(bytes, order)| Message {
        block: start,
        order,
        chair: note.chair,
        bytes,
    }));
    all.push(Message {
        block: end,
        order: ENDS,
        chair: note.chair,
        bytes: [0x80, note.key, 0],
    });
}

/// Where what ends, and what begins, stands among the messages before a block.
const ENDS: u32 = 8;
const FIRST: u32 = 16;
