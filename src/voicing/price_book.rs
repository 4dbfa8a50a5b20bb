//! Prices kept from one solve to the next.

use super::stretch::{ChoirChain, Stretch};
use super::terms::Milli;
use crate::band::PartId;
use crate::music::Tick;
use std::collections::BTreeMap;

/// What a price is about: a step by its beginning, a choir by its first part, a mark by its key.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Place {
    start: Tick,
    choir: PartId,
    mark: u8,
}

impl Place {
    /// That of a step and mark of a stretch, whose steps begin at the given ticks.
    pub(super) fn of(
        stretch: &Stretch,
        choir: &ChoirChain,
        starts: &[Tick],
        (step, mark): (usize, usize),
    ) -> Option<Self> {
        Some(Self {
            start: *starts.get(step)?,
            choir: *choir.parts.first()?,
            mark: stretch.coverage.get(step)?.key(mark)?,
        })
    }
}

/// The prices of all that was solved last: for each value that a choir can add to a mark, its price.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PriceBook(BTreeMap<Place, Vec<(u16, Milli)>>);

impl PriceBook {
    /// The prices at a place.
    #[must_use]
    pub(super) fn of(&self, place: Place) -> Option<&[(u16, Milli)]> {
        self.0.get(&place).map(Vec::as_slice)
    }

    /// Puts prices in.
    pub(super) fn set(&mut self, place: Place, prices: Vec<(u16, Milli)>) {
        self.0.insert(place, prices);
    }

    /// How many places have prices.
    #[must_use]
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}
