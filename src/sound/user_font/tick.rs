//! The tick of the count-in.

/// The channel of the drums, counted from 0 (General MIDI level 1, MIDI Manufacturers Association 1991, MEM).
pub const DRUM_CHANNEL: u8 = 9;
/// What ticks on the first beat of a bar, and on the others: high and low wood block of the General MIDI percussion
/// key map (level 1, 1991, MEM). The built-in tick is the same on every key.
pub const TICK_FIRST: u8 = 76;
/// See [`TICK_FIRST`].
pub const TICK_OTHER: u8 = 77;
/// Programs of the drums in the small font: what ticks, and the built-in tick to compare it with.
pub(super) const OWN_TICK: u8 = 0;
pub(super) const SPARE_TICK: u8 = 1;
