//! From levels on parts to the seats of a section.

use super::cost::{Counts, Task, division_cost};
use super::part_count::usual_parts;
use super::solve::divide;
use super::words::reasons;
use super::{Division, Share};
use crate::band::instruments::TableError;
use crate::band::level::Level;
use crate::band::people::{Seat, Section, Split};
use crate::band::remarks::{Exposure, Remarks};
use crate::band::roster::Players;

/// Divides the players of a section who are there.
///
/// # Errors
/// If the built-in table of usual parts were unreadable.
pub(in crate::band) fn divide_section(section: &Section) -> Result<Division, TableError> {
    let there = || section.seats.iter().filter(|s| !s.absent);
    let players = u32::try_from(there().count()).unwrap_or(u32::MAX);
    let fixed = there().filter_map(|s| s.part).max().unwrap_or(1);
    let parts = match section.split {
        Split::One => 1,
        Split::Into(parts) => parts,
        Split::Proposed => usual_parts(&section.instrument.id, players)?.max(fixed),
    };
    let task = task(section, usize::from(parts));
    let counts = divide(&task);
    let shares = shares(section, &counts);
    Ok(Division {
        section: section.name.clone(),
        cost: division_cost(&task, &counts),
        reasons: reasons(section, &task, &shares),
        shares,
    })
}

fn task(section: &Section, parts: usize) -> Task {
    let mut task = Task {
        free: [0; 5],
        fixed: vec![[0; 5]; parts],
        never_exposed: section.remarks.exposure == Exposure::Never,
    };
    for seat in section.seats.iter().filter(|s| !s.absent) {
        let fixed = fixed_part(seat).and_then(|j| task.fixed.get_mut(j));
        fixed.unwrap_or(&mut task.free)[seat.level.index()] += 1;
        task.never_exposed |= seat.remarks.exposure == Exposure::Never;
    }
    task
}

/// The part, from 0, that a player was given.
fn fixed_part(seat: &Seat) -> Option<usize> {
    seat.part.and_then(|p| usize::from(p).checked_sub(1))
}

/// Hands the seats out: those of a level from the first part down, in the order of the roster, but
/// players of whom something limiting was said after the others, so that they limit a lower part.
fn shares(section: &Section, counts: &[Counts]) -> Vec<Share> {
    let name = |j: usize| match counts.len() {
        1 => section.name.clone(),
        _ => format!("{} {}", section.name, j + 1),
    };
    let mut shares: Vec<Share> = (0..counts.len())
        .map(|j| Share {
            part: name(j),
            players: Players(counts[j]),
            seats: Vec::new(),
        })
        .collect();
    let mut take = |seat: usize, part: usize| {
        if let Some(share) = shares.get_mut(part) {
            share.seats.push(seat);
        }
    };
    let there = || section.seats.iter().enumerate().filter(|(_, s)| !s.absent);
    for (seat, part) in there().filter_map(|(i, s)| Some((i, fixed_part(s)?))) {
        take(seat, part);
    }
    for level in Level::ALL {
        let free = there().filter(|(_, s)| s.level == level && s.part.is_none());
        let mut free: Vec<(usize, &Seat)> = free.collect();
        free.sort_by_key(|(i, s)| (is_limited(&s.remarks), *i));
        let places = free_places(counts, section, level).into_iter().enumerate();
        let places = places.flat_map(|(part, n)| std::iter::repeat_n(part, usize::from(n)));
        for ((seat, _), part) in free.into_iter().zip(places) {
            take(seat, part);
        }
    }
    for share in &mut shares {
        share.seats.sort_unstable();
    }
    shares
}

/// For each part how many players of a level it has besides those who were put there.
fn free_places(counts: &[Counts], section: &Section, level: Level) -> Vec<u16> {
    let mut places: Vec<u16> = counts.iter().map(|c| c[level.index()]).collect();
    let fixed = section
        .seats
        .iter()
        .filter(|s| !s.absent && s.level == level);
    for part in fixed.filter_map(fixed_part) {
        if let Some(n) = places.get_mut(part) {
            *n = n.saturating_sub(1);
        }
    }
    places
}

/// Whether remarks narrow what a part may be given.
fn is_limited(remarks: &Remarks) -> bool {
    let plain = Remarks {
        exposure: match remarks.exposure {
            Exposure::May => Exposure::May,
            _ => Exposure::Unsaid,
        },
        doubles: remarks.doubles.clone(),
        note: remarks.note.clone(),
        ..Remarks::default()
    };
    plain != *remarks
}
