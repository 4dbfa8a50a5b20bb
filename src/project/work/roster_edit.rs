//! Editing the roster: parts and sections, players, remarks, who is away.

use super::roster_done::{RosterDone, RosterRefused};
use crate::band::{
    Level, OwnInstruments, Remarks, Roster, Seat, SeatId, Section, Split, find_instrument,
    own_instruments, players_in_words, same_name, with_remark,
};
use crate::band::{instruments::nearest_instrument, remarks_in_words};

/// Of whom a remark is said.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Whose {
    /// Of all players of a section or part, by its index in the roster.
    Section(usize),
    /// Of one player.
    Seat(SeatId),
}

/// One edit of a roster. Sections and parts are meant by their index in [`Roster::sections`].
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum RosterEdit {
    /// A new part or section, behind all others.
    Add {
        /// Its name.
        name: String,
        /// The id of its instrument, such as `clarinet_bb`.
        instrument: String,
        /// Its players in words, such as `2 advanced, 3 first-year`.
        players: String,
        /// How many parts it has.
        split: Split,
    },
    /// A part or section leaves.
    Remove(usize),
    /// Another name.
    Rename(usize, String),
    /// Another place in the order of the roster: from, to.
    Move(usize, usize),
    /// Another instrument, by its id.
    Instrument(usize, String),
    /// Another number of parts.
    Split(usize, Split),
    /// So many players of each level, by [`Level::index`]. Of a level that gets fewer, those leave of whom
    /// only the level is known, the last first, then the others.
    Players(usize, [u16; 5]),
    /// Another level for a player.
    Level(SeatId, Level),
    /// A player's name; empty where it is not to be known.
    Name(SeatId, String),
    /// The part of the section, from 1, on which a player sits; `None`: the program chooses.
    PartOf(SeatId, Option<u8>),
    /// A player is away, or back.
    Absent(SeatId, bool),
    /// A word of the remarks' vocabulary said of somebody, its value as rosters write it; `None` takes it
    /// back.
    Remark(Whose, String, Option<String>),
}

/// Makes an edit of a roster, and a band of what comes of it.
///
/// # Errors
/// Where the edit means nobody or cannot be, or where no band is left; the sentence says what to do.
///
/// ```
/// use bandwright::band::preset;
/// use bandwright::project::work::{RosterEdit, edit_roster};
/// let band = preset("demo").unwrap();
/// let name = band.roster.sections[0].name.clone();
/// let done = edit_roster(&band.roster, &RosterEdit::Rename(0, "Solo".to_owned())).unwrap();
/// assert_eq!(done.said, format!("{name} is now called Solo"));
/// assert_eq!(done.band.roster.sections[0].name, "Solo");
/// ```
pub fn edit_roster(roster: &Roster, edit: &RosterEdit) -> Result<RosterDone, RosterRefused> {
    let mut after = roster.clone();
    let said = edited(&mut after, edit)?;
    let own = own_instruments(&after.overrides).map_err(|e| RosterRefused::Own(e.to_string()))?;
    own.give(&mut after.sections);
    if after == *roster {
        return Err(RosterRefused::NothingChanges);
    }
    Ok(RosterDone {
        sections: places(roster.sections.len(), edit),
        band: after.band()?,
        said,
    })
}

/// Where the sections of a roster stand after an edit.
fn places(count: usize, edit: &RosterEdit) -> Vec<Option<usize>> {
    let mut order: Vec<usize> = (0..count).collect();
    match edit {
        RosterEdit::Remove(at) if *at < count => {
            order.remove(*at);
        }
        RosterEdit::Move(from, to) if *from < count => {
            let moved = order.remove(*from);
            order.insert((*to).min(order.len()), moved);
        }
        _ => {}
    }
    let place = |section| order.iter().position(|o| *o == section);
    (0..count).map(place).collect()
}

fn edited(roster: &mut Roster, edit: &RosterEdit) -> Result<String, RosterRefused> {
    Ok(match edit {
        RosterEdit::Add {
            name,
            instrument,
            players,
            split,
        } => add(roster, name, instrument, (players, *split))?,
        RosterEdit::Remove(at) => {
            section(roster, *at)?;
            let gone = roster.sections.remove(*at);
            format!("{} leaves the band", gone.name)
        }
        RosterEdit::Rename(at, name) => {
            let name = named(name)?;
            let section = section(roster, *at)?;
            let before = std::mem::replace(&mut section.name, name);
            format!("{before} is now called {}", section.name)
        }
        RosterEdit::Move(from, to) => {
            section(roster, *from)?;
            let moved = roster.sections.remove(*from);
            let to = (*to).min(roster.sections.len());
            let said = format!("{} is now number {} of the roster", moved.name, to + 1);
            roster.sections.insert(to, moved);
            said
        }
        RosterEdit::Instrument(at, id) => {
            let found = instrument_of(id)?;
            let own = own_of(roster)?;
            let section = section(roster, *at)?;
            let said = format!("{} now plays {}", section.name, found.name);
            section.instrument = own.of(&found);
            fits(section)?;
            said
        }
        RosterEdit::Split(at, split) => {
            let section = section(roster, *at)?;
            section.split = *split;
            if *split == Split::One {
                section.seats.iter_mut().for_each(|s| s.part = None);
            }
            let name = &section.name;
            match split {
                Split::One => format!("{name} is one part"),
                Split::Into(1) => format!("{name} is a section of 1 part"),
                Split::Into(n) => format!("{name} is divided into {n} parts"),
                Split::Proposed => format!("the number of parts of {name} is proposed"),
            }
        }
        RosterEdit::Players(at, levels) => players(section(roster, *at)?, *levels),
        RosterEdit::Level(id, level) => {
            let who = who(roster, *id)?;
            let seat = seat(roster, *id)?;
            let before = std::mem::replace(&mut seat.level, *level);
            format!("{who} is {level} instead of {before}")
        }
        RosterEdit::Name(id, name) => {
            let before = who(roster, *id)?;
            name.trim().clone_into(&mut seat(roster, *id)?.name);
            format!("{before} is now known as {}", who(roster, *id)?)
        }
        RosterEdit::PartOf(id, part) => {
            let who = who(roster, *id)?;
            seat(roster, *id)?.part = *part;
            match part {
                Some(n) => format!("{who} sits on part {n}"),
                None => format!("{who} sits where the program puts them"),
            }
        }
        RosterEdit::Absent(id, away) => {
            let who = who(roster, *id)?;
            seat(roster, *id)?.absent = *away;
            format!("{who} is {}", if *away { "away" } else { "back" })
        }
        RosterEdit::Remark(whose, word, value) => remark(roster, *whose, word, value.as_deref())?,
    })
}

fn section(roster: &mut Roster, at: usize) -> Result<&mut Section, RosterRefused> {
    let found = roster.sections.get_mut(at);
    found.ok_or(RosterRefused::Unknown("part or section"))
}

fn seat(roster: &mut Roster, id: SeatId) -> Result<&mut Seat, RosterRefused> {
    let found = section(roster, id.section)?.seats.get_mut(id.seat);
    found.ok_or(RosterRefused::Unknown("player"))
}

/// A player in words: the name, or the seat.
fn who(roster: &Roster, id: SeatId) -> Result<String, RosterRefused> {
    let seat = roster.seat(id).ok_or(RosterRefused::Unknown("player"))?;
    let section = roster.sections.get(id.section);
    let name = section.map_or("", |s| s.name.as_str());
    Ok(if seat.name.is_empty() {
        format!("player {} of {name}", id.seat + 1)
    } else {
        format!("{} ({name})", seat.name)
    })
}

fn named(name: &str) -> Result<String, RosterRefused> {
    let name = name.trim();
    if same_name(name).is_empty() || name.contains(char::is_control) {
        return Err(RosterRefused::NoName);
    }
    Ok(name.to_owned())
}

fn instrument_of(id: &str) -> Result<std::sync::Arc<crate::band::Instrument>, RosterRefused> {
    find_instrument(id).ok_or_else(|| {
        let near = nearest_instrument(id);
        let near = near.map_or_else(String::new, |n| format!("; did you mean `{n}`?"));
        RosterRefused::Instrument(format!("there is no instrument `{}`{near}", id.trim()))
    })
}

fn own_of(roster: &Roster) -> Result<OwnInstruments, RosterRefused> {
    own_instruments(&roster.overrides).map_err(|e| RosterRefused::Own(e.to_string()))
}

fn add(
    roster: &mut Roster,
    name: &str,
    instrument: &str,
    (players, split): (&str, Split),
) -> Result<String, RosterRefused> {
    let name = named(name)?;
    let instrument = own_of(roster)?.of(&instrument_of(instrument)?);
    let groups = players_in_words(players).map_err(RosterRefused::Remark)?;
    let mut levels = [0_u16; 5];
    for (count, level) in groups {
        levels[level.index()] = levels[level.index()].saturating_add(count);
    }
    let mut section = Section {
        name,
        instrument,
        split,
        seats: Vec::new(),
        remarks: Remarks::default(),
    };
    set_players(&mut section, levels);
    let said = format!(
        "{} joins the band: {}",
        section.name,
        counted(levels, &section.instrument.name)
    );
    roster.sections.push(section);
    Ok(said)
}

fn counted(levels: [u16; 5], what: &str) -> String {
    let each = Level::ALL.into_iter().zip(levels).rev();
    let each: Vec<String> = each
        .filter(|(_, n)| *n > 0)
        .map(|(level, n)| format!("{n} {level}"))
        .collect();
    match each.is_empty() {
        true => format!("no players of {what}"),
        false => format!("{} on {what}", each.join(", ")),
    }
}

fn players(section: &mut Section, levels: [u16; 5]) -> String {
    set_players(section, levels);
    let what = section.instrument.name.clone();
    format!("{} now has {}", section.name, counted(levels, &what))
}

/// More players of a level than this are not made; so many make no band (ours: a little over what a
/// band may have, so that too many are told).
const MOST: u16 = 501;

fn set_players(section: &mut Section, levels: [u16; 5]) {
    for level in Level::ALL {
        let wanted = usize::from(levels[level.index()].min(MOST));
        let of_level = |s: &Seat| s.level == level;
        let mut there = section.seats.iter().filter(|s| of_level(s)).count();
        while there > wanted {
            let plain = section
                .seats
                .iter()
                .rposition(|s| of_level(s) && s.is_plain());
            let Some(at) = plain.or_else(|| section.seats.iter().rposition(of_level)) else {
                break;
            };
            section.seats.remove(at);
            there -= 1;
        }
        section
            .seats
            .extend((there..wanted).map(|_| Seat::of(level)));
    }
}

fn remark(
    roster: &mut Roster,
    whose: Whose,
    word: &str,
    value: Option<&str>,
) -> Result<String, RosterRefused> {
    let (id, name) = match whose {
        Whose::Section(at) => (at, section(roster, at)?.name.clone()),
        Whose::Seat(id) => (id.section, who(roster, id)?),
    };
    let instrument = section(roster, id)?.instrument.clone();
    let place = match whose {
        Whose::Section(at) => &mut section(roster, at)?.remarks,
        Whose::Seat(id) => &mut seat(roster, id)?.remarks,
    };
    let before = remarks_in_words(place);
    *place = with_remark(place, word, value, &instrument).map_err(RosterRefused::Remark)?;
    let after = remarks_in_words(place);
    let new: Vec<String> = after
        .iter()
        .filter(|r| !before.contains(r))
        .cloned()
        .collect();
    let gone: Vec<String> = before.into_iter().filter(|r| !after.contains(r)).collect();
    Ok(match (new.is_empty(), gone.is_empty()) {
        (false, true) => format!("said of {name}: {}", new.join(", ")),
        (false, false) => format!(
            "said of {name}: {}, instead of {}",
            new.join(", "),
            gone.join(", ")
        ),
        _ => format!("no longer said of {name}: {}", gone.join(", ")),
    })
}

/// Holds what was said of a section and its players against another instrument of theirs.
fn fits(section: &Section) -> Result<(), RosterRefused> {
    let seats = section.seats.iter().map(|s| &s.remarks);
    for remarks in seats.chain([&section.remarks]) {
        // The free text goes with any instrument; saying it again holds the others against this one.
        with_remark(remarks, "note", Some(&remarks.note), &section.instrument)
            .map_err(RosterRefused::Remark)?;
    }
    Ok(())
}
