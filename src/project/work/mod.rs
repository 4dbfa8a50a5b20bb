//! What the arranger does by hand: notes, locks, the roster and the timeline, as pure functions.
//!
//! Every edit takes a [`Desk`] (what there is) and a [`Selection`] or a place, and answers with
//! [`Done`] (what there is then, the step's name, and what the arranger should know) or [`Refused`].
//! An edit changes nothing outside what it was asked for, with these exceptions, which are told: a
//! note that was held over into bars that take other notes ends where those begin, a lock grows where a
//! note comes to sound over its edge, and the list of changed notes of the tune loses what is not
//! played so any more. Edits inside a lock ask nothing; the lock holds what they left, and it is told
//! that they edited a lock. What a note is for ([`Role`](crate::score::Role)) stays as it was.
//!
//! The arranger outranks the limits of the players, not those of the instrument: a note that no
//! professional has ([`Instrument::professional`](crate::band::Instrument)) is refused, unless the part goes
//! as far out already; a note outside what these players can reach is set and told, and the review marks
//! it (ours).
//!
//! A lock holds whole notes. A note that sounds over the edge of what is to be locked is locked as a whole, and
//! with it every bar in which it sounds and what else is in them; unlocking frees whole notes likewise
//! (ours: a note cut at the barline would be struck again). So in every bar that a part's lock holds, the
//! draft has the lock's notes and no others, and none of them sounds into a bar that is not locked.

mod add;
mod carry;
mod come_back;
mod desk;
mod fit;
mod hand_over;
mod lengths;
mod locked;
mod paste;
mod pitches;
mod remedies;
mod remedy_edits;
mod remedy_kinds;
mod remedy_lines;
mod roster_done;
mod roster_edit;
mod selection;
mod sheet;
mod sketch_line;
mod timeline_edit;
mod timeline_entries;
mod what_changed;
mod words;

pub use add::{add, delete};
pub use carry::{Carried, carried};
pub use come_back::{CameBack, NotTaken, come_back};
pub use desk::{Desk, Done, Refused, Way};
pub use hand_over::{double_into, hand_over};
pub use lengths::{join, longer, shorter, split};
pub use locked::{lock, unlock};
pub use paste::{RepeatOf, passage_of_bars, paste_scoring, repeats_of};
pub use pitches::{next_chord_tone, octave, step, to_pitch};
pub use remedies::{Cure, Remedy, apply, mends, proposals, remedies};
pub use remedy_edits::Mend;
pub use roster_done::{RosterDone, RosterRefused};
pub use roster_edit::{RosterEdit, Whose, edit_roster};
pub use selection::{NoteId, Selection, Side, id_of};
pub use sketch_line::sketch_line_into;
pub use timeline_edit::{
    Begin, TimelineDone, TimelineEdit, TimelineRefused, begin_timeline, edit_timeline, take_shape,
};
pub use timeline_entries::{
    Entry, EntryEdit, EntryKind, begin_plan, edit_entries, entries, typed_length,
};
pub use what_changed::{bands_differ, drafts_differ};
pub use words::{bars_in_words, parts_in_words};
