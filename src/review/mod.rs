//! Reviewing a draft, also one made elsewhere: what a reviewer would mark.
//!
//! Nothing here imports the solver: the checks of the hard limits are written a second time, from
//! the band and the notes alone.

mod alone_check;
mod balance;
pub mod breath;
mod by_line;
pub mod carriers;
mod changes;
pub mod clean;
pub mod course;
mod doubles_check;
pub mod exposed;
pub mod finding;
mod heard;
mod key_check;
pub mod ladder;
pub mod limits_check;
pub mod load;
mod load_book;
mod moments;
pub mod notes;
pub mod presence;
pub mod range_used;
mod relief;
mod relief_book;
mod rest_check;
pub mod rests;
pub mod silent;
pub mod sketch_check;
mod tired;
mod tones;
pub mod trouble;
pub mod tune_check;
pub mod uncover;

pub use alone_check::check_carried_alone;
pub use balance::{BalanceBook, presence_findings};
pub use breath::{Breath, BreathFrame, BreathKind, Breathing, breath_findings, breathing};
pub use carriers::with_roles;
pub use changes::Change;
pub use clean::{CleanBook, CleanLine, Frame, HardSpot, clean_lines};
pub use course::{Before, Course, CourseBook, CourseOf, Measure, Miss, misses};
pub use exposed::{Exposed, ExposedMoment, exposed_moments};
pub use finding::{Finding, Severity};
pub use ladder::{Ladder, ladder};
pub use limits_check::{Sheet, check_limits};
pub use load::{
    Carried, PartStrain, load_findings, load_findings_kept, strains, strains_after, tired,
};
pub use load_book::LoadBook;
pub use notes::check_notes;
pub use presence::{LinePresence, PresenceBook, Stretch, StretchPresence, presences, stretches};
pub use range_used::{PitchTime, time_by_pitch};
pub use relief::{GivenUp, LoadSheet, Relief};
pub use relief_book::ReliefBook;
pub use rests::{BarsOfRest, PlayedBars, played_bars};
pub use silent::silent_parts;
pub use sketch_check::check_against_sketch;
pub use tired::{peak_findings, peak_findings_kept, section_findings};
pub use trouble::{Spot, spots};
pub use tune_check::{TuneSheet, check_tune};
pub use uncover::{Cover, Uncover, Uncovering, uncover};
