//! From events to samples, the same to the byte each time.

mod font;
mod level;
mod player;
mod program;
mod seats;
mod transport;

pub(super) use font::settings;
pub use font::{SoundError, built_in_font, font};
pub use level::{FULL_DB, Stops, stops};
pub use player::Player;
pub use program::{BLOCK, Cue, Program, QUICKEST, SLOWEST};
pub use transport::{CountIn, Passage, TICKS};

use crate::sound::events::SoundScore;
use crate::sound::tones::RATE;
use rustysynth::SoundFont;
use std::sync::Arc;

/// How long what rings is let ring after the last note, seconds (ours).
pub const RING: f64 = 1.5;

/// Stereo samples, 44,100 a second; 1 is the loudest that a device plays.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Rendered {
    /// Left.
    pub left: Vec<f32>,
    /// Right, as many.
    pub right: Vec<f32>,
}

impl Rendered {
    /// The loudest sample.
    #[must_use]
    pub fn peak(&self) -> f32 {
        let all = self.left.iter().chain(&self.right);
        all.fold(0.0, |most, s| most.max(s.abs()))
    }

    /// Turns all of it down where a sample would be louder than a device plays, and says by how many dB.
    ///
    /// At the level that is set ([`FULL_DB`]) that takes a sum of peaks that real bands do not reach.
    pub fn turn_down(&mut self) -> Option<f64> {
        let peak = self.peak();
        if peak <= LOUDEST {
            return None;
        }
        let gain = LOUDEST / peak;
        for sample in self.left.iter_mut().chain(&mut self.right) {
            *sample *= gain;
        }
        Some(-20.0 * f64::from(gain).log10())
    }
}

/// The loudest sample of a file: a hair below the most (ours).
const LOUDEST: f32 = 0.989;

/// Renders a score from its beginning to when its last note has died away.
///
/// `heard` says of each chair whether it is; one that it does not mention is. What is muted takes nothing away
/// from the others and adds nothing to them.
///
/// # Errors
/// If the synthesizer refuses its settings.
pub fn render(
    font: &Arc<SoundFont>,
    score: &SoundScore,
    heard: &[bool],
) -> Result<Rendered, SoundError> {
    render_at(font, score, heard, 1.0)
}

/// The same at a factor of the music's tempo.
///
/// # Errors
/// If the synthesizer refuses its settings.
pub fn render_at(
    font: &Arc<SoundFont>,
    score: &SoundScore,
    heard: &[bool],
    speed: f64,
) -> Result<Rendered, SoundError> {
    let program = Box::new(Program::of(score, heard, speed));
    Ok(render_with(Player::new(font, program)?, score.end()))
}

/// What a player plays from the beginning of its program until the music, of so many seconds of its own tempo, has died
/// away.
pub(super) fn render_with(mut player: Player, end: f64) -> Rendered {
    let seconds = end / player.program().speed() + RING;
    let length = (seconds * f64::from(RATE)).ceil() as usize;
    player.play(&Passage::WHOLE);
    let mut made = Rendered {
        left: vec![0.0; length],
        right: vec![0.0; length],
    };
    player.fill(&mut made.left, &mut made.right);
    made
}
