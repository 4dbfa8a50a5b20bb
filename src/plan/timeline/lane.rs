//! Free lanes of text beside the music: drill, flags, voice-over, light.

/// A lane of notes in words.
#[derive(Clone, PartialEq, Debug)]
pub struct Lane<P> {
    /// What it is about: `drill`.
    pub name: String,
    /// Its notes, by where they begin; they may overlap.
    pub notes: Vec<LaneNote<P>>,
}

/// A note in a lane.
#[derive(Clone, PartialEq, Debug)]
pub struct LaneNote<P> {
    /// Where what it says begins.
    pub from: P,
    /// Where it ends.
    pub to: P,
    /// What is to happen.
    pub text: String,
}
