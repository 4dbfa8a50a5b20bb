//! What a region of the window asks for. Regions only look; the session alone changes anything.

use super::actions::Action;
use super::listen::device::With;
use super::view::Panel;
use crate::band::PartId;
use crate::music::{BarBeat, BarNumber, Sounding, Tick};
use crate::plan::timeline::{AnyTimeline, MarkKind};
use crate::project::PutAside;
use crate::project::work::{NoteId, RosterDone, Selection, TimelineEdit};
use crate::sound::heard::Heard;
use crate::sound::seating::Place;
use std::path::PathBuf;

/// Something that a region asks for.
#[derive(Clone, PartialEq, Debug)]
pub enum Want {
    /// An action of the table.
    Do(Action),
    /// Open this show.
    Open(PathBuf),
    /// Go to a bar, and to a part.
    GoTo(BarNumber, Option<PartId>),
    /// Select this.
    Select(Option<Selection>),
    /// Select notes of the sketch, by their index in the reading.
    SelectSketch(Vec<usize>),
    /// Take another note, or a rest, in place of one.
    TakeOther {
        /// The part.
        part: PartId,
        /// From where.
        start: Tick,
        /// To where.
        end: Tick,
        /// What it sounds now; none for a rest.
        now: Option<Sounding>,
        /// What it sounds; none for a rest.
        sounds: Option<Sounding>,
    },
    /// Score a passage in another way, by its first and last bar; none: as is best again.
    TakeWay((u32, u32), Option<usize>),
    /// Open a finding, by its index: see what mends it.
    OpenFinding(usize),
    /// Do a remedy of the finding that is open, by its index.
    Mend(usize),
    /// Put a finding aside, with a reason.
    PutAside(PutAside),
    /// Bring back what was put aside, by its index.
    BringBack(usize),
    /// Move a note to a pitch while it is dragged.
    Drag(NoteId, Sounding),
    /// The hand lets the note go.
    LetGo,
    /// Edit the shape of the show.
    Shape(TimelineEdit),
    /// The same while something of it is dragged.
    DragShape(TimelineEdit),
    /// Select a point of the shape, by its index.
    SelectPoint(Option<usize>),
    /// Ask for the name of a peak, crest or hush.
    NameMark(NameMark),
    /// Take a shape that comes along, by its word.
    TakeShape(String),
    /// Begin a timeline: as the sketch goes, or in seconds where there is no music.
    BeginPlan,
    /// Give every place of the timeline the bar that it falls on.
    LayOnBars,
    /// What came of an edit of the timeline, with the step's name.
    Timeline(String, Box<AnyTimeline>),
    /// What came of an edit of the roster.
    Roster(Box<RosterDone>),
    /// Hear this of draft and sketch.
    Hear(Heard),
    /// Listen from here.
    ListenFrom(Place),
    /// Play with these sounds.
    PlayWith(With),
    /// Play at a factor of the tempo.
    Tempo(f64),
    /// Show a panel.
    Panel(Panel),
    /// Look at the sheet from here: left and top, in staff spaces.
    Look(f32, f32),
    /// Larger or smaller by a factor, around a place: shares of what is seen, across and down.
    Zoom(f32, (f32, f32)),
}

/// A peak, crest or hush that is to get a name.
#[derive(Clone, PartialEq, Debug)]
pub struct NameMark {
    /// What it is.
    pub kind: MarkKind,
    /// Where.
    pub at: BarBeat,
    /// Its index, where it is there already.
    pub mark: Option<usize>,
    /// Its name so far.
    pub name: String,
}
