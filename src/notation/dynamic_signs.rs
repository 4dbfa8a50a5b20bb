//! Dynamics and hairpins under a stave, in stave spaces from the lowest line.

use crate::music::Dynamic;

/// Where the signs of dynamics stand, where nothing is in the way (ours).
pub const UNDER: f32 = -5.0;
/// How far the middle of a hairpin lies above the foot of the signs (ours).
pub const HAIRPIN_UP: f32 = 0.5;
/// Half the opening of a hairpin (common practice, no source: somewhat more than a space in all).
pub const OPEN: f32 = 0.6;
/// How large the signs are, of the font's usual size (ours).
pub const SCALE: f32 = 0.8;
/// Between a sign and a hairpin, and before the sign that it leads to (ours).
pub const HAIRPIN_GAP: f32 = 0.4;

/// The signs of a dynamic in the music font, each with how far the pen goes on from it, in stave spaces at
/// [`SCALE`] (Noto Music 2.000: 372, 470 and 292 units of 250 to the space).
///
/// ```
/// use bandwright::music::Dynamic;
/// use bandwright::notation::dynamic_signs::signs;
/// assert_eq!(signs(Dynamic::Mf).len(), 2);
/// ```
#[must_use]
pub fn signs(dynamic: Dynamic) -> Vec<(char, f32)> {
    let sign = |letter: char| match letter {
        'p' => Some(('\u{1d18f}', 1.488 * SCALE)),
        'm' => Some(('\u{1d190}', 1.88 * SCALE)),
        'f' => Some(('\u{1d191}', 1.168 * SCALE)),
        _ => None,
    };
    dynamic.word().chars().filter_map(sign).collect()
}
