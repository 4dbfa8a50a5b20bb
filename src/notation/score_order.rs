//! Which stave stands where in a score: woodwinds, the piano sketch, brass, percussion.

use crate::band::{Band, Family, PartId};

/// A region of the score.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Region {
    /// Woodwinds.
    Woodwinds,
    /// The piano sketch.
    Sketch,
    /// Brass.
    Brass,
    /// Percussion.
    Percussion,
}

/// Whose stave it is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Whose {
    /// A part of the band.
    Part(PartId),
    /// The sketch, upper and lower stave.
    Sketch,
}

/// The region that an instrument's family stands in.
#[must_use]
pub const fn region_of(family: Family) -> Region {
    match family {
        Family::Woodwind => Region::Woodwinds,
        Family::Brass | Family::String => Region::Brass,
        Family::Percussion | Family::Electronic => Region::Percussion,
    }
}

/// All parts and the sketch from top to bottom, each with its region.
#[must_use]
pub fn score_order(band: &Band) -> Vec<(Whose, Region)> {
    let of = |region| {
        band.ids()
            .filter(move |(_, p)| region_of(p.instrument.family) == region)
            .map(move |(id, _)| (Whose::Part(id), region))
    };
    of(Region::Woodwinds)
        .chain([(Whose::Sketch, Region::Sketch)])
        .chain(of(Region::Brass))
        .chain(of(Region::Percussion))
        .collect()
}
