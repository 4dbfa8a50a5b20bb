//! The work beside the window: one thread that follows the document, solves, and says why. The window
//! asks and goes on; what is told comes back with the number of what was asked.

use crate::band::PartId;
use crate::music::{Sounding, Tick};
use crate::project::document::Document;
use crate::project::standing::{Ask, Found, Look, Standing};
use crate::project::why::Why;
use crate::project::work::Remedy;
use crate::review::Finding;
use crate::voicing::{Effort, Progress};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::{Builder, JoinHandle};
use std::time::{Duration, Instant};

/// How often progress is told at most.
const TELL_EVERY: Duration = Duration::from_millis(30);

/// What the window asks.
#[derive(Clone, Debug)]
enum Order {
    /// Follow the document to where it is now.
    Follow(Box<Document>),
    /// Solve some of it, and follow it there.
    Solve(Box<Document>, Ask),
    /// Say what mends a finding of the document that was followed last.
    Remedies(Box<Finding>),
    /// Say why a part does what it does at a tick, with the note of a pitch, of the document that was followed last.
    Why(PartId, Tick, Option<Sounding>),
}

/// What the work tells.
#[derive(Clone, Debug)]
pub enum Told {
    /// Where the document stands.
    Look(Box<Look>),
    /// How far a solve has come.
    Progress(Progress),
    /// What a solve found, and how long it took.
    Found(Box<Found>, Duration),
    /// Why; `None` where there is nothing to say.
    Why(Option<Box<Why>>),
    /// What mends a finding.
    Remedies(Vec<Remedy>),
    /// What went wrong, one sentence.
    Failed(String),
}

/// The thread, and the ways to and from it.
pub struct Worker {
    orders: Option<Sender<(u64, Order)>>,
    told: Receiver<(u64, Told)>,
    stop: Arc<AtomicBool>,
    /// The number of the last order to follow or to solve; what is asked before and not begun is left out.
    latest: Arc<AtomicU64>,
    /// The number of the last question why.
    latest_why: Arc<AtomicU64>,
    last: u64,
    thread: Option<JoinHandle<()>>,
}

/// Wakes the window when something was told.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

impl Worker {
    /// Starts the thread.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub fn start(wake: Wake) -> std::io::Result<Self> {
        let (orders, taken) = channel();
        let (tell, told) = channel();
        let stop = Arc::new(AtomicBool::new(false));
        let latest = Arc::new(AtomicU64::new(0));
        let latest_why = Arc::new(AtomicU64::new(0));
        let hands = Hands {
            standing: None,
            tell,
            wake,
            stop: Arc::clone(&stop),
            latest: Arc::clone(&latest),
            latest_why: Arc::clone(&latest_why),
        };
        let thread = Builder::new()
            .name("solver".to_owned())
            .spawn(move || hands.work(&taken))?;
        Ok(Self {
            orders: Some(orders),
            told,
            stop,
            latest,
            latest_why,
            last: 0,
            thread: Some(thread),
        })
    }

    fn order(&mut self, order: Order) -> u64 {
        self.last += 1;
        match order {
            Order::Follow(_) | Order::Solve(..) => self.latest.store(self.last, Ordering::SeqCst),
            Order::Why(..) => self.latest_why.store(self.last, Ordering::SeqCst),
            Order::Remedies(_) => {}
        }
        if let Some(orders) = &self.orders {
            // The thread is only gone after a panic in it, which `told` then shows as silence.
            let _ = orders.send((self.last, order));
        }
        self.last
    }

    /// Follows the document; gives the number of the answer.
    pub fn follow(&mut self, document: &Document) -> u64 {
        self.order(Order::Follow(Box::new(document.clone())))
    }

    /// Solves some of the document; gives the number of the answer.
    pub fn solve(&mut self, document: &Document, ask: Ask) -> u64 {
        self.stop.store(false, Ordering::SeqCst);
        self.order(Order::Solve(Box::new(document.clone()), ask))
    }

    /// Asks why; gives the number of the answer. What was asked before and not begun is left out.
    pub fn why(&mut self, part: PartId, at: Tick, pitch: Option<Sounding>) -> u64 {
        self.order(Order::Why(part, at, pitch))
    }

    /// Asks what mends a finding; gives the number of the answer.
    pub fn remedies(&mut self, finding: &Finding) -> u64 {
        self.order(Order::Remedies(Box::new(finding.clone())))
    }

    /// Stops the solve that runs; its best answer comes all the same.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::SeqCst);
    }

    /// Whether the thread has ended before its time: something in it broke.
    #[must_use]
    pub fn has_ended(&self) -> bool {
        self.thread.as_ref().is_some_and(JoinHandle::is_finished)
    }

    /// What was told since the last time, in order.
    pub fn told(&self) -> Vec<(u64, Told)> {
        self.told.try_iter().collect()
    }

    /// Waits for something to be told; for tests.
    #[must_use]
    pub fn wait(&self, most: Duration) -> Option<(u64, Told)> {
        self.told.recv_timeout(most).ok()
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        self.stop();
        self.orders = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// What the thread holds.
struct Hands {
    standing: Option<Standing>,
    tell: Sender<(u64, Told)>,
    wake: Wake,
    stop: Arc<AtomicBool>,
    latest: Arc<AtomicU64>,
    latest_why: Arc<AtomicU64>,
}

impl Hands {
    fn work(mut self, orders: &Receiver<(u64, Order)>) {
        while let Ok((number, order)) = orders.recv() {
            match order {
                // A later order says where the document is by then.
                Order::Follow(_) if number < self.latest.load(Ordering::SeqCst) => {}
                Order::Follow(document) => self.follow(number, &document),
                Order::Solve(document, ask) => self.solve(number, &document, &ask),
                Order::Remedies(finding) => {
                    let standing = self.standing.as_ref();
                    let found = standing.map_or_else(Vec::new, |s| s.remedies(&finding));
                    self.say(number, Told::Remedies(found));
                }
                Order::Why(..) if number < self.latest_why.load(Ordering::SeqCst) => {}
                Order::Why(part, at, pitch) => {
                    let standing = self.standing.as_ref();
                    let why = standing.and_then(|s| s.why(part, at, pitch));
                    self.say(number, Told::Why(why.map(Box::new)));
                }
            }
        }
    }

    fn say(&self, number: u64, told: Told) {
        // Where nobody listens any more, the window is closing.
        let _ = self.tell.send((number, told));
        (self.wake)();
    }

    fn follow(&mut self, number: u64, document: &Document) {
        if self.followed(number, document)
            && let Some(standing) = &self.standing
        {
            self.say(number, Told::Look(Box::new(standing.look().clone())));
        }
    }

    /// Follows the document; false where that failed, which is told.
    fn followed(&mut self, number: u64, document: &Document) -> bool {
        let done = match &mut self.standing {
            Some(standing) => standing.follow(document),
            None => Standing::of(document).map(|s| self.standing = Some(s)),
        };
        if let Err(error) = &done {
            let text = format!("the sketch cannot be read: {error}");
            self.say(number, Told::Failed(text));
        }
        done.is_ok()
    }

    fn solve(&mut self, number: u64, document: &Document, ask: &Ask) {
        if !self.followed(number, document) {
            return;
        }
        let Some(mut standing) = self.standing.take() else {
            return;
        };
        self.say(number, Told::Look(Box::new(standing.look().clone())));
        let begun = Instant::now();
        let mut last = Instant::now();
        let stop = Arc::clone(&self.stop);
        let effort = Effort {
            stop: Some(&stop),
            ..Effort::default()
        };
        let found = standing.solve(ask, &effort, &mut |progress| {
            if last.elapsed() >= TELL_EVERY {
                last = Instant::now();
                self.say(number, Told::Progress(progress));
            }
        });
        self.standing = Some(standing);
        self.say(number, Told::Found(Box::new(found), begun.elapsed()));
    }
}
