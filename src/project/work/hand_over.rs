//! Handing a line to other parts, or letting them play it too.

use super::desk::{Desk, Done, Refused};
use super::fit::{Suits, fitted, one_at_a_time, put};
use super::pitches::about;
use super::selection::{Selection, id_of};
use super::sheet::{Sheet, begun_in};
use super::words::{bars_in_words, parts_in_words};
use crate::band::PartId;
use crate::music::BarNumber;
use crate::score::DraftNote;

/// Gives the notes of a part that begin in some bars to other parts; the part rests there. Each takes
/// them in the octave that suits it best, in the place of what it had; a part that plays one note at a
/// time takes the highest of those struck together.
///
/// # Errors
/// Where the part has no notes there, nobody else is named, or one of them has no such notes.
pub fn hand_over(
    desk: &Desk<'_>,
    from: PartId,
    to: &[PartId],
    bars: (BarNumber, BarNumber),
) -> Result<Done, Refused> {
    given(desk, from, to, bars, true)
}

/// Lets other parts play the notes of a part that begin in some bars, as [`hand_over`] does, but the part
/// plays them too.
///
/// # Errors
/// As [`hand_over`].
pub fn double_into(
    desk: &Desk<'_>,
    from: PartId,
    to: &[PartId],
    bars: (BarNumber, BarNumber),
) -> Result<Done, Refused> {
    given(desk, from, to, bars, false)
}

fn given(
    desk: &Desk<'_>,
    from: PartId,
    to: &[PartId],
    bars: (BarNumber, BarNumber),
    away: bool,
) -> Result<Done, Refused> {
    let giver = desk.part(from).ok_or(Refused::NoPart)?;
    let mut to: Vec<PartId> = to.iter().copied().filter(|p| *p != from).collect();
    to.sort_unstable();
    to.dedup();
    if to.is_empty() {
        return Err(Refused::NobodyToTake(giver.name.clone()));
    }
    let span = desk.span(bars);
    let notes = begun_in(desk.draft, from, span);
    if notes.is_empty() {
        let place = format!("{} of {}", bars_in_words(bars), giver.name);
        return Err(Refused::NoNotes(place));
    }
    let mut sheet = Sheet::of(desk);
    for id in &to {
        let part = desk.part(*id).ok_or(Refused::NoPart)?;
        let free: Vec<DraftNote> = notes
            .iter()
            .map(|n| DraftNote {
                locked: false,
                ..*n
            })
            .collect();
        let taken = one_at_a_time(part, free, true);
        if taken.len() < notes.len() {
            sheet.tell(format!(
                "{} takes the highest of the notes struck together",
                part.name
            ));
        }
        let taken = fitted(&mut sheet, part, &taken, Suits::Best);
        put(&mut sheet, *id, part, span, taken);
    }
    if away {
        let line = sheet.line(from);
        line.retain(|n| n.onset < span.0 || span.1 <= n.onset);
    }
    let ids: Vec<_> = notes.iter().map(|n| id_of(from, n)).collect();
    let verb = if away { "hand" } else { "double" };
    let into = if away { "to" } else { "in" };
    let name = format!(
        "{verb} {} {into} {}",
        about(desk, &ids),
        parts_in_words(desk.band, &to)
    );
    sheet.finish(name, Selection::of(bars.0, bars.1, to))
}
