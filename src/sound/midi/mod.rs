//! Chairs on a MIDI port: who has which channel, and the bytes that are told.
//!
//! Numbers of messages: MIDI 1.0 Detailed Specification, MIDI Manufacturers Association 1996 (MEM). General MIDI
//! level 1, 1991 (MEM) says which channel is that of the drums.

mod channels;
mod outlet;
mod port_names;
mod seats;

pub use channels::{CHAIR_CHANNELS, Channels, channels};
pub use outlet::{Outlet, Sink};
pub use port_names::told_apart;
pub use seats::PortSeats;
