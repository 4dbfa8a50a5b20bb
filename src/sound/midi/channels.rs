//! Which chair plays on which channel of a port.

use crate::sound::user_font::DRUM_CHANNEL;
use std::collections::BTreeMap;

/// Channels of a port for chairs: sixteen without that of the drums.
pub const CHAIR_CHANNELS: usize = 15;
/// Programs of a family: General MIDI level 1 sound set, 1991 (MEM).
const FAMILY: u8 = 8;

/// Who plays where.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Channels {
    /// The channel of each chair, from 0.
    pub of_chair: Vec<u8>,
    /// The channels that are used, each with its program from 0.
    pub programs: BTreeMap<u8, u8>,
}

/// Gives each chair a channel, in their order, when their programs are these.
///
/// As long as there are enough, each chair has one of its own. When there are more, chairs of one program share, those
/// of the program with the most channels first, neighbours with neighbours. If there are more programs than channels,
/// the two that are nearest to each other in a family play as the lower of them, and so on.
///
/// ```
/// use bandwright::sound::midi::channels;
/// let few = channels(&[73, 71, 71, 56]);
/// assert_eq!(few.of_chair, [0, 1, 2, 3]);
/// assert_eq!(few.programs[&3], 56);
/// ```
#[must_use]
pub fn channels(programs: &[u8]) -> Channels {
    let plays = merged(programs);
    let plays = |p: &u8| plays.get(p).copied().unwrap_or(*p);
    let programs: Vec<u8> = programs.iter().map(plays).collect();
    let mut chairs: BTreeMap<u8, usize> = BTreeMap::new();
    for program in &programs {
        *chairs.entry(*program).or_default() += 1;
    }
    let rooms = rooms(&chairs);
    // Where the channels of each program begin: in the order in which programs come first.
    let (mut first, mut next) = (BTreeMap::new(), 0);
    let mut made = Channels::default();
    let mut met: BTreeMap<u8, usize> = BTreeMap::new();
    // Chairs get channels as they come, so that the order on the device is that of the chairs.
    for program in &programs {
        let seen = met.entry(*program).or_default();
        let room = rooms.get(program).copied().unwrap_or(1);
        let all = chairs.get(program).copied().unwrap_or(1);
        let channel = *first
            .entry((*program, *seen * room / all))
            .or_insert_with(|| {
                next += 1;
                told(next - 1)
            });
        *seen += 1;
        made.of_chair.push(channel);
        made.programs.insert(channel, *program);
    }
    made
}

/// The number of a channel for chairs: that of the drums is passed over.
const fn told(place: u8) -> u8 {
    if place < DRUM_CHANNEL {
        place
    } else {
        place + 1
    }
}

/// What each program plays as, so that there are no more of them than channels.
fn merged(programs: &[u8]) -> BTreeMap<u8, u8> {
    let mut plays: BTreeMap<u8, u8> = programs.iter().map(|p| (*p, *p)).collect();
    loop {
        let mut left: Vec<u8> = plays.values().copied().collect();
        left.sort_unstable();
        left.dedup();
        if left.len() <= CHAIR_CHANNELS {
            return plays;
        }
        let neighbours = left.windows(2).map(|w| (w[0], w[1]));
        let near = |(low, high): &(u8, u8)| (low / FAMILY != high / FAMILY, high - low, *low);
        let Some((low, high)) = neighbours.min_by_key(near) else {
            return plays;
        };
        for played in plays.values_mut().filter(|p| **p == high) {
            *played = low;
        }
    }
}

/// How many channels each program has.
fn rooms(chairs: &BTreeMap<u8, usize>) -> BTreeMap<u8, usize> {
    let mut rooms = chairs.clone();
    while rooms.values().sum::<usize>() > CHAIR_CHANNELS {
        let most = rooms.values().copied().max().unwrap_or(0);
        let Some(room) = rooms.values_mut().find(|r| **r == most && most > 1) else {
            break;
        };
        *room -= 1;
    }
    rooms
}
