//! What plays where a font lacks a program: the families of General MIDI.

use std::collections::BTreeSet;

/// Programs of a family: General MIDI level 1 sound set (MIDI Manufacturers Association 1991, MEM).
const FAMILY: u8 = 8;

/// Programs that have nothing in common with the others of their family: the kettledrums stand among strings (ours).
const ALONE: [u8; 1] = [47];

/// The program that comes nearest to one: itself, or the next of its family, the lower of two that are as near;
/// `None` where a font has no other of the family.
///
/// ```
/// use bandwright::sound::user_font::nearest_program;
/// let font = [0, 56, 60, 61].into();
/// assert_eq!(nearest_program(60, &font), Some(60));
/// assert_eq!(nearest_program(58, &font), Some(56));
/// assert_eq!(nearest_program(73, &font), None);
/// ```
#[must_use]
pub fn nearest_program(program: u8, font: &BTreeSet<u8>) -> Option<u8> {
    if font.contains(&program) {
        return Some(program);
    }
    if ALONE.contains(&program) {
        return None;
    }
    let family = program / FAMILY;
    let others = font.iter().copied();
    others
        .filter(|p| p / FAMILY == family && !ALONE.contains(p))
        .min_by_key(|p| (p.abs_diff(program), *p))
}
