//! One value for each level.

use crate::band::level::Level;
use serde::Deserialize;

/// One value for each level, weakest first.
#[derive(Clone, Copy, PartialEq, Debug, Deserialize)]
pub struct ByLevel<T>(pub [T; 5]);

impl<T: Copy> ByLevel<T> {
    /// The value for a level.
    #[must_use]
    pub const fn at(&self, level: Level) -> T {
        self.0[level.index()]
    }
}
