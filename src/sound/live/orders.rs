//! What the engine is told, and what it gives back.

use crate::sound::render::{Passage, Player, Program};
use rtrb::{Consumer, Producer};
use thiserror::Error;

/// Something that the engine is told.
#[expect(
    clippy::large_enum_variant,
    reason = "what is in a box would have to be freed where nothing may be"
)]
pub(super) enum Order {
    /// Play this program from now on, where the music is.
    Take(Box<Program>),
    /// Play with this player from now on: another band, other sounds.
    Seat(Box<Player>),
    /// Play a passage.
    Play(Passage),
    /// Be silent at once.
    Stop,
}

/// What was replaced: it is dropped where one may wait.
pub(super) enum Retired {
    Program(#[expect(dead_code, reason = "it is kept to be dropped")] Box<Program>),
    Player(#[expect(dead_code, reason = "it is kept to be dropped")] Box<Player>),
}

/// Why an order was not taken: the device asks for no sound any more.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
#[error("the sound device takes no more orders; it may have been unplugged")]
pub struct Full;

/// The other end of an engine.
pub struct Control {
    pub(super) orders: Producer<Order>,
    pub(super) retired: Consumer<Retired>,
}

impl Control {
    fn order(&mut self, order: Order) -> Result<(), Full> {
        // What was replaced is dropped here, so that there is always room for more.
        while self.retired.pop().is_ok() {}
        self.orders.push(order).map_err(|_| Full)
    }

    /// Another program, heard at once where the music is.
    ///
    /// # Errors
    /// If the engine has not been asked for sound for long.
    pub fn take(&mut self, program: Box<Program>) -> Result<(), Full> {
        self.order(Order::Take(program))
    }

    /// Another player, which goes on where the music is.
    ///
    /// # Errors
    /// If the engine has not been asked for sound for long.
    pub fn seat(&mut self, player: Box<Player>) -> Result<(), Full> {
        self.order(Order::Seat(player))
    }

    /// Plays a passage of the program.
    ///
    /// # Errors
    /// If the engine has not been asked for sound for long.
    pub fn play(&mut self, passage: &Passage) -> Result<(), Full> {
        self.order(Order::Play(*passage))
    }

    /// Falls silent at once.
    ///
    /// # Errors
    /// If the engine has not been asked for sound for long.
    pub fn stop(&mut self) -> Result<(), Full> {
        self.order(Order::Stop)
    }
}
