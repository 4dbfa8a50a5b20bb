//! The score as plain values: roles, passages, part lines, locks and the draft.

pub mod draft;
pub mod lock;
pub mod role;

pub use draft::{Draft, DraftNote, MelodyChange, PartLine};
pub use lock::{BarSet, Lock, Locks};
pub use role::Role;
