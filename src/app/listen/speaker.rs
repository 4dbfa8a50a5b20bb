//! The thread that makes programs of auditions, opens the device, and tells the engine. The window asks and goes on.

use super::audition::{Alone, Audition};
use super::device::{Device, Devices, Fill, Found, With};
use crate::app::worker::Wake;
use crate::device::open_font::open_font;
use crate::music::Tick;
use crate::sound::events::SoundScore;
use crate::sound::live::{Control, Marks, engine};
use crate::sound::render::{CountIn, Passage, Player, Program};
use crate::sound::sounds::Sounds;
use rtrb::RingBuffer;
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
    With(With),
    Stop,
}

/// What the thread tells.
pub enum Told {
    /// A device is open; marks of its engine come with it.
    Open(Arc<dyn Device>, Marks),
    /// There is no sound; why, in one sentence.
    NoSound(String),
    /// What there is to play with.
    Found(Found),
    /// With what it is played from now on, and what is to be said of that.
    With(With, String),
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
    /// Starts the thread; one of the devices is opened once something is to be heard.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub fn start(devices: Devices, wake: Wake) -> std::io::Result<Self> {
        let (orders, taken) = channel();
        let (tell, told) = channel();
        let renewals = Arc::new(AtomicU64::new(0));
        let hands = Hands {
            devices,
            tell,
            wake,
            with: With::BuiltIn,
            sounds: None,
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

    /// Plays with other sounds from now on.
    pub fn with(&self, with: With) {
        self.order(Order::With(with));
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

/// Most messages of a port that wait to be sent.
const MESSAGES: usize = 8192;

/// An engine on a player as what fills a device.
fn filled(player: Player) -> (Fill, Control, Marks) {
    let (mut engine, control, marks) = engine(Box::new(player));
    let fill: Fill = Box::new(move |frames: &mut [f32]| engine.fill(frames));
    (fill, control, marks)
}

/// What the thread holds.
struct Hands {
    devices: Devices,
    tell: Sender<Told>,
    wake: Wake,
    with: With,
    /// The sounds, once they were made; a port needs none.
    sounds: Option<Sounds>,
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
        if let Err(told) = self.sounds() {
            self.say(Told::NoSound(told));
        }
        self.say(Told::Found((self.devices.find)()));
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
                Order::With(with) => self.play_with(with),
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

    fn sounds(&mut self) -> Result<Sounds, String> {
        if let Some(sounds) = &self.sounds {
            return Ok(sounds.clone());
        }
        let sounds = Sounds::built_in().map_err(|e| e.to_string())?;
        self.sounds = Some(sounds.clone());
        Ok(sounds)
    }

    /// Goes on with other sounds, or another device. Where they cannot be used, it stays with what there was.
    fn play_with(&mut self, with: With) -> Result<(), String> {
        let told = match &with {
            With::BuiltIn => {
                self.sounds = None;
                self.sounds()?;
                String::new()
            }
            With::Font(path) => match open_font(path) {
                Ok(font) => {
                    self.sounds = Some(Sounds::of(&font));
                    let notes: Vec<String> = font.notes.iter().map(ToString::to_string).collect();
                    notes.join("; ")
                }
                Err(error) => {
                    self.say(Told::With(self.with.clone(), error.to_string()));
                    return Ok(());
                }
            },
            With::Port(_) => String::new(),
        };
        let was_port = matches!(self.with, With::Port(_));
        let is_port = matches!(with, With::Port(_));
        self.with = with.clone();
        // Another player is needed; between a port and a sound device another device too.
        if was_port || is_port {
            self.playing = None;
        }
        self.seats = 0;
        self.full = None;
        self.say(Told::With(with, told));
        Ok(())
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
            // The end of the music, which may be long after that of what is heard.
            to: Some(tempo.seconds(asked.to.unwrap_or_else(|| audition.song.end()))),
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
        let score = audition.score().map_err(|e| e.to_string())?;
        self.take(&score, audition.speed)?;
        self.full = Some(audition.clone());
        Ok(())
    }

    fn alone(&mut self, audition: &Audition, what: &Alone, number: u64) -> Result<(), String> {
        let score = audition.alone(what).map_err(|e| e.to_string())?;
        self.stop()?;
        self.take(&score, 1.0)?;
        self.full = None;
        self.pass(&Passage {
            number,
            ..Passage::WHOLE
        })
    }

    fn is_open(&self) -> bool {
        self.playing.as_ref().is_some_and(|p| p.device.is_open())
    }

    /// The program of a score with the sounds that are played with.
    fn program(&mut self, score: &SoundScore, speed: f64) -> Result<Program, String> {
        Ok(self.sounds()?.program(score, &[], speed))
    }

    /// The engine goes on with a score; a device is opened where none is.
    fn take(&mut self, score: &SoundScore, speed: f64) -> Result<(), String> {
        let seats = score.chairs.len();
        let program = Box::new(self.program(score, speed)?);
        let same_seats = seats == self.seats;
        self.seats = seats;
        if !self.is_open() {
            return self.open_device(score, program);
        }
        if let (With::Port(_), false) = (&self.with, same_seats) {
            self.playing = None;
            return self.open_device(score, program);
        }
        let sounds = self.sounds()?;
        let Some(playing) = &mut self.playing else {
            return Ok(());
        };
        let taken = if same_seats {
            playing.control.take(program)
        } else {
            let player = sounds.player(program).map_err(|e| e.to_string())?;
            playing.control.seat(Box::new(player))
        };
        taken.map_err(|e| e.to_string())
    }

    fn open_device(&mut self, score: &SoundScore, program: Box<Program>) -> Result<(), String> {
        let (device, control, marks) = match self.with.clone() {
            With::Port(name) => {
                let (out, messages) = RingBuffer::new(MESSAGES);
                let player = Player::on_port(&score.chairs, program, out);
                let (fill, control, marks) = filled(player);
                ((self.devices.port)(&name, fill, messages)?, control, marks)
            }
            With::BuiltIn | With::Font(_) => {
                let player = self.sounds()?.player(program);
                let (fill, control, marks) = filled(player.map_err(|e| e.to_string())?);
                ((self.devices.sound)(fill)?, control, marks)
            }
        };
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
