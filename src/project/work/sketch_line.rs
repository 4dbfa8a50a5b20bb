//! Copying a line of the sketch into a part: "this is the trumpets'".

use super::desk::{Desk, Done, Refused};
use super::fit::{Suits, fitted, one_at_a_time, put};
use super::selection::Selection;
use super::sheet::Sheet;
use super::words::{bars_in_words, parts_in_words};
use crate::music::Tick;
use crate::score::{DraftNote, Role};
use crate::sketch::{Line, ReadNote};

/// Puts a line of the sketch into the selection's parts, in the place of what they had in its bars, in the
/// whole octaves that suit each best. A part that plays one note at a time takes the highest of those
/// struck together, of the bass the lowest. Grace notes are left out.
///
/// # Errors
/// Where the line has no note that begins in the bars, or a part has no such notes.
pub fn sketch_line_into(
    desk: &Desk<'_>,
    line: Line,
    selection: &Selection,
) -> Result<Done, Refused> {
    let parts = selection.known_parts(desk);
    if parts.is_empty() {
        return Err(Refused::NoPart);
    }
    let span = desk.span(selection.bars);
    let begun = |n: &&ReadNote| span.0 <= n.onset && n.onset < span.1 && !n.grace;
    let notes: Vec<DraftNote> = desk.reading.line(line).filter(begun).map(drafted).collect();
    if notes.is_empty() {
        return Err(Refused::NoSketchNotes {
            line: line.word(),
            bars: bars_in_words(selection.bars),
        });
    }
    let mut sheet = Sheet::of(desk);
    for id in &parts {
        let part = desk.part(*id).ok_or(Refused::NoPart)?;
        let taken = one_at_a_time(part, notes.clone(), line != Line::Bass);
        if taken.len() < notes.len() && line != Line::Melody {
            let which = if line == Line::Bass {
                "lowest"
            } else {
                "highest"
            };
            sheet.tell(format!(
                "{} takes the {which} of the notes struck together",
                part.name
            ));
        }
        let taken = fitted(&mut sheet, part, &taken, Suits::Best);
        put(&mut sheet, *id, part, span, taken);
    }
    let name = format!(
        "copy the sketch's {} in {} into {}",
        line.word(),
        bars_in_words(selection.bars),
        parts_in_words(desk.band, &parts)
    );
    sheet.finish(name, selection.bars_only())
}

/// A note of the sketch as a part plays it: as long as it is held.
pub(super) fn drafted(note: &ReadNote) -> DraftNote {
    DraftNote {
        onset: note.onset,
        pitch: note.pitch,
        duration: note
            .end()
            .max(Tick(note.onset.0.saturating_add(1)))
            .since(note.onset),
        velocity: note.velocity.clamp(1, 127),
        role: role_of(note.line),
        locked: false,
    }
}

/// What a note of a line is for.
pub(super) const fn role_of(line: Line) -> Role {
    match line {
        Line::Melody => Role::Melody,
        Line::Counterline => Role::Counterline,
        Line::Harmony => Role::Harmony,
        Line::Bass => Role::Bass,
        Line::Figure => Role::Figure,
    }
}
