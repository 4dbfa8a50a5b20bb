//! A draft played on this machine's speakers, to its end.

use super::Failure;
use crate::device::open;
use crate::sound::events::SoundScore;
use crate::sound::live::{Line, engine};
use crate::sound::render::{Passage, RING};
use crate::sound::sounds::Sounds;
use std::thread::sleep;
use std::time::Duration;

/// How often it is looked whether the end was heard.
const PAUSE: Duration = Duration::from_millis(20);

/// Plays a score, and comes back when its end has been heard.
///
/// # Errors
/// Where there is no device, or it goes away.
pub fn play_aloud(
    sounds: &Sounds,
    score: &SoundScore,
    heard: &[bool],
    speed: f64,
) -> Result<(), Failure> {
    let no_sound = |told: String| Failure::NoSound(told);
    let program = Box::new(sounds.program(score, heard, speed));
    let player = sounds
        .player(program)
        .map_err(|e| no_sound(e.to_string()))?;
    let (mut engine, mut control, mut marks) = engine(Box::new(player));
    let output = open("bandwright", move |frames: &mut [f32]| engine.fill(frames));
    let output = output.map_err(|e| no_sound(e.to_string()))?;
    control
        .play(&Passage::WHOLE)
        .map_err(|e| no_sound(e.to_string()))?;
    let mut line = Line::default();
    loop {
        sleep(PAUSE);
        if !output.is_open() {
            return Err(no_sound("no sound: the sound device has gone".to_owned()));
        }
        marks.new_ones().for_each(|mark| line.told(mark));
        line.at(output.heard().unwrap_or(0.0));
        if line.number().is_some() && !line.is_moving() {
            // What rings is let ring.
            sleep(Duration::from_secs_f64(RING));
            return Ok(());
        }
    }
}
