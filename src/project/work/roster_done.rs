//! What comes of an edit of the roster, and why it may be refused.

use crate::band::{Band, BandError};
use thiserror::Error;

/// What came of an edit of the roster.
#[derive(Clone, PartialEq, Debug)]
pub struct RosterDone {
    /// The band of the roster after it.
    pub band: Band,
    /// For every section of the roster before, where it stands now; `None` where it is gone.
    pub sections: Vec<Option<usize>>,
    /// What was changed, one sentence; it is the step's name in the history too.
    pub said: String,
}

/// Why a roster was not changed.
#[derive(Clone, PartialEq, Debug, Error)]
pub enum RosterRefused {
    /// A part, section or player that the roster has not.
    #[error("the roster has no such {0}; choose one of its rows")]
    Unknown(&'static str),
    /// An instrument that the table has not, with what may be meant.
    #[error("{0}")]
    Instrument(String),
    /// A name that is none.
    #[error("a part needs a name; write one such as `Trumpet 1`")]
    NoName,
    /// A remark that cannot be said so.
    #[error("{0}")]
    Remark(String),
    /// The band's own values of an instrument cannot be.
    #[error("{0}")]
    Own(String),
    /// What is left is no band.
    #[error("the roster stays as it is, for {0}")]
    Band(#[from] BandError),
    /// All is as it was.
    #[error("that changes nothing; the roster is so already")]
    NothingChanges,
}
