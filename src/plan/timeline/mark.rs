//! Named places of the curve: peaks, crests and hushes.

/// What a named place is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum MarkKind {
    /// The place that the show is made for; few shows have two.
    Peak,
    /// A lesser peak.
    Crest,
    /// A quiet place.
    Hush,
}

impl MarkKind {
    /// All kinds.
    pub const ALL: [Self; 3] = [Self::Peak, Self::Crest, Self::Hush];

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Peak => "peak",
            Self::Crest => "crest",
            Self::Hush => "hush",
        }
    }
}

/// A named place of the curve. How intense it is wanted, the curve says.
#[derive(Clone, PartialEq, Debug)]
pub struct Mark<P> {
    /// What it is.
    pub kind: MarkKind,
    /// Where.
    pub at: P,
    /// What it is called: `the chorale`.
    pub name: String,
}
