//! The scoring plan: what every part does in every passage.
//!
//! First the passages are cut along phrases ([`passages`]); then every usual way of scoring
//! ([`habits`]) is tried on each passage with this band (how a part takes to a line: [`fit`]), and the ways are chosen by a
//! shortest path along the passages ([`solve`]). Last, brass that has played long gets rests where
//! others can do without it. Where remarks leave a part nothing to play is found on the way
//! ([`closed`]).

pub mod apart;
mod candidates;
pub mod closed;
pub mod drums;
pub mod estimates;
pub mod evidence;
pub mod figures;
pub mod fit;
pub mod habits;
pub mod intensity;
pub mod line;
pub mod passages;
mod rests;
pub mod solve;

pub use apart::Apart;
pub use evidence::Evidence;
pub use figures::{FigurePlan, figure_plans, played};
pub use line::{LineNote, Lines, Moment};
pub use solve::{PartRole, PassagePlan, ScoringPlan, Setting, plan};
