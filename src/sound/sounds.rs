//! The sounds that are played with: the built-in ones, or those of a SoundFont of the user.

use super::events::SoundScore;
use super::render::{Player, Program, Rendered, SoundError, built_in_font, render_with};
use super::user_font::{Calibration, UserFont};
use rustysynth::SoundFont;
use std::sync::Arc;

/// Sounds, and what brings them to the levels that they are told.
#[derive(Clone)]
pub struct Sounds {
    font: Arc<SoundFont>,
    calibration: Calibration,
}

impl Sounds {
    /// The built-in sounds.
    ///
    /// # Errors
    /// If they were damaged (a test shows that they are not).
    pub fn built_in() -> Result<Self, SoundError> {
        Ok(Self {
            font: built_in_font()?,
            calibration: Calibration::default(),
        })
    }

    /// Those of a SoundFont.
    #[must_use]
    pub fn of(font: &UserFont) -> Self {
        Self {
            font: Arc::clone(&font.font),
            calibration: font.calibration.clone(),
        }
    }

    /// The program of a score with these sounds; see [`Program::of`].
    #[must_use]
    pub fn program(&self, score: &SoundScore, heard: &[bool], speed: f64) -> Program {
        Program::of(&self.calibration.applied(score), heard, speed)
    }

    /// A player of a program of these sounds.
    ///
    /// # Errors
    /// If the synthesizer refuses its settings.
    pub fn player(&self, program: Box<Program>) -> Result<Player, SoundError> {
        let headroom = self.calibration.headroom_db();
        let tick = self.calibration.tick_db() - headroom;
        Player::turned_up(&self.font, program, headroom, tick)
    }

    /// Renders a score with these sounds from its beginning to when its last note has died away.
    ///
    /// # Errors
    /// If the synthesizer refuses its settings.
    pub fn render(
        &self,
        score: &SoundScore,
        heard: &[bool],
        speed: f64,
    ) -> Result<Rendered, SoundError> {
        let program = Box::new(self.program(score, heard, speed));
        let player = self.player(program)?;
        Ok(render_with(player, score.end()))
    }
}
