//! Reviewing a draft, also one made elsewhere: what a reviewer would mark.
//!
//! Nothing here imports the solver: the checks of the hard limits are written a second time, from
//! the band and the notes alone.

pub mod clean;
pub mod finding;
mod heard;
pub mod limits_check;
pub mod silent;
pub mod sketch_check;

pub use clean::{CleanLine, Frame, HardSpot, clean_lines};
pub use finding::{Finding, Severity};
pub use limits_check::check_limits;
pub use silent::silent_parts;
pub use sketch_check::check_against_sketch;
