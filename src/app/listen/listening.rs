//! What the window knows of listening: what is heard, how, and where the music is.

use super::audition::{Alone, Audition};
use super::device::{Device, Devices, Found, With};
use super::speaker::{Asked, Speaker, Told};
use crate::app::worker::Wake;
use crate::music::Tick;
use crate::sound::heard::Heard;
use crate::sound::live::{Line, Mark, Marks};
use crate::sound::render::{QUICKEST, SLOWEST};
use crate::sound::seating::Place;
use std::sync::Arc;

/// A step of the tempo, as a factor (ours).
const STEP: f64 = 0.05;

/// A device, and what its engine tells.
struct Open {
    device: Arc<dyn Device>,
    marks: Marks,
    line: Line,
}

/// Listening.
pub struct Listening {
    /// What is heard of draft and sketch.
    pub heard: Heard,
    /// Where.
    pub place: Place,
    /// Whether a passage begins anew at its end.
    pub again: bool,
    /// Whether a bar is counted before.
    pub counts: bool,
    /// Whether notes are heard as they are selected.
    pub touches: bool,
    /// Whether there was no device when one was looked for last: then only what is played on purpose looks again.
    no_device: bool,
    speed: f64,
    devices: Devices,
    /// What there is to play with.
    pub found: Found,
    /// With what it is played.
    pub with: With,
    wake: Wake,
    speaker: Option<Speaker>,
    open: Option<Open>,
    /// The number of what was asked for last.
    number: u64,
    /// The passage that plays, or is about to.
    passage: Option<Passage>,
    /// Where the music is that is heard.
    at: Option<Tick>,
    told: Vec<String>,
}

/// A passage that was asked for.
struct Passage {
    number: u64,
    of: Audition,
}

impl Listening {
    /// Nothing plays yet, and no device is open.
    #[must_use]
    pub fn new(devices: Devices, wake: Wake) -> Self {
        Self {
            heard: Heard::default(),
            place: Place::default(),
            again: false,
            counts: false,
            touches: true,
            no_device: false,
            speed: 1.0,
            devices,
            found: Found::default(),
            with: With::default(),
            wake,
            speaker: None,
            open: None,
            number: 0,
            passage: None,
            at: None,
            told: Vec::new(),
        }
    }

    /// The same, where it is known that there is no device: one is looked for once something is played on purpose.
    #[must_use]
    pub fn without_device(mut self) -> Self {
        self.no_device = true;
        self
    }

    /// Makes the sounds ready beside the window, so that they are when they are asked for.
    pub fn prepare(&mut self) {
        self.speaker();
    }

    fn speaker(&mut self) -> Option<&Speaker> {
        if self.speaker.as_ref().is_none_or(Speaker::has_ended) {
            match Speaker::start(self.devices.clone(), Arc::clone(&self.wake)) {
                Ok(speaker) => self.speaker = Some(speaker),
                Err(error) => {
                    self.speaker = None;
                    self.told.push(format!("no sound: {error}"));
                }
            }
        }
        self.speaker.as_ref()
    }

    /// The factor of the tempo.
    #[must_use]
    pub const fn speed(&self) -> f64 {
        self.speed
    }

    /// Sets the factor of the tempo, within bounds.
    pub fn set_speed(&mut self, speed: f64) {
        if speed.is_finite() {
            self.speed = ((speed / STEP).round() * STEP).clamp(SLOWEST, QUICKEST);
        }
    }

    /// A step quicker, or slower.
    pub fn quicker(&mut self, quicker: bool) {
        self.set_speed(self.speed + if quicker { STEP } else { -STEP });
    }

    /// Whether a passage plays or is about to.
    #[must_use]
    pub const fn plays(&self) -> bool {
        self.passage.is_some()
    }

    /// Where the music is that is heard.
    #[must_use]
    pub const fn at(&self) -> Option<Tick> {
        self.at
    }

    /// Plays a passage.
    pub fn play(&mut self, audition: Audition, (from, to): (Tick, Option<Tick>)) {
        self.number += 1;
        let asked = Asked {
            from,
            to,
            again: self.again,
            counts: self.counts,
            number: self.number,
        };
        let number = self.number;
        if let Some(speaker) = self.speaker() {
            speaker.play(audition.clone(), asked);
            self.passage = Some(Passage {
                number,
                of: audition,
            });
        }
    }

    /// Lets something be heard by itself, where there is a device.
    pub fn alone(&mut self, audition: Audition, what: Alone) {
        if self.no_device {
            return;
        }
        self.number += 1;
        self.passage = None;
        let number = self.number;
        if let Some(speaker) = self.speaker() {
            speaker.alone(audition, what, number);
        }
    }

    /// Plays with other sounds from now on.
    pub fn play_with(&mut self, with: With) {
        self.no_device = false;
        if let Some(speaker) = self.speaker() {
            speaker.with(with);
        }
    }

    /// Is silent at once.
    pub fn stop(&mut self) {
        self.passage = None;
        self.at = None;
        if let Some(speaker) = &self.speaker {
            speaker.stop();
        }
    }

    /// Hears what was told, and gives on what is to be heard from now on. To be called once a frame; what is to be said
    /// to the arranger is given back.
    pub fn tick(&mut self, now: Option<Audition>) -> Vec<String> {
        let told: Vec<Told> = self.speaker.iter().flat_map(Speaker::told).collect();
        for told in told {
            match told {
                Told::Open(device, marks) => {
                    self.no_device = false;
                    self.open = Some(Open {
                        device,
                        marks,
                        line: Line::default(),
                    });
                }
                Told::Found(found) => self.found = found,
                Told::With(with, said) => {
                    let mut text = format!("sounds: {}", with.words());
                    if !said.is_empty() {
                        text = format!("{text}: {said}");
                    }
                    self.with = with;
                    self.told.push(text);
                    // What plays goes on with the new sounds.
                    if let Some((speaker, passage)) =
                        self.speaker.as_ref().zip(self.passage.as_ref())
                    {
                        speaker.renew(passage.of.clone());
                    }
                }
                Told::NoSound(text) => {
                    (self.open, self.passage) = (None, None);
                    self.no_device = true;
                    self.told.push(text);
                }
            }
        }
        self.follow_device();
        if let Some((speaker, passage)) = self.speaker.as_ref().zip(self.passage.as_mut())
            && let Some(now) = now
            && !passage.of.is(&now)
        {
            speaker.renew(now.clone());
            passage.of = now;
        }
        std::mem::take(&mut self.told)
    }

    fn follow_device(&mut self) {
        self.at = None;
        let Some(open) = &mut self.open else {
            return;
        };
        let marks: Vec<Mark> = open.marks.new_ones().collect();
        for mark in marks {
            open.line.told(mark);
        }
        let heard = open.device.heard().unwrap_or(0.0);
        let seconds = open.line.at(heard);
        let number = open.line.number();
        if !open.device.is_open() {
            if self.passage.take().is_some() {
                self.told.push(
                    "the sound device has gone; press play again to look for another".to_owned(),
                );
            }
            self.open = None;
            return;
        }
        let Some(passage) = self.passage.as_ref().filter(|p| Some(p.number) == number) else {
            return;
        };
        self.at = seconds.map(|s| passage.of.song.tempo.at_seconds(s));
        // It was heard to its end.
        if !open.line.is_moving() {
            self.passage = None;
        }
    }
}
