//! Where parts may play nothing, because of a remark: found before a note is chosen.

mod change_time;
mod doubles;
mod keys;
pub(super) mod rest_bars;

pub use change_time::ChangeTime;
pub(super) use doubles::{close_for_doubles, weight};
pub(super) use keys::close_for_keys;
pub(super) use rest_bars::close_for_rests;
