//! What the reviewer says of balance, breath and load: drafts made for the purpose, and any drafts.

mod balance;
mod breath;
mod kept;
mod load;

use bandwright::band::{Band, PartId, read_band};
use bandwright::music::meter::MeterChange;
use bandwright::music::tempo::TempoChange;
use bandwright::music::{MeterMap, Sounding, TempoMap, Tick, Ticks, TicksPerQuarter};
use bandwright::score::{DraftNote, PartLine, Role};

/// Ticks of a quarter note.
pub const QUARTER: u64 = 480;

pub fn band(parts: &[(&str, &str, &str)]) -> Band {
    let part = |(name, id, players): &(&str, &str, &str)| {
        format!("[[part]]\nname = \"{name}\"\ninstrument = \"{id}\"\nplayers = {{ {players} }}\n")
    };
    let parts: String = parts.iter().map(part).collect();
    read_band(&format!("name = \"Test\"\n{parts}")).unwrap()
}

/// Onset and length in quarters, concert pitch, velocity.
pub type Note = (u64, u64, u8, u8);

pub fn line(part: usize, role: Role, notes: &[Note]) -> PartLine {
    let one = |(onset, long, pitch, velocity): &Note| DraftNote {
        onset: Tick(onset * QUARTER),
        duration: Ticks(long * QUARTER),
        pitch: Sounding::new(*pitch).unwrap(),
        velocity: *velocity,
        role,
        locked: false,
    };
    PartLine {
        part: PartId(part),
        notes: notes.iter().map(one).collect(),
    }
}

pub fn quarter() -> TicksPerQuarter {
    TicksPerQuarter::new(480).unwrap()
}

/// Four quarters a bar.
pub fn meters() -> MeterMap {
    MeterMap::new(quarter(), Vec::<MeterChange>::new())
}

/// So many quarters a minute.
pub fn tempo(quarters_per_minute: f64) -> TempoMap {
    let micros = (60e6 / quarters_per_minute).round() as u32;
    let change = TempoChange {
        at: Tick::ZERO,
        micros_per_quarter: micros,
    };
    TempoMap::new(quarter(), [change])
}
