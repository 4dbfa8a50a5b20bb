//! Version 1 of the project file: the form of its JSON (`assets/schema/project.schema.json`).
//!
//! These types are the file and change with it alone. What the program works with may change as it
//! likes; `v1_write` and `v1_read` go between the two. Fields are in the order in which they are
//! written, and what is not known is refused.

use serde::{Deserialize, Serialize};

/// A note of a draft: onset, concert pitch, duration, velocity, role, whether locked.
pub(in crate::project) type NoteRow = (u64, u8, u64, u8, String, bool);
/// A note of a lock: onset, concert pitch, duration, velocity, channel.
pub(in crate::project) type LockNoteRow = (u64, u8, u64, u8, u8);
/// First and last bar of a stretch.
pub(in crate::project) type BarRow = (u32, u32);

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct FileV1 {
    pub format: String,
    pub version: u32,
    pub document: DocumentV1,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub history: Option<HistoryV1>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct DocumentV1 {
    pub title: String,
    pub sketch: SketchV1,
    /// The roster, as TOML.
    pub band: String,
    /// The tags, as TOML.
    pub tags: String,
    pub conditions: ConditionsV1,
    pub styles: Vec<String>,
    pub taken: Vec<TakenV1>,
    pub tune: TuneV1,
    pub locks: Vec<LockV1>,
    pub draft: DraftV1,
    pub aside: Vec<AsideV1>,
    /// The timeline, as TOML.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub timeline: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct SketchV1 {
    pub name: String,
    pub times: TimesV1,
    pub transpose: i16,
    /// The MIDI or MusicXML file, in base64.
    pub bytes: String,
}

#[derive(Clone, Copy, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(in crate::project) enum TimesV1 {
    Auto,
    Written,
    Played,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct ConditionsV1 {
    pub posture: PostureV1,
    pub start: StartV1,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(in crate::project) enum PostureV1 {
    Seated,
    Marching,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(in crate::project) enum StartV1 {
    Fresh,
    MidProgramme,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct TakenV1 {
    pub bars: BarRow,
    pub way: u64,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct TuneV1 {
    pub as_written: Vec<BarRow>,
    pub may_change: Vec<BarRow>,
    pub restored: Vec<u64>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct LockV1 {
    pub part: String,
    pub bars: Vec<BarRow>,
    pub notes: Vec<LockNoteRow>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct DraftV1 {
    pub lines: Vec<LineV1>,
    pub melody_changes: Vec<MelodyChangeV1>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct LineV1 {
    pub part: String,
    pub notes: Vec<NoteRow>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct MelodyChangeV1 {
    pub onset: u64,
    pub sketch: u8,
    pub new: Option<u8>,
    pub parts: Vec<(String, u8)>,
    pub reason: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct AsideV1 {
    pub kind: String,
    pub part: Option<String>,
    pub at: u64,
    pub reason: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct HistoryV1 {
    pub now: u64,
    pub next: Option<u64>,
    /// Revisions 1, 2 and so on.
    pub revisions: Vec<RevisionV1>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct RevisionV1 {
    pub parent: u64,
    pub next: Option<u64>,
    pub edit: EditV1,
}

/// A step; the journal holds the same.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct EditV1 {
    pub name: String,
    pub changes: Vec<ChangeV1>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct TurnV1<T> {
    pub before: T,
    pub after: T,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct SpliceV1<T> {
    pub at: u64,
    pub removed: Vec<T>,
    pub added: Vec<T>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub(in crate::project) enum ChangeV1 {
    Title(TurnV1<String>),
    Sketch(TurnV1<SketchBytesV1>),
    Times(TurnV1<TimesV1>),
    Transpose(TurnV1<i16>),
    Band(TurnV1<String>),
    Seated(Box<TurnV1<SeatedV1>>),
    Tags(TagsV1),
    Conditions(TurnV1<ConditionsV1>),
    Styles(TurnV1<Vec<String>>),
    Taken(TurnV1<Vec<TakenV1>>),
    Tune(TurnV1<TuneV1>),
    Notes(NotesV1),
    Melody(SpliceV1<MelodyChangeV1>),
    Lock(LockTurnV1),
    Aside(SpliceV1<AsideV1>),
    Timeline(TurnV1<Option<String>>),
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct SketchBytesV1 {
    pub name: String,
    pub bytes: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct SeatedV1 {
    pub band: String,
    pub draft: DraftV1,
    pub locks: Vec<LockV1>,
}

/// Tags from a place on: those taken out and those put in, each as TOML.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct TagsV1 {
    pub at: u64,
    pub removed: String,
    pub added: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct NotesV1 {
    pub part: String,
    pub removed: Vec<NoteRow>,
    pub added: Vec<NoteRow>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct LockTurnV1 {
    pub part: String,
    pub before: Option<LockedV1>,
    pub after: Option<LockedV1>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::project) struct LockedV1 {
    pub bars: Vec<BarRow>,
    pub notes: Vec<LockNoteRow>,
}
