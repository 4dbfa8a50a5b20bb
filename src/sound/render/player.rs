//! Plays a program into buffers. After it is made, nothing is allocated, nothing waits.

use super::font::settings;
use super::level::FULL_DB;
use super::program::{BLOCK, Cue, Program, block};
use super::seats::Seats;
use super::transport::{Passage, Transport};
use super::{RING, SoundError};
use crate::sound::events::Chair;
use crate::sound::tones::TONE_RMS;
use rtrb::Producer;
use rustysynth::{SoundFont, Synthesizer};
use std::sync::Arc;

/// Most notes of a synthesizer at a time: fifteen chairs with chords, their noises and what still rings.
const POLYPHONY: usize = 192;
/// Most notes that are held at a time; what is beyond is left out.
const HELD: usize = 1024;
/// How long it takes to fall silent when stopped, seconds: too short to wait for, too long for a crack (ours).
const FADE: f64 = 0.012;

/// A note that is held.
#[derive(Clone, Copy, Debug)]
struct Held {
    cue: Cue,
    /// Whether the program that was taken last has it.
    stays: bool,
}

/// What plays programs. Which chairs it has is settled when it is made.
pub struct Player {
    seats: Seats,
    program: Box<Program>,
    held: Vec<Held>,
    /// The cue that comes next.
    next: usize,
    transport: Transport,
    /// Blocks until it is silent, where it was told to stop.
    fading: Option<u64>,
    /// Blocks that have gone by since the music ended.
    rings: u64,
    /// How often the music went on from elsewhere than where it was.
    jumps: u64,
    /// What was rendered last, and how much of it has been handed out.
    left: [f32; BLOCK],
    right: [f32; BLOCK],
    given: usize,
}

impl Player {
    /// A player of a program, still at its beginning.
    ///
    /// # Errors
    /// If the synthesizer refuses its settings.
    pub fn new(font: &Arc<SoundFont>, program: Box<Program>) -> Result<Self, SoundError> {
        Self::turned_up(font, program, 0.0, 0.0)
    }

    /// The same, all of it turned up by some dB, and the tick of the count-in turned by some.
    ///
    /// # Errors
    /// If the synthesizer refuses its settings.
    pub fn turned_up(
        font: &Arc<SoundFont>,
        program: Box<Program>,
        up_db: f64,
        tick_db: f64,
    ) -> Result<Self, SoundError> {
        let settings = settings(POLYPHONY, BLOCK);
        let loudness = FULL_DB + up_db - 20.0 * TONE_RMS.log10();
        let one = |_| {
            let mut synthesizer = Synthesizer::new(font, &settings)
                .map_err(|e| SoundError::Synthesizer(e.to_string()))?;
            synthesizer.set_master_volume(10.0_f64.powf(loudness / 20.0) as f32);
            Ok(synthesizer)
        };
        let count = Seats::synthesizers(program.places().len());
        let all = (0..count).map(one).collect::<Result<_, SoundError>>()?;
        Ok(Self::seated(Seats::of(all, tick_db), program))
    }

    /// A player that makes no sound itself: what it plays goes out as messages of a MIDI port. What does not fit into
    /// the ring that takes them is left out.
    #[must_use]
    pub fn on_port(chairs: &[Chair], program: Box<Program>, out: Producer<[u8; 3]>) -> Self {
        Self::seated(Seats::on_port(chairs, out), program)
    }

    fn seated(seats: Seats, program: Box<Program>) -> Self {
        let mut player = Self {
            seats,
            program,
            held: Vec::with_capacity(HELD),
            next: 0,
            transport: Transport::STILL,
            fading: None,
            rings: block(RING) + 1,
            jumps: 0,
            left: [0.0; BLOCK],
            right: [0.0; BLOCK],
            given: BLOCK,
        };
        player.seats.place(player.program.places());
        player
    }

    /// The program that is played.
    #[must_use]
    pub fn program(&self) -> &Program {
        &self.program
    }

    /// Plays a passage; what sounded ends.
    pub fn play(&mut self, passage: &Passage) {
        self.silence_at_once_if_fading();
        self.end_all();
        self.transport = Transport::at(passage, &self.program);
        self.next = usize::MAX;
        self.jumps += 1;
    }

    /// Falls silent at once.
    pub fn stop(&mut self) {
        self.fading = self.fading.or(Some(block(FADE)));
    }

    /// Takes another program, and gives back the one before. What sounds in both goes on; what only the old one has
    /// ends, what only the new one has begins, wherever the music is.
    pub fn take(&mut self, program: Box<Program>) -> Box<Program> {
        self.transport = self.transport.in_program(&self.program, &program);
        let before = std::mem::replace(&mut self.program, program);
        self.seats.place(self.program.places());
        if self.transport.plays && self.next != usize::MAX {
            self.go_on_in_program();
        }
        self.jumps += 1;
        before
    }

    /// Goes on where another player is, in this one's program.
    pub fn take_over(&mut self, before: &Self) {
        self.transport = before.transport.in_program(&before.program, &self.program);
        self.transport.plays = before.plays();
        self.jumps = before.jumps + 1;
        self.next = usize::MAX;
    }

    /// Whether it plays, or counts in.
    #[must_use]
    pub fn plays(&self) -> bool {
        self.transport.plays && self.fading.is_none()
    }

    /// Whether nothing is to be heard: it does not play, and all has died away.
    #[must_use]
    pub fn is_silent(&self) -> bool {
        !self.transport.plays && self.fading.is_none() && self.rings > block(RING)
    }

    /// How far the music has come, in seconds of its own tempo: where the next block begins. Before where it was to
    /// begin while it is counted in.
    #[must_use]
    pub fn at(&self) -> f64 {
        self.program.seconds(self.transport.block)
    }

    /// Where the passage begins, in seconds of its own tempo.
    #[must_use]
    pub fn from(&self) -> f64 {
        self.program.seconds(self.transport.from as i64)
    }

    /// The number of the passage that was asked for last.
    #[must_use]
    pub const fn number(&self) -> u64 {
        self.transport.number
    }

    /// How much of the music a block is, in seconds of its own tempo.
    #[must_use]
    pub fn seconds_of_block(&self) -> f64 {
        self.program.seconds(1)
    }

    /// How often the music went on from elsewhere than where it was, began or stopped.
    #[must_use]
    pub const fn jumps(&self) -> u64 {
        self.jumps
    }

    /// The next samples, as many as the shorter buffer has.
    pub fn fill(&mut self, left: &mut [f32], right: &mut [f32]) {
        for (l, r) in left.iter_mut().zip(right) {
            if self.given == BLOCK {
                self.render_block();
                self.given = 0;
            }
            *l = self.left[self.given];
            *r = self.right[self.given];
            self.given += 1;
        }
    }

    /// The next block.
    pub(crate) fn next_block(&mut self) -> (&[f32; BLOCK], &[f32; BLOCK]) {
        self.render_block();
        (&self.left, &self.right)
    }

    fn render_block(&mut self) {
        if self.transport.plays {
            self.step();
        } else {
            self.rings = self.rings.saturating_add(1);
        }
        if self.is_silent() {
            self.left.fill(0.0);
            self.right.fill(0.0);
            return;
        }
        self.seats.render(&mut self.left, &mut self.right);
        self.fade();
    }

    /// What is due before the next block, which is then the one after.
    fn step(&mut self) {
        let t = &self.transport;
        if t.to.is_some_and(|to| t.block >= to as i64) {
            if !t.again {
                self.finish();
                return;
            }
            self.end_all();
            self.transport.block = self.transport.from as i64;
            self.next = usize::MAX;
            self.jumps += 1;
        }
        if self.transport.ticks_now() {
            self.seats.tick();
        }
        if self.transport.block >= self.transport.from as i64 {
            self.cue(self.transport.block.max(0) as u64);
        }
        self.transport.block += 1;
    }

    fn cue(&mut self, now: u64) {
        if self.next == usize::MAX {
            self.begin_in_the_middle(now);
        }
        let mut i = 0;
        while i < self.held.len() {
            if self.held[i].cue.end <= now {
                self.end(i);
            } else {
                i += 1;
            }
        }
        while let Some(cue) = self.program.cues().get(self.next).copied() {
            if cue.start > now {
                break;
            }
            self.next += 1;
            self.begin(cue);
        }
        let over = now >= self.program.end() && self.held.is_empty();
        if over && self.transport.to.is_none() {
            self.finish();
        }
    }

    /// Begins what lasts over a block, and goes on from there.
    fn begin_in_the_middle(&mut self, now: u64) {
        self.next = self.program.cues().partition_point(|c| c.start < now);
        for i in 0..self.next {
            let cue = self.program.cues()[i];
            if cue.lasts_over(now) {
                self.begin(cue);
            }
        }
    }

    /// What is held becomes what the program has here.
    fn go_on_in_program(&mut self) {
        let now = self.transport.block.max(0) as u64;
        self.next = self.program.cues().partition_point(|c| c.start < now);
        for held in &mut self.held {
            held.stays = false;
        }
        for i in 0..self.next {
            let cue = self.program.cues()[i];
            if !cue.lasts_over(now) {
                continue;
            }
            let same = |h: &&mut Held| !h.stays && h.cue.sounds_like(&cue);
            match self.held.iter_mut().find(same) {
                Some(held) => *held = Held { cue, stays: true },
                None => self.begin(cue),
            }
        }
        let mut i = 0;
        while i < self.held.len() {
            if self.held[i].stays {
                i += 1;
            } else {
                self.end(i);
            }
        }
    }

    fn begin(&mut self, cue: Cue) {
        let same = |h: &Held| (h.cue.chair, h.cue.key) == (cue.chair, cue.key);
        if let Some(at) = self.held.iter().position(same) {
            self.end(at);
        }
        if self.held.len() < HELD {
            self.held.push(Held { cue, stays: true });
            self.seats.begin(&cue, self.program.loudest());
        }
    }

    fn end(&mut self, at: usize) {
        let held = self.held.swap_remove(at);
        self.seats.end(&held.cue);
    }

    fn end_all(&mut self) {
        while !self.held.is_empty() {
            self.end(self.held.len() - 1);
        }
    }

    /// The music is over; what rings dies away.
    fn finish(&mut self) {
        self.end_all();
        self.transport.plays = false;
        self.rings = 0;
        self.jumps += 1;
    }

    fn fade(&mut self) {
        let Some(left) = self.fading else {
            return;
        };
        let whole = block(FADE) as f32;
        let (from, to) = (left as f32 / whole, left.saturating_sub(1) as f32 / whole);
        for i in 0..BLOCK {
            let gain = from + (to - from) * (i as f32 / BLOCK as f32);
            self.left[i] *= gain;
            self.right[i] *= gain;
        }
        if left > 1 {
            self.fading = Some(left - 1);
        } else {
            self.fall_silent();
        }
    }

    fn fall_silent(&mut self) {
        self.fading = None;
        self.held.clear();
        self.seats.silence();
        self.transport.plays = false;
        self.rings = block(RING) + 1;
        self.jumps += 1;
    }

    fn silence_at_once_if_fading(&mut self) {
        if self.fading.is_some() {
            self.fall_silent();
        }
    }
}
