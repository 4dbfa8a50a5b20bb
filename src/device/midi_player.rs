//! Plays into a MIDI port: asks for the time that has gone by as a sound device would, and sends the messages that come
//! of it.

use super::RATE;
use super::midi_out::{MidiOut, MidiOutError};
use rtrb::Consumer;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

/// How often messages are sent (ours: far less than is heard as late).
const PAUSE: Duration = Duration::from_millis(3);
/// Frames that are asked for at a time.
const FRAMES: usize = 64;

/// A port that plays. Dropping it stops everything that sounds.
pub struct PortOutput {
    frames: Arc<AtomicU64>,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

/// Opens a port. `fill` is asked for stereo frames as time goes by; what it plays comes as messages.
///
/// # Errors
/// If the port cannot be opened, or the system gives no thread.
pub fn open_port(
    name: &str,
    mut fill: impl FnMut(&mut [f32]) + Send + 'static,
    mut messages: Consumer<[u8; 3]>,
) -> Result<PortOutput, MidiOutError> {
    let mut port = MidiOut::open(name)?;
    let frames = Arc::new(AtomicU64::new(0));
    let stop = Arc::new(AtomicBool::new(false));
    let (told, asked) = (Arc::clone(&frames), Arc::clone(&stop));
    let play = move || {
        let begun = Instant::now();
        let mut silence = [0.0; 2 * FRAMES];
        let mut played: u64 = 0;
        while !asked.load(Ordering::SeqCst) {
            let due = (begun.elapsed().as_secs_f64() * f64::from(RATE)) as u64;
            while played < due {
                fill(&mut silence);
                played += FRAMES as u64;
            }
            told.store(due, Ordering::SeqCst);
            while let Ok(message) = messages.pop() {
                if port.send(message).is_err() {
                    return;
                }
            }
            thread::sleep(PAUSE);
        }
    };
    let thread = thread::Builder::new().name("MIDI port".to_owned());
    let thread = thread
        .spawn(play)
        .map_err(|e| MidiOutError::NoMidi(e.to_string()))?;
    Ok(PortOutput {
        frames,
        stop,
        thread: Some(thread),
    })
}

impl PortOutput {
    /// Frames whose messages were sent.
    #[must_use]
    pub fn heard(&self) -> f64 {
        self.frames.load(Ordering::SeqCst) as f64
    }

    /// Whether it still plays.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.thread.as_ref().is_some_and(|t| !t.is_finished())
    }
}

impl Drop for PortOutput {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::SeqCst);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}
