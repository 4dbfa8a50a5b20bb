//! MIDI channels for parts: fifteen pitched ones, shared by program where they do not suffice.

use std::collections::{BTreeMap, BTreeSet};

/// The percussion channel of General MIDI, from 0. No pitched part is put on it.
pub const PERCUSSION: u8 = 9;

/// A part as the channels see it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Voice {
    /// General MIDI program from 0.
    pub program: u8,
    /// How many notes it plays.
    pub notes: usize,
}

/// Where a part plays.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Seat {
    /// MIDI channel from 0.
    pub channel: u8,
    /// Whether parts of other programs play there too: then every note must ask for its program.
    pub contested: bool,
}

/// A seat for every part, given the channels that the sketch uses.
///
/// Every part gets a channel of its own while they last. Otherwise parts of one program share
/// one, on the sketch's channels too if need be; if there are more programs than channels, those
/// with the fewest notes go with the nearest program, of their General MIDI family (eight
/// programs) if there is one.
#[must_use]
pub fn seats(parts: &[Voice], taken: &[u8]) -> Vec<Seat> {
    let all = || (0..16).filter(|c| *c != PERCUSSION);
    let mut free: Vec<u8> = all().filter(|c| !taken.contains(c)).collect();
    if parts.len() <= free.len() {
        let alone = |channel| Seat {
            channel,
            contested: false,
        };
        return free.into_iter().take(parts.len()).map(alone).collect();
    }
    let programs = by_weight(parts);
    if free.len() < programs.len() {
        free.extend(all().filter(|c| taken.contains(c)));
    }
    let kept = &programs[..programs.len().min(free.len())];
    let place_of = |part: &Voice| place(part.program, kept);
    let contested: BTreeSet<usize> = parts
        .iter()
        .filter(|p| !kept.contains(&p.program))
        .map(place_of)
        .collect();
    let seat = |at: usize| Seat {
        channel: free[at],
        contested: contested.contains(&at),
    };
    parts.iter().map(|p| seat(place_of(p))).collect()
}

/// The programs of parts, those with most notes first.
fn by_weight(parts: &[Voice]) -> Vec<u8> {
    let mut notes: BTreeMap<u8, usize> = BTreeMap::new();
    for part in parts {
        *notes.entry(part.program).or_default() += part.notes;
    }
    let mut programs: Vec<(u8, usize)> = notes.into_iter().collect();
    programs.sort_by_key(|(program, notes)| (std::cmp::Reverse(*notes), *program));
    programs.into_iter().map(|(program, _)| program).collect()
}

/// The place of a program among those that have a channel, or of the nearest one.
fn place(program: u8, kept: &[u8]) -> usize {
    let far = |other: u8| (other / 8 != program / 8, other.abs_diff(program));
    let nearest = kept
        .iter()
        .enumerate()
        .min_by_key(|(i, other)| (far(**other), *i));
    nearest.map_or(0, |(i, _)| i)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn voices(programs: &[u8]) -> Vec<Voice> {
        programs
            .iter()
            .map(|p| Voice {
                program: *p,
                notes: 1,
            })
            .collect()
    }

    fn channels(parts: &[Voice], taken: &[u8]) -> Vec<u8> {
        seats(parts, taken).into_iter().map(|s| s.channel).collect()
    }

    #[test]
    fn few_parts_get_their_own_and_many_share_by_program() {
        assert_eq!(channels(&voices(&[73, 73, 56]), &[0]), [1, 2, 3]);
        let many = voices(&[73_u8, 71, 56, 57].repeat(5));
        let shared = seats(&many, &[0]);
        let programs = many.iter().map(|p| p.program);
        let distinct: BTreeSet<(u8, u8)> = programs.zip(shared.iter().map(|s| s.channel)).collect();
        assert!(shared.iter().all(|s| !s.contested));
        assert_eq!(distinct.len(), 4);
    }

    #[test]
    fn percussion_is_never_used() {
        let programs: Vec<u8> = (0..40).collect();
        assert!(
            channels(&voices(&programs), &[])
                .iter()
                .all(|c| *c != PERCUSSION && *c < 16)
        );
        let all: Vec<u8> = (0..16).collect();
        assert!(!channels(&voices(&[1, 2]), &all).contains(&PERCUSSION));
        assert!(seats(&[], &all).is_empty());
    }

    #[test]
    fn a_crowded_sketch_does_not_put_the_band_on_one_channel() {
        let taken: Vec<u8> = (0..14).collect();
        let shared = channels(&voices(&[73, 71, 56, 57].repeat(6)), &taken);
        assert_eq!(shared.iter().collect::<BTreeSet<_>>().len(), 4);
    }

    #[test]
    fn a_channel_of_two_programs_is_contested() {
        let mut parts = voices(&(56..71).collect::<Vec<u8>>());
        parts.iter_mut().for_each(|p| p.notes = 10);
        parts.push(Voice {
            program: 47,
            notes: 0,
        });
        parts.push(Voice {
            program: 71,
            notes: 1,
        });
        let found = seats(&parts, &[]);
        for (seat, part) in found.iter().zip(&parts) {
            let others = found
                .iter()
                .zip(&parts)
                .filter(|(s, _)| s.channel == seat.channel);
            let alone = others.map(|(_, p)| p.program).all(|p| p == part.program);
            assert_eq!(seat.contested, !alone, "program {}", part.program);
        }
        // The rare clarinet goes with the reeds next to it, not with the trumpets.
        assert_eq!(found[16].channel, found[14].channel);
    }
}
