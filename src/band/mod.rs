//! The band: instruments, levels, rosters and remarks, and the limits that follow from them.

pub mod clean_chance;
pub mod instrument;
pub mod instruments;
pub mod level;
pub mod limits;
pub mod load;
pub mod loudness;
pub mod nearest;
pub mod playing;
pub mod presets;
pub mod remarks;
pub mod roster;
pub mod roster_file;
mod roster_remarks;
mod roster_write;
mod toml_lines;

pub use clean_chance::clean_chance;
pub use instrument::{Choir, Family, Instrument, LevelRange, WrittenRange};
pub use instruments::{TableError, find_instrument, instruments, read_instruments};
pub use level::Level;
pub use limits::{BELOW_THE_BREAK, Limits, LimitsError, SoundingRange, limits};
pub use nearest::{edit_distance, nearest};
pub use presets::{PresetError, preset, preset_names, preset_source};
pub use remarks::{Exposure, GoEasy, NotesPerSecond, Remarks};
pub use roster::{Band, Part, PartId, Players};
pub use roster_file::{RosterError, read_band};
pub use roster_write::write_band;
