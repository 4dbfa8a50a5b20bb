//! Who sits in the band: seats, the sections and parts they belong to, and the roster of them all.

use super::instrument::Instrument;
use super::level::Level;
use super::overrides::Override;
use super::remarks::Remarks;
use std::sync::Arc;

/// A player's place.
#[derive(Clone, PartialEq, Debug)]
pub struct Seat {
    /// The player's name, for the director alone; empty where it was not given. It enters no
    /// cost and leaves into no draft.
    pub name: String,
    /// How good the player is.
    pub level: Level,
    /// Whether the player is away.
    pub absent: bool,
    /// The part of the section, from 1, that the director gave the player; `None` where the
    /// program may choose.
    pub part: Option<u8>,
    /// What the director said of this player.
    pub remarks: Remarks,
}

impl Seat {
    /// A player without a name, of whom nothing was said.
    #[must_use]
    pub fn of(level: Level) -> Self {
        Self {
            name: String::new(),
            level,
            absent: false,
            part: None,
            remarks: Remarks::default(),
        }
    }

    /// Whether only the level is known of it.
    #[must_use]
    pub fn is_plain(&self) -> bool {
        *self == Self::of(self.level)
    }
}

/// How many parts the players of a section are divided over.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Split {
    /// It is one part, and all of its players play it (`[[part]]`).
    One,
    /// So many parts; the program proposes who plays which.
    Into(u8),
    /// The program proposes the number of parts too.
    Proposed,
}

/// Players of one instrument with one name in the roster: a part, or a section of several.
#[derive(Clone, PartialEq, Debug)]
pub struct Section {
    /// Its name: the part's, or what the parts' names begin with.
    pub name: String,
    /// Its instrument.
    pub instrument: Arc<Instrument>,
    /// How many parts it has.
    pub split: Split,
    /// Its players, those who are away too, in the order of the roster.
    pub seats: Vec<Seat>,
    /// What the director said of all its players.
    pub remarks: Remarks,
}

/// Where a seat stands in [`Roster::sections`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct SeatId {
    /// The index of the section.
    pub section: usize,
    /// The index of the seat in the section.
    pub seat: usize,
}

/// What a director wrote of a band. The parts of the band follow from it.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Roster {
    /// The band's name.
    pub name: String,
    /// Free text about it.
    pub note: String,
    /// Sections and parts, in the order of the file.
    pub sections: Vec<Section>,
    /// Values of instruments that hold for this band alone.
    pub overrides: Vec<Override>,
}

impl Roster {
    /// A seat; `None` for an id of another roster.
    #[must_use]
    pub fn seat(&self, id: SeatId) -> Option<&Seat> {
        self.sections.get(id.section)?.seats.get(id.seat)
    }

    /// All seats with their ids, in the order of the file.
    pub fn seats(&self) -> impl Iterator<Item = (SeatId, &Seat)> {
        let sections = self.sections.iter().enumerate();
        sections.flat_map(|(section, s)| {
            let seats = s.seats.iter().enumerate();
            seats.map(move |(seat, about)| (SeatId { section, seat }, about))
        })
    }
}

/// A name without case, white space, `-`, `_` and `.`: equal for names that people take for the
/// same, and that tracks of a MIDI file could not tell apart.
#[must_use]
pub fn same_name(name: &str) -> String {
    let lower = name.to_lowercase();
    lower
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '_' | '.'))
        .collect()
}
