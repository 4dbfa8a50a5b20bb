//! stand-in until the branch is merged
use super::solve::{PartRole, Setting};
use crate::band::PartId;
pub struct Evidence;
impl Evidence {
    pub fn of(_: &Setting<'_>) -> Self { Self }
    pub fn cost(&self, _: usize, _: PartId, _: PartRole) -> f64 { 0.0 }
}
