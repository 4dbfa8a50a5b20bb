//! Sound while one works: an engine that fills the buffers of a device, the orders that it takes, and where the music
//! is that is heard. The engine never allocates, locks or waits; orders and what they replace pass through rings.

mod engine;
mod line;
mod orders;

pub use engine::{Engine, engine};
pub use line::{Line, Mark, Marks};
pub use orders::{Control, Full};
