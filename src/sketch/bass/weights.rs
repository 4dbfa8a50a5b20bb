//! Weights of the bass finder, in log-score units. All are ours, chosen by trial on chorales and
//! on accompaniments under folk tunes (`.ci/reading/bass_textures.py`); no source.

/// A turn, before anything speaks for it.
pub(super) const TURN: f64 = -1.0;
/// It begins with a bar.
pub(super) const ON_BAR: f64 = 0.4;
/// It begins in the middle of a bar.
pub(super) const ON_MIDDLE: f64 = 0.3;
/// It begins with a beat.
pub(super) const ON_BEAT: f64 = 0.2;
/// It begins between beats.
pub(super) const OFF_BEAT: f64 = -0.3;
/// Its bass is struck with a tenth, or with one tone of the other hand.
pub(super) const TENTH: f64 = -1.0;
/// Its bass is struck with more than the melody.
pub(super) const FULL: f64 = -2.0;
/// A chord answers the bass.
pub(super) const ANSWER: f64 = 0.9;
/// One of no more tones than were struck with the bass.
pub(super) const THIN_ANSWER: f64 = 0.4;
/// A bass note of its own inside a turn with chords.
pub(super) const LONE_BEFORE_CHORD: f64 = -1.5;
/// A single note after half a quarter or less.
pub(super) const QUICK: f64 = 0.5;
/// The same after less than a quarter.
pub(super) const MIDDLING: f64 = 0.35;
/// The same after a quarter and more.
pub(super) const SLOW: f64 = 0.0;
/// A turn of two single notes.
pub(super) const PAIR: f64 = -0.4;
/// The same, slow.
pub(super) const SLOW_PAIR: f64 = -1.5;
/// Something but the melody sounds beside a single note.
pub(super) const NOT_THIN: f64 = -0.5;
/// A chord is struck while a single note is held.
pub(super) const BESIDE: f64 = -1.0;
/// A step between single notes.
pub(super) const STEP: f64 = -0.8;
/// The same after a quarter and more: a bass that walks.
pub(super) const SLOW_STEP: f64 = -1.4;
/// A single note struck twice.
pub(super) const REPEATED: f64 = -0.8;
/// A step into the next group.
pub(super) const STEP_OUT: f64 = -0.4;
/// What follows on single notes goes on above them all: a pattern comes back.
pub(super) const ON_AND_UP: f64 = -0.8;
/// All tones are of one chord.
pub(super) const CHORDAL: f64 = 0.6;
/// They are not.
pub(super) const NOT_CHORDAL: f64 = -1.5;
/// Two turns are alike,
pub(super) const ALIKE: f64 = 0.5;
/// and so much more for each of their notes.
pub(super) const ALIKE_NOTE: f64 = 0.25;
/// The pedal lets the bass go inside the turn.
pub(super) const PEDAL: f64 = -1.5;
/// The next group begins on a higher tone of the same chord,
pub(super) const UPPER: f64 = -1.5;
/// and with a bar.
pub(super) const UPPER_BAR: f64 = -0.5;
