//! The score as plain values: roles, passages, part lines, locks and the draft.

mod bar_words;
pub mod closed;
pub mod draft;
mod dynamic_marks;
pub mod lock;
pub mod own_passages;
pub mod passage;
pub mod returned;
pub mod role;
pub mod tempo_marks;
mod track_name;
pub mod tune_rules;

pub use bar_words::{as_ranges, bars_in_words, listed};
pub use closed::{Closed, ClosedStretch, Why, joined};
pub use draft::{Draft, DraftNote, MelodyChange, PartLine};
pub use dynamic_marks::{DynamicMark, dynamic_marks};
pub use lock::{BarSet, Lock, Locks};
pub use own_passages::{OwnPassages, own_passages, whole_tracks};
pub use passage::Passage;
pub use role::Role;
pub use tempo_marks::{BeatsAMinute, TempoMark, tempo_marks};
pub use tune_rules::TuneRules;
