//! Generators of the specification with their numbers: what a zone is set by.

/// Numbers of generators that point to other tables, or say which keys and how.
pub(in crate::sound) const INSTRUMENT: u16 = 41;
pub(in crate::sound) const KEYS: u16 = 43;
pub(in crate::sound) const SAMPLE: u16 = 53;
pub(in crate::sound) const MODE: u16 = 54;

/// A generator of the specification that is used here, with its number.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[repr(u16)]
pub enum Generator {
    /// How far the vibrato goes, cents.
    VibratoToPitch = 6,
    /// How far the second envelope opens the filter, cents.
    EnvelopeToFilter = 11,
    /// Where the filter stands, absolute cents.
    Filter = 8,
    /// When vibrato begins, timecents.
    VibratoDelay = 23,
    /// How fast it is, absolute cents.
    VibratoRate = 24,
    /// Attack of the second envelope, timecents.
    FilterAttack = 26,
    /// Release of the second envelope, timecents.
    FilterRelease = 30,
    /// Attack, timecents.
    Attack = 34,
    /// Release, timecents.
    Release = 38,
    /// Cents a key.
    ScaleTuning = 56,
}
