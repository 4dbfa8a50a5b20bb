//! Sections of a show.

/// A section. It goes on to the next one, or to the end of the movement.
#[derive(Clone, PartialEq, Debug)]
pub struct Section<P> {
    /// What it is called: `Opening`.
    pub name: String,
    /// Where it begins.
    pub start: P,
}
