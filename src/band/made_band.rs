//! From a roster to a band: sections are divided, remarks put together, limits worked out.

use super::careful::most_careful;
use super::division::{Division, MOST_SECTION_PARTS, Share, divide_section};
use super::level::Level;
use super::limits::limits;
use super::people::{Roster, Seat, SeatId, Section, Split, same_name};
use super::roster::{Band, Part};
use std::collections::{BTreeMap, BTreeSet};
use thiserror::Error;

/// Most players of a section or part, those who are away too.
pub(super) const MOST_PLAYERS: usize = 500;
/// Most parts of a band.
const MOST_PARTS: usize = 200;

/// Why a roster makes no band.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("{text}")]
pub struct BandError {
    /// The section at fault, an index of [`Roster::sections`]; `None` where it is the whole.
    pub section: Option<usize>,
    /// What is wrong and what to do.
    pub text: String,
}

impl BandError {
    fn new(section: usize, text: impl Into<String>) -> Self {
        Self {
            section: Some(section),
            text: text.into(),
        }
    }

    fn whole(text: impl Into<String>) -> Self {
        Self {
            section: None,
            text: text.into(),
        }
    }
}

impl Roster {
    /// The band of a roster. Its parts are in score order, those of one instrument in the order of
    /// the roster; a part that nobody plays rests and is not among them.
    ///
    /// # Errors
    /// On sections without players or with too many, names that are given twice, remarks that leave
    /// players no notes, and where nobody at all is left to play.
    pub fn band(self) -> Result<Band, BandError> {
        if self.sections.is_empty() {
            let none = "the band has no parts; write a `[[part]]` or `[[section]]` for each";
            return Err(BandError::whole(none));
        }
        self.check_sections()?;
        let (mut parts, mut divisions, mut resting) = (Vec::new(), Vec::new(), Vec::new());
        for (index, section) in self.sections.iter().enumerate() {
            let division =
                divide_section(section).map_err(|e| BandError::new(index, e.to_string()))?;
            let rests = division.shares.iter().filter(|s| s.players.count() == 0);
            resting.extend(rests.map(|s| s.part.clone()));
            parts.extend(parts_of(index, section, &division)?);
            if section.split != Split::One {
                divisions.push(division);
            }
        }
        check_parts(&parts)?;
        if parts.is_empty() {
            return Err(BandError::whole("nobody is there to play; all are away"));
        }
        let mut parts: Vec<Part> = parts.into_iter().map(|(_, part)| part).collect();
        parts.sort_by_key(|p| p.instrument.score_order);
        rank(&mut parts);
        Ok(Band {
            name: self.name.clone(),
            note: self.note.clone(),
            parts,
            divisions,
            resting,
            roster: self,
        })
    }

    fn check_sections(&self) -> Result<(), BandError> {
        let mut names = BTreeSet::new();
        for (index, section) in self.sections.iter().enumerate() {
            let name = &section.name;
            let fail = |text: String| Err(BandError::new(index, text));
            if !names.insert(same_name(name)) {
                return fail(format!("two parts are named `{name}`"));
            }
            if section.seats.is_empty() {
                let how = "write `players = { first_year = 2 }`";
                return fail(format!("`{name}` has no players; {how}"));
            }
            if section.seats.len() > MOST_PLAYERS {
                return fail(format!("`{name}` has more than {MOST_PLAYERS} players"));
            }
            if let Split::Into(parts) = section.split
                && !(1..=MOST_SECTION_PARTS).contains(&parts)
            {
                return fail(format!(
                    "`{name}` must have from 1 to {MOST_SECTION_PARTS} parts"
                ));
            }
            let most = match section.split {
                Split::One => 0,
                Split::Into(parts) => parts,
                Split::Proposed => MOST_SECTION_PARTS,
            };
            let put = section.seats.iter().filter_map(|s| s.part);
            if let Some(part) = put.clone().find(|p| !(1..=most).contains(p)) {
                return fail(match section.split {
                    Split::One => format!("`{name}` is one part; its players need no `part`"),
                    _ => {
                        format!("a player of `{name}` sits on part {part}, but it has {most} parts")
                    }
                });
            }
        }
        Ok(())
    }
}

type PartOf = (usize, Part);

fn parts_of(
    index: usize,
    section: &Section,
    division: &Division,
) -> Result<Vec<PartOf>, BandError> {
    let there = division.shares.iter().filter(|s| s.players.count() > 0);
    let part = |share: &Share| {
        let of = |seat: &usize| section.seats.get(*seat).map(|s| &s.remarks);
        let each: Vec<_> = share.seats.iter().filter_map(of).collect();
        let remarks = most_careful(&section.remarks, &each);
        let limits = limits(&section.instrument, share.players, &remarks)
            .map_err(|e| BandError::new(index, format!("`{}`: {e}", share.part)))?;
        // A part of its own keeps its seats whoever is away.
        let seats = match section.split {
            Split::One => (0..section.seats.len()).collect(),
            Split::Into(_) | Split::Proposed => share.seats.clone(),
        };
        let id = |seat| SeatId {
            section: index,
            seat,
        };
        let part = Part {
            name: share.part.clone(),
            instrument: section.instrument.clone(),
            players: share.players,
            seats: seats.into_iter().map(id).collect(),
            remarks,
            limits,
            rank: 1,
        };
        Ok((index, part))
    };
    there.map(part).collect()
}

fn check_parts(parts: &[PartOf]) -> Result<(), BandError> {
    let mut names = BTreeSet::new();
    for (index, part) in parts {
        if !names.insert(same_name(&part.name)) {
            let twice = format!("two parts are named `{}`", part.name);
            return Err(BandError::new(*index, twice));
        }
    }
    if parts.len() > MOST_PARTS {
        return Err(BandError::whole(format!("more than {MOST_PARTS} parts")));
    }
    Ok(())
}

fn rank(parts: &mut [Part]) {
    let mut ranks: BTreeMap<String, u8> = BTreeMap::new();
    for part in parts {
        let rank = ranks.entry(part.instrument.id.clone()).or_insert(0);
        *rank = rank.saturating_add(1);
        part.rank = *rank;
    }
}

/// The seats of so many players of each level, in order.
pub(super) fn plain_seats(players: impl IntoIterator<Item = (u16, Level)>) -> Vec<Seat> {
    let each = |(n, level)| std::iter::repeat_n(Seat::of(level), usize::from(n));
    // A little over the most, so that too many are told and memory stays bounded.
    players
        .into_iter()
        .flat_map(each)
        .take(MOST_PLAYERS + 1)
        .collect()
}
