//! Points of the wanted curve, and how it goes on from them.

/// How the curve goes from a point to the next.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Way {
    /// In a straight line.
    Straight,
    /// In a curve that leaves and arrives gently and never goes beyond either point.
    #[default]
    Curved,
    /// It stays as it is and changes at once where the next point stands.
    Held,
}

impl Way {
    /// All ways.
    pub const ALL: [Self; 3] = [Self::Straight, Self::Curved, Self::Held];

    /// Its word in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Straight => "straight",
            Self::Curved => "curved",
            Self::Held => "held",
        }
    }
}

/// A point of the wanted curve.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Point<P> {
    /// Where.
    pub at: P,
    /// Wanted intensity, 0 (nearly nothing) to 10 (all that the band has).
    pub intensity: f64,
    /// How the curve goes on to the next point; of the last point without meaning.
    pub way: Way,
}
