//! What sounds, as plain events: chairs, and the notes that they play.

use super::tones::{Shade, Tone};

/// Somebody who plays: a part of the band, or the piano of the sketch.
#[derive(Clone, PartialEq, Debug)]
pub struct Chair {
    /// Its tone.
    pub tone: &'static Tone,
    /// Where it is heard, -1 left to 1 right.
    pub pan: f64,
    /// How much later than played it is heard, seconds, never negative.
    pub delay: f64,
}

/// A place from left to right as MIDI's controller has it: 0 left, 127 right.
#[must_use]
pub fn pan_controller(pan: f64) -> u8 {
    ((pan.clamp(-1.0, 1.0) + 1.0) / 2.0 * 127.0).round() as u8
}

/// A note that sounds.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SoundNote {
    /// Who plays it: an index of the chairs.
    pub chair: usize,
    /// When it is played, seconds from the beginning, never negative.
    pub onset: f64,
    /// When it ends.
    pub end: f64,
    /// MIDI note as it sounds.
    pub key: u8,
    /// Its colour.
    pub shade: Shade,
    /// Its level where it is heard against the full level of the band, dB; no sound where it is not finite.
    pub gain_db: f64,
}

/// All that sounds.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct SoundScore {
    /// Who plays.
    pub chairs: Vec<Chair>,
    /// What they play, in any order.
    pub notes: Vec<SoundNote>,
}

impl SoundScore {
    /// The notes that sound.
    pub fn sounding(&self) -> impl Iterator<Item = &SoundNote> {
        let chairs = self.chairs.len();
        let sounds = move |n: &&SoundNote| {
            n.gain_db.is_finite()
                && n.end > n.onset
                && n.onset >= 0.0
                && n.chair < chairs
                && n.key < 128
        };
        self.notes.iter().filter(sounds)
    }

    /// The level of the loudest note, dB; `None` where nothing sounds.
    #[must_use]
    pub fn loudest(&self) -> Option<f64> {
        self.sounding().map(|n| n.gain_db).reduce(f64::max)
    }

    /// When the last note ends where it is heard, seconds.
    #[must_use]
    pub fn end(&self) -> f64 {
        let heard = self.sounding().map(|n| n.end + self.delay(n.chair));
        heard.fold(0.0, f64::max)
    }

    /// How late a chair is heard, seconds.
    #[must_use]
    pub fn delay(&self, chair: usize) -> f64 {
        self.chairs.get(chair).map_or(0.0, |c| c.delay.max(0.0))
    }
}
