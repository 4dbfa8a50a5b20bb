//! MIDI channels for parts: fifteen pitched ones, shared by program where they do not suffice.

use std::collections::BTreeMap;

/// The percussion channel of General MIDI, from 0. No pitched part is put on it.
pub const PERCUSSION: u8 = 9;

/// A channel for every part, given each part's General MIDI program and the channels that the
/// sketch uses. Each part gets a channel of its own while they last; otherwise parts of one
/// program share one; if there are more programs than channels, they share in turn.
#[must_use]
pub fn channels(programs: &[u8], taken: &[u8]) -> Vec<u8> {
    let all = || (0..16).filter(|c| *c != PERCUSSION);
    let mut free: Vec<u8> = all().filter(|c| !taken.contains(c)).collect();
    if free.is_empty() {
        // The sketch uses every channel; sharing with it is the least evil.
        free = all().collect();
    }
    if programs.len() <= free.len() {
        return free[..programs.len()].to_vec();
    }
    let mut of_program: BTreeMap<u8, u8> = BTreeMap::new();
    for program in programs {
        let next = of_program.len() % free.len();
        of_program.entry(*program).or_insert(free[next]);
    }
    programs.iter().map(|p| of_program[p]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_parts_get_their_own_and_many_share_by_program() {
        assert_eq!(channels(&[73, 73, 56], &[0]), [1, 2, 3]);
        let many = [73_u8, 71, 56, 57].repeat(5);
        let shared = channels(&many, &[0]);
        assert!(
            shared
                .iter()
                .zip(&many)
                .all(|(c, p)| *c == shared[many.iter().position(|q| q == p).unwrap()])
        );
        let programs: Vec<u8> = (0..40).collect();
        assert!(
            channels(&programs, &[])
                .iter()
                .all(|c| *c != PERCUSSION && *c < 16)
        );
        let all: Vec<u8> = (0..16).collect();
        assert!(!channels(&[1, 2], &all).contains(&PERCUSSION));
    }
}
