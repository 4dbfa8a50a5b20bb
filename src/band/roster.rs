//! A band: its parts in score order, the players on each, and the director's remarks.

use super::division::Division;
use super::instrument::{Choir, Instrument};
use super::level::Level;
use super::limits::Limits;
use super::people::{Roster, Seat, SeatId};
use super::remarks::Remarks;
use std::sync::Arc;

/// The index of a part in [`Band::parts`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct PartId(pub usize);

/// The players of a part: how many of each level, by [`Level::index`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Players(pub [u16; 5]);

impl Players {
    /// How many there are.
    #[must_use]
    pub fn count(self) -> u32 {
        self.0.iter().map(|n| u32::from(*n)).sum()
    }

    /// Levels with their numbers of players, weakest first, empty levels left out.
    pub fn levels(self) -> impl Iterator<Item = (Level, u16)> {
        Level::ALL.into_iter().zip(self.0).filter(|(_, n)| *n > 0)
    }

    /// The weakest player's level; `None` for a part without players.
    #[must_use]
    pub fn weakest(self) -> Option<Level> {
        self.levels().next().map(|(level, _)| level)
    }

    /// The strongest player's level.
    #[must_use]
    pub fn strongest(self) -> Option<Level> {
        self.levels().last().map(|(level, _)| level)
    }
}

/// A part: one line of the score.
#[derive(Clone, PartialEq, Debug)]
pub struct Part {
    /// Its name, unique in the band, such as `Clarinet 3`.
    pub name: String,
    /// Its instrument.
    pub instrument: Arc<Instrument>,
    /// Who plays it; those who are away are not counted.
    pub players: Players,
    /// The seats behind the players, those who are away too.
    pub seats: Vec<SeatId>,
    /// What the director said of the part and of each of its players, the most careful of all.
    pub remarks: Remarks,
    /// The limits that follow.
    pub limits: Limits,
    /// 1 for the first or only part of its instrument, 2 for the second, and so on.
    pub rank: u8,
}

/// A band.
#[derive(Clone, PartialEq, Debug)]
pub struct Band {
    /// Its name.
    pub name: String,
    /// Free text about it.
    pub note: String,
    /// Its parts in score order. Parts that nobody plays are not among them.
    pub parts: Vec<Part>,
    /// What the director wrote, of which the parts are made.
    pub roster: Roster,
    /// How the sections were divided over their parts, in the order of the roster.
    pub divisions: Vec<Division>,
    /// Names of parts that rest because all who could play them are away.
    pub resting: Vec<String>,
}

impl Band {
    /// A part by its id.
    ///
    /// # Panics
    /// On an id of another band.
    #[must_use]
    pub fn part(&self, id: PartId) -> &Part {
        &self.parts[id.0]
    }

    /// All parts with their ids, in score order.
    pub fn ids(&self) -> impl Iterator<Item = (PartId, &Part)> {
        self.parts.iter().enumerate().map(|(i, p)| (PartId(i), p))
    }

    /// Its choirs, each with its parts in score order; that of the first part comes first.
    #[must_use]
    pub fn choirs(&self) -> Vec<(Choir, Vec<PartId>)> {
        let mut found: Vec<(Choir, Vec<PartId>)> = Vec::new();
        for (id, part) in self.ids() {
            let choir = part.instrument.choir;
            match found.iter_mut().find(|(c, _)| *c == choir) {
                Some((_, parts)) => parts.push(id),
                None => found.push((choir, vec![id])),
            }
        }
        found
    }

    /// A seat of the roster; `None` for an id of another band.
    #[must_use]
    pub fn seat(&self, id: SeatId) -> Option<&Seat> {
        self.roster.seat(id)
    }
}
