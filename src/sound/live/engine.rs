//! What fills the buffers of a device.

use super::line::{Mark, Marks};
use super::orders::{Control, Order, Retired};
use crate::sound::render::{BLOCK, Player};
use rtrb::{Consumer, Producer, RingBuffer};

/// Most orders that wait to be taken.
const ORDERS: usize = 64;
/// Most marks that wait to be read; of those beyond, the last is kept.
const MARKS: usize = 256;

/// Fills the buffers of a device with what a player plays. It never allocates, locks or waits.
pub struct Engine {
    player: Box<Player>,
    orders: Consumer<Order>,
    retired: Producer<Retired>,
    marks: Producer<Mark>,
    /// Frames that were written.
    written: u64,
    /// The jumps of the player that a mark was made of.
    marked: u64,
    /// A mark that is yet to be told.
    untold: Option<Mark>,
    left: [f32; BLOCK],
    right: [f32; BLOCK],
    given: usize,
}

/// An engine on a player, what controls it, and what tells where the music is.
#[must_use]
pub fn engine(player: Box<Player>) -> (Engine, Control, Marks) {
    let (orders, taken) = RingBuffer::new(ORDERS);
    // As many as there may be orders, and those that were given back before: there is always room.
    let (retired, dropped) = RingBuffer::new(4 * ORDERS);
    let (marks, read) = RingBuffer::new(MARKS);
    let engine = Engine {
        marked: player.jumps(),
        player,
        orders: taken,
        retired,
        marks,
        written: 0,
        untold: None,
        left: [0.0; BLOCK],
        right: [0.0; BLOCK],
        given: BLOCK,
    };
    let control = Control {
        orders,
        retired: dropped,
    };
    (engine, control, Marks(read))
}

impl Engine {
    /// The next frames, left and right in turn; a sample is never beyond what a device plays.
    pub fn fill(&mut self, frames: &mut [f32]) {
        self.take_orders();
        let (pairs, odd) = frames.as_chunks_mut::<2>();
        for [left, right] in pairs {
            if self.given == BLOCK {
                self.next_block();
            }
            *left = self.left[self.given].clamp(-1.0, 1.0);
            *right = self.right[self.given].clamp(-1.0, 1.0);
            self.given += 1;
            self.written += 1;
        }
        odd.fill(0.0);
        self.tell();
    }

    /// What plays.
    #[must_use]
    pub fn player(&self) -> &Player {
        &self.player
    }

    fn take_orders(&mut self) {
        while !self.retired.is_full() {
            let Ok(order) = self.orders.pop() else {
                return;
            };
            let old = match order {
                Order::Take(program) => Some(Retired::Program(self.player.take(program))),
                Order::Seat(mut player) => {
                    player.take_over(&self.player);
                    let before = std::mem::replace(&mut self.player, player);
                    Some(Retired::Player(before))
                }
                Order::Play(passage) => {
                    self.player.play(&passage);
                    None
                }
                Order::Stop => {
                    self.player.stop();
                    None
                }
            };
            if let Some(old) = old {
                // There is room: it was looked for.
                let _ = self.retired.push(old);
            }
        }
    }

    fn next_block(&mut self) {
        let at = self.player.at();
        let (left, right) = self.player.next_block();
        self.left.copy_from_slice(left);
        self.right.copy_from_slice(right);
        self.given = 0;
        if self.player.jumps() != self.marked {
            self.mark(at);
        }
    }

    /// The music goes on from elsewhere with the block that was just made.
    fn mark(&mut self, before: f64) {
        self.marked = self.player.jumps();
        let a_block = self.player.seconds_of_block();
        let plays = self.player.plays();
        self.tell();
        self.untold = Some(Mark {
            frame: self.written,
            at: if plays {
                self.player.at() - a_block
            } else {
                before
            },
            from: self.player.from(),
            speed: self.player.program().speed(),
            plays,
            number: self.player.number(),
        });
    }

    fn tell(&mut self) {
        if let Some(mark) = self.untold.take()
            && let Err(rtrb::PushError::Full(mark)) = self.marks.push(mark)
        {
            self.untold = Some(mark);
        }
    }
}
