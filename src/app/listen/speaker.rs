//! The thread that makes programs of auditions, opens the device, and tells the engine. The window asks and goes on.

use super::audition::{Alone, Audition};
use super::device::{Device, OpenDevice};
use crate::app::worker::Wake;
use crate::music::Tick;
use crate::sound::live::{Control, Marks, engine};
use crate::sound::render::{CountIn, Passage, Player, Program, built_in_font};
use rustysynth::SoundFont;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::{Builder, JoinHandle};

/// A passage, in ticks.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Asked {
    /// From where.
    pub from: Tick,
    /// To where; none: to the end.
    pub to: Option<Tick>,
    /// Whether it begins anew at its end.
    pub again: bool,
    /// Whether a bar is counted before.
    pub counts: bool,
    /// Its number.
    pub number: u64,
}

enum Order {
    Play(Box<Audition>, Asked),
    Renew(Box<Audition>),
    Alone(Box<Audition>, Alone, u64),
    Stop,
}

/// What the thread tells.
pub enum Told {
    /// A device is open; marks of its engine come with it.
    Open(Arc<dyn Device>, Marks),
    /// There is no sound; why, in one sentence.
    NoSound(String),
}

/// The thread, and the ways to and from it.
pub struct Speaker {
    orders: Option<Sender<Order>>,
    told: Receiver<Told>,
    /// How many orders to renew were given: only the last is carried out.
    renewals: Arc<AtomicU64>,
    thread: Option<JoinHandle<()>>,
}

impl Speaker {
    /// Starts the thread; devices are opened by `open` once something is to be heard.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub fn start(open: OpenDevice, wake: Wake) -> std::io::Result<Self> {
        let (orders, taken) = channel();
        let (tell, told) = channel();
        let renewals = Arc::new(AtomicU64::new(0));
        let hands = Hands {
            open,
            tell,
            wake,
            font: None,
            playing: None,
            seats: 0,
            full: None,
            renewals: Arc::clone(&renewals),
        };
        let thread = Builder::new()
            .name("speaker".to_owned())
            .spawn(move || hands.work(&taken))?;
        Ok(Self {
            orders: Some(orders),
            told,
            renewals,
            thread: Some(thread),
        })
    }

    fn order(&self, order: Order) {
        if let Some(orders) = &self.orders {
            // The thread is only gone after a panic in it; then there is no sound.
            let _ = orders.send(order);
        }
    }

    /// Plays a passage of an audition.
    pub fn play(&self, audition: Audition, asked: Asked) {
        self.order(Order::Play(Box::new(audition), asked));
    }

    /// What plays is this from now on.
    pub fn renew(&self, audition: Audition) {
        self.renewals.fetch_add(1, Ordering::SeqCst);
        self.order(Order::Renew(Box::new(audition)));
    }

    /// Lets something be heard by itself.
    pub fn alone(&self, audition: Audition, what: Alone, number: u64) {
        self.order(Order::Alone(Box::new(audition), what, number));
    }

    /// Is silent at once.
    pub fn stop(&self) {
        self.order(Order::Stop);
    }

    /// What was told since the last time, in order.
    pub fn told(&self) -> impl Iterator<Item = Told> + '_ {
        self.told.try_iter()
    }

    /// Whether the thread has ended before its time: something in it broke.
    #[must_use]
    pub fn has_ended(&self) -> bool {
        self.thread.as_ref().is_some_and(JoinHandle::is_finished)
    }
}

impl Drop for Speaker {
    fn drop(&mut self) {
        self.orders = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// An engine that a device plays.
struct Playing {
    device: Arc<dyn Device>,
    control: Control,
}

/// What the thread holds.
struct Hands {
    open: OpenDevice,
    tell: Sender<Told>,
    wake: Wake,
    font: Option<Arc<SoundFont>>,
    playing: Option<Playing>,
    /// How many chairs the engine has.
    seats: usize,
    /// The audition whose whole program the engine has.
    full: Option<Audition>,
    renewals: Arc<AtomicU64>,
}

impl Hands {
    fn work(mut self, orders: &Receiver<Order>) {
        // The sounds are ready before they are asked for.
        if let Err(told) = self.font() {
            self.say(Told::NoSound(told));
        }
        let mut renewed = 0;
        while let Ok(order) = orders.recv() {
            let done = match order {
                Order::Play(audition, asked) => self.play(&audition, asked),
                Order::Renew(audition) => {
                    renewed += 1;
                    // A later order says what is heard by then.
                    if renewed < self.renewals.load(Ordering::SeqCst) {
                        continue;
                    }
                    self.renew(&audition)
                }
                Order::Alone(audition, what, number) => self.alone(&audition, &what, number),
                Order::Stop => self.stop(),
            };
            if let Err(told) = done {
                self.playing = None;
                self.full = None;
                self.say(Told::NoSound(told));
            }
        }
    }

    fn say(&self, told: Told) {
        // Where nobody listens any more, the window is closing.
        let _ = self.tell.send(told);
        (self.wake)();
    }

    fn font(&mut self) -> Result<Arc<SoundFont>, String> {
        if let Some(font) = &self.font {
            return Ok(Arc::clone(font));
        }
        let font = built_in_font().map_err(|e| e.to_string())?;
        self.font = Some(Arc::clone(&font));
        Ok(font)
    }

    fn play(&mut self, audition: &Audition, asked: Asked) -> Result<(), String> {
        self.renew(audition)?;
        let tempo = &audition.song.tempo;
        let count_in = if asked.counts {
            audition.count_in(asked.from)
        } else {
            CountIn::NONE
        };
        self.pass(&Passage {
            from: tempo.seconds(asked.from),
            to: asked.to.map(|to| tempo.seconds(to)),
            again: asked.again,
            count_in,
            number: asked.number,
        })
    }

    /// The engine has the whole program of an audition.
    fn renew(&mut self, audition: &Audition) -> Result<(), String> {
        if self.is_open() && self.full.as_ref().is_some_and(|a| a.is(audition)) {
            return Ok(());
        }
        let program = audition.program().map_err(|e| e.to_string())?;
        self.take(program, audition)?;
        self.full = Some(audition.clone());
        Ok(())
    }

    fn alone(&mut self, audition: &Audition, what: &Alone, number: u64) -> Result<(), String> {
        let program = audition.alone(what).map_err(|e| e.to_string())?;
        self.stop()?;
        self.take(program, audition)?;
        self.full = None;
        self.pass(&Passage {
            from: 0.0,
            to: None,
            again: false,
            count_in: CountIn::NONE,
            number,
        })
    }

    fn is_open(&self) -> bool {
        self.playing.as_ref().is_some_and(|p| p.device.is_open())
    }

    /// The engine goes on with a program; a device is opened where none is.
    fn take(&mut self, program: Program, audition: &Audition) -> Result<(), String> {
        let seats = audition.band.parts.len() + 1;
        let font = self.font()?;
        let program = Box::new(program);
        if !self.is_open() {
            return self.open_device(&font, program, seats);
        }
        let Some(playing) = &mut self.playing else {
            return Ok(());
        };
        let taken = if seats == self.seats {
            playing.control.take(program)
        } else {
            self.seats = seats;
            let player = Player::new(&font, program).map_err(|e| e.to_string())?;
            playing.control.seat(Box::new(player))
        };
        taken.map_err(|e| e.to_string())
    }

    fn open_device(
        &mut self,
        font: &Arc<SoundFont>,
        program: Box<Program>,
        seats: usize,
    ) -> Result<(), String> {
        let player = Player::new(font, program).map_err(|e| e.to_string())?;
        let (mut engine, control, marks) = engine(Box::new(player));
        let device = (self.open)(Box::new(move |frames: &mut [f32]| engine.fill(frames)))?;
        self.seats = seats;
        self.say(Told::Open(Arc::clone(&device), marks));
        self.playing = Some(Playing { device, control });
        Ok(())
    }

    fn pass(&mut self, passage: &Passage) -> Result<(), String> {
        match &mut self.playing {
            Some(playing) => playing.control.play(passage).map_err(|e| e.to_string()),
            None => Ok(()),
        }
    }

    fn stop(&mut self) -> Result<(), String> {
        match &mut self.playing {
            Some(playing) => playing.control.stop().map_err(|e| e.to_string()),
            None => Ok(()),
        }
    }
}
