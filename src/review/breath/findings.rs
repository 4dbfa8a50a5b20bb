//! Notes that nobody can hold, as findings.

use super::{Breathing, TooLong};
use crate::band::{Band, PartId};
use crate::music::{MeterMap, Sounding};
use crate::review::changes::{listed, suits};
use crate::review::finding::{Finding, Severity};
use crate::score::{DraftNote, PartLine};

/// So many parts are named as able to take a note.
const TAKERS: usize = 2;
/// What every finding of breath ends with.
const DEFER: &str = "Breaths differ from player to player: ask them.";

/// What a reviewer would mark: notes that last longer than the longest breath of the only one who plays them.
#[must_use]
pub fn breath_findings(
    band: &Band,
    lines: &[PartLine],
    breathing: &Breathing,
    meters: &MeterMap,
) -> Vec<Finding> {
    let found = breathing.too_long.iter();
    found.map(|t| finding(band, lines, t, meters)).collect()
}

fn finding(band: &Band, lines: &[PartLine], note: &TooLong, meters: &MeterMap) -> Finding {
    let part = band.part(note.part);
    let inside = meters.place(note.until);
    let takers = takers(band, lines, note);
    let names: Vec<&str> = takers.iter().map(|p| band.part(*p).name.as_str()).collect();
    let hand = if names.is_empty() {
        "Nobody who rests here has the note".to_owned()
    } else {
        format!(
            "Hand it over to {}",
            listed(&names).replace(" and ", " or ")
        )
    };
    Finding {
        severity: Severity::Caution,
        kind: "breath_too_long",
        part: Some(part.name.clone()),
        at: note.from,
        place: meters.place(note.from),
        message: format!(
            "The note lasts {:.1} seconds and has one player, whose longest breath is {:.1} here.",
            note.seconds, note.longest
        ),
        remedy: format!(
            "{hand}; or end it by {inside}, let a second player join, or breathe inside it as marked. {DEFER}"
        ),
    }
}

/// Parts that rest while a note sounds and have it in some octave, those with the most players first.
fn takers(band: &Band, lines: &[PartLine], note: &TooLong) -> Vec<PartId> {
    let line = |id: PartId| {
        let line = lines.iter().find(|l| l.part == id);
        line.map_or(&[][..], |l| &l.notes)
    };
    let begins = |n: &&DraftNote| n.onset == note.from;
    let pitch: Option<Sounding> = line(note.part).iter().filter(begins).map(|n| n.pitch).max();
    let own = line(note.part)
        .iter()
        .find(|n| Some(n.pitch) == pitch && n.onset == note.from);
    let Some(own) = own else {
        return Vec::new();
    };
    let rests = |id: PartId| {
        let notes = line(id);
        let until = notes.partition_point(|n| n.onset < note.to);
        !notes.iter().take(until).any(|n| n.end() > note.from)
    };
    let blows = |id: PartId| band.part(id).instrument.playing.breath.is_some();
    let ids = band
        .ids()
        .filter(|(id, _)| *id != note.part && rests(*id) && blows(*id));
    let mut can: Vec<(std::cmp::Reverse<u32>, i16, PartId)> = ids
        .filter_map(|(id, p)| {
            let octaves = suits(p, &[own])?;
            Some((std::cmp::Reverse(p.players.count()), octaves.abs(), id))
        })
        .collect();
    can.sort();
    can.into_iter().take(TAKERS).map(|c| c.2).collect()
}
