//! Reviewing a draft, also one made elsewhere: what a reviewer would mark.
//!
//! Nothing here imports the solver: the checks of the hard limits are written a second time, from
//! the band and the notes alone.

pub mod carriers;
pub mod finding;
mod heard;
pub mod limits_check;
pub mod load;
mod moments;
pub mod presence;
pub mod silent;
pub mod sketch_check;

pub use carriers::with_roles;
pub use finding::{Finding, Severity};
pub use limits_check::check_limits;
pub use load::{PartStrain, load_findings, strains, tired};
pub use presence::{
    LinePresence, Stretch, StretchPresence, presence_findings, presences, stretches,
};
pub use silent::silent_parts;
pub use sketch_check::check_against_sketch;
