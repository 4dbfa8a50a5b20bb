//! The band: instruments, levels, rosters and remarks, and the limits that follow from them.

pub mod instrument;
pub mod level;
pub mod limits;
pub mod roster;

pub use instrument::{Choir, Family, Instrument, LevelRange, WrittenRange};
pub use level::Level;
pub use limits::{Limits, SoundingRange};
pub use roster::{Band, Part, PartId, Players, Remarks};
