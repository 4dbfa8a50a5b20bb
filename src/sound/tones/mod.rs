//! Modelled tones: for each kind of instrument its spectrum, its attack and how it ends. Nothing is recorded.
//!
//! The models are sketches: good enough to tell the kinds of instruments apart and to judge a voicing, no more.
//! Figures are from memory of published acoustics (MEM, with the work), or ours.

mod brass;
mod noise;
mod spectrum;
mod strike;
mod struck;
mod wave;
mod woodwinds;

pub use noise::burst;
pub use spectrum::{Formant, Shade, Spectrum};
pub use strike::{Mode, Ring, Strike, level_seconds, strike};
pub use wave::{Wave, wave};

/// Samples a second, of the tones and of all that is rendered.
pub const RATE: u32 = 44_100;
/// The root mean square of every tone at its full gain, 1 being the loudest sample: equal gains are equal
/// powers. It leaves 20 dB for the peaks of a single tone (ours).
pub const TONE_RMS: f64 = 0.1;

/// How a tone sounds on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Body {
    /// As long as it is blown or bowed.
    Held(Spectrum),
    /// It rings and dies away.
    Struck(Strike),
}

/// Vibrato as far as the trade has it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Vibrato {
    /// To either side, cents.
    pub cents: i16,
    /// A second.
    pub hertz: f64,
    /// How long a note is straight before it begins, seconds.
    pub after: f64,
}

/// A puff, scrape or knock at the beginning of a note.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Attack {
    /// How long the tone takes to its full loudness, seconds.
    pub seconds: f64,
    /// How loud the noise is against the tone, dB.
    pub noise_db: f64,
    /// The middle of the noise, hertz.
    pub noise_hertz: f64,
    /// How many octaves duller the tone begins (brass opens up as it grows), 0 for none.
    pub opens_octaves: f64,
}

/// The tone of a kind of instrument.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Tone {
    /// What it is, in the trade's word.
    pub name: &'static str,
    /// General MIDI program from 0.
    pub program: u8,
    /// Which of the tones with that program it is, from 0.
    pub variant: u8,
    /// The lowest and the highest MIDI note that it is made for; beyond, its outermost samples are bent.
    pub keys: (u8, u8),
    /// How it sounds on.
    pub body: Body,
    /// How it begins.
    pub attack: Attack,
    /// How long it takes to die away after its end, seconds.
    pub release: f64,
    /// Its vibrato.
    pub vibrato: Option<Vibrato>,
    /// Where spectrum and attack come from.
    pub source: &'static str,
}

impl Tone {
    /// The bank of its preset for a shade: General MIDI players fall back to bank 0.
    #[must_use]
    pub const fn bank(&self, shade: Shade) -> u8 {
        self.variant * 3 + shade.place()
    }
}

/// All tones: the piano of the sketch first.
pub fn tones() -> impl Iterator<Item = &'static Tone> {
    let first = struck::STRUCK.iter();
    first.chain(woodwinds::WOODWINDS).chain(brass::BRASS)
}

/// The tone of a name; `None` for a name that is none.
#[must_use]
pub fn tone(name: &str) -> Option<&'static Tone> {
    tones().find(|t| t.name == name)
}
