//! The band when somebody is away.

use super::made_band::BandError;
use super::nearest::suggestion;
use super::people::{Roster, SeatId, Split, same_name};
use super::roster::Band;
use std::cmp::Reverse;
use thiserror::Error;

/// Why somebody cannot be taken away.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum AbsentError {
    /// Who is meant cannot be told.
    #[error("nobody is meant by `{who}`: {why}")]
    Who {
        /// The words.
        who: String,
        /// Why, and what to say instead.
        why: String,
    },
    /// What is left is no band.
    #[error("without them {0}")]
    Band(#[from] BandError),
}

/// The band without some players. Each of `who` is
///
/// - a player's name;
/// - `PART:SEAT`, the number of a seat, from 1 in the order of the roster, of a part or section;
/// - `2 x SECTION`, so many of a section, of a part, or of parts that are called alike but for a
///   number behind the name. Taken are the weakest of those who are there, of equals the last in
///   the order of the roster.
///
/// Case, blanks, `-`, `_` and `.` in names do not matter. All are sought in the band as it is given;
/// sections are then divided anew.
///
/// # Errors
/// Where one of `who` means nobody or more than one, with the nearest name, or where no band is left.
///
/// ```
/// use bandwright::band::{preset, without};
/// let band = preset("demo").unwrap();
/// let less = without(&band, &["2 x Trumpet".to_owned()]).unwrap();
/// let count = |b: &bandwright::band::Band| b.parts.iter().map(|p| p.players.count()).sum::<u32>();
/// assert_eq!(count(&less), count(&band) - 2);
/// let error = without(&band, &["1 x Trumpit".to_owned()]).unwrap_err().to_string();
/// assert!(error.ends_with("did you mean `Trumpet`?"), "{error}");
/// ```
pub fn without(band: &Band, who: &[String]) -> Result<Band, AbsentError> {
    let mut roster = band.roster.clone();
    for words in who {
        let fail = |why| AbsentError::Who {
            // What was typed is quoted: nothing of it may steer a terminal.
            who: words.trim().replace(char::is_control, "\u{fffd}"),
            why,
        };
        for id in meant(band, &roster, words).map_err(fail)? {
            let section = roster.sections.get_mut(id.section);
            if let Some(seat) = section.and_then(|s| s.seats.get_mut(id.seat)) {
                seat.absent = true;
            }
        }
    }
    Ok(roster.band()?)
}

/// The seats that words mean; `now` tells who is away already.
fn meant(band: &Band, now: &Roster, words: &str) -> Result<Vec<SeatId>, String> {
    if let Some(id) = by_name(&band.roster, words)? {
        return Ok(vec![id]);
    }
    if let Some((number, group)) = so_many(words) {
        return weakest(band, now, number, group);
    }
    if let Some((group, seat)) = words.rsplit_once(':') {
        let seats = seats_of(band, group)?;
        let number = seat.trim().parse::<usize>().ok();
        let id = number.and_then(|n| seats.get(n.checked_sub(1)?));
        let many = || format!("`{}` has seats 1 to {}", group.trim(), seats.len());
        return id.map(|id| vec![*id]).ok_or_else(many);
    }
    if let Ok(seats) = seats_of(band, words) {
        let name = words.trim();
        let how = format!(
            "say which: `1 x {name}`, or a seat from `{name}:1` to `{name}:{}`",
            seats.len()
        );
        return Err(format!("it is no player; {how}"));
    }
    Err(unknown(band, words, true))
}

/// A player by name; `None` where nobody is called so.
fn by_name(roster: &Roster, words: &str) -> Result<Option<SeatId>, String> {
    let wanted = same_name(words);
    let called =
        |seat: &super::people::Seat| !seat.name.is_empty() && same_name(&seat.name) == wanted;
    let mut found = roster
        .seats()
        .filter(|(_, seat)| called(seat))
        .map(|(id, _)| id);
    let Some(first) = found.next() else {
        return Ok(None);
    };
    if found.next().is_some() {
        let section = roster.sections.get(first.section);
        let name = section.map_or("", |s| s.name.as_str());
        return Err(format!(
            "more than one player is called so; say a seat, as `{name}:{}`",
            first.seat + 1
        ));
    }
    Ok(Some(first))
}

/// `2 x Trumpet` taken apart.
fn so_many(words: &str) -> Option<(usize, &str)> {
    let words = words.trim();
    let digits = words.chars().take_while(char::is_ascii_digit).count();
    let (number, rest) = words.split_at(digits);
    let rest = rest.trim_start();
    let group = rest.strip_prefix(['x', 'X', '\u{d7}', '*'])?;
    // A part may be called "2 Xylophone".
    let apart = group.starts_with(char::is_whitespace);
    Some((number.parse().ok()?, group.trim())).filter(|_| apart)
}

fn weakest(band: &Band, now: &Roster, number: usize, group: &str) -> Result<Vec<SeatId>, String> {
    let mut there: Vec<SeatId> = seats_of(band, group)?;
    there.retain(|id| now.seat(*id).is_some_and(|s| !s.absent));
    if !(1..=there.len()).contains(&number) {
        return Err(format!(
            "`{group}` has {} players who are there; name from 1 to so many",
            there.len()
        ));
    }
    let level = |id: &SeatId| now.seat(*id).map(|s| s.level);
    there.sort_by_key(|id| (level(id), Reverse(*id)));
    there.truncate(number);
    Ok(there)
}

/// The seats of a section, a part, or of parts that are called alike but for a number.
fn seats_of(band: &Band, name: &str) -> Result<Vec<SeatId>, String> {
    let wanted = same_name(name);
    let seats = |section: usize| {
        let of = band.roster.sections.get(section);
        let count = of.map_or(0, |s| s.seats.len());
        (0..count).map(move |seat| SeatId { section, seat })
    };
    let sections = || band.roster.sections.iter().enumerate();
    if let Some((index, _)) = sections().find(|(_, s)| same_name(&s.name) == wanted) {
        return Ok(seats(index).collect());
    }
    if let Some(part) = band.parts.iter().find(|p| same_name(&p.name) == wanted) {
        return Ok(part.seats.clone());
    }
    let alike =
        sections().filter(|(_, s)| s.split == Split::One && same_name(stem(&s.name)) == wanted);
    let found: Vec<SeatId> = alike.flat_map(|(index, _)| seats(index)).collect();
    if found.is_empty() {
        return Err(unknown(band, name, false));
    }
    Ok(found)
}

/// A part's name without the number behind it.
fn stem(name: &str) -> &str {
    name.trim_end_matches(|c: char| c.is_ascii_digit())
        .trim_end()
}

fn unknown(band: &Band, words: &str, players: bool) -> String {
    let sections = band.roster.sections.iter();
    let groups = sections.flat_map(|s| [stem(&s.name), s.name.as_str()]);
    let parts = band.parts.iter().map(|p| p.name.as_str());
    let seats = band.roster.seats().map(|(_, s)| s.name.as_str());
    let names = seats.filter(|n| players && !n.is_empty());
    let near = suggestion(words.trim(), names.chain(groups).chain(parts));
    if players {
        format!("no player, part or section of the band is called so{near}")
    } else {
        format!("no part or section of the band is called so{near}")
    }
}
