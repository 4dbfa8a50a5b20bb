//! The scoring plan: what every part does in every passage.
//!
//! First the passages are cut along phrases ([`passages`]). Every usual way of scoring ([`habits`]) is laid on
//! each passage with this band, and ways near to them are searched exactly: by sections, with every part's fit
//! to the lines ([`fit`]), by the terms of [`terms`]. Of each passage the best ways that really differ are kept;
//! a shortest path leads through the passages ([`solve`]), and each is then fitted to what stands around it, so that colours
//! change and brass rests. Where remarks leave a part nothing to play is found before ([`closed`]).

mod alternatives;
pub mod apart;
mod chosen;
pub mod closed;
pub mod drums;
pub mod estimates;
pub mod evidence;
pub mod figures;
pub mod fit;
mod fits;
pub mod habits;
pub mod intensity;
pub mod line;
pub mod passages;
mod path;
mod pool;
mod reasons;
mod rests;
mod scene;
mod search;
mod settle;
pub mod shaped;
mod show;
pub mod solve;
mod space;
pub mod terms;
pub mod timeline;
mod usual;
pub mod words;

pub use alternatives::Alternative;
pub use apart::Apart;
pub use evidence::Evidence;
pub use figures::{FigurePlan, figure_plans, played};
pub use line::{LineNote, Lines, Moment};
pub use reasons::{PassageReason, RestReason, why_passage, why_rests};
pub use scene::apart;
pub use solve::{PartRole, PassagePlan, ScoringPlan, Setting, plan};
pub use terms::{PlanCost, PlanWeights, Term};
