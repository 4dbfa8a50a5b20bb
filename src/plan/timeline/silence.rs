//! Silences and pauses.

/// A stretch in which nobody is to sound, as counted rests of the music. The curve is 0 in it.
#[derive(Clone, PartialEq, Debug)]
pub struct Silence<P> {
    /// Where it begins.
    pub from: P,
    /// Where sound begins again.
    pub to: P,
    /// What it is for; may be empty.
    pub name: String,
}

/// A stop of the music for some time that no bar counts, as for applause.
#[derive(Clone, PartialEq, Debug)]
pub struct Pause<P> {
    /// The place that is reached before it; the music goes on from there.
    pub at: P,
    /// How long, seconds.
    pub seconds: f64,
    /// What it is for; may be empty.
    pub name: String,
}
